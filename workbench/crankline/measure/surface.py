"""Distances of points from a shape's surface, a few faces at a time. Needs the host."""
from __future__ import annotations

import math
from typing import Any

import numpy as np
import Part

ROUNDING = 0.01
"""mm by which a face's box may be taken too far."""


class Surface:
    """The faces of a shape; of these only those are asked that can be nearest to a point."""

    def __init__(self, shape: Any):
        self.faces = shape.Faces
        boxes = [face.BoundBox for face in self.faces]
        self.boxes = np.array([(box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax) for box in boxes])
        self._vertices = np.array([tuple(vertex.Point) for vertex in shape.Vertexes]).reshape(-1, 3)

    def beyond(self, point: Any, depth: float) -> float:
        """Distance of a point from the surface, mm; where it is no larger than a depth, something that is no larger either."""
        place, vertex = np.array(point), Part.Vertex(point)
        least = float(np.linalg.norm(self._vertices - place, axis=1).min(initial=math.inf))
        for i in near_faces(self.boxes, self._vertices, place):
            if least <= depth:
                break
            least = min(least, self.faces[i].distToShape(vertex)[0])
        return least


def near_faces(boxes: np.ndarray, vertices: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Numbers of the faces that may be nearest to a point, by their boxes, (f, 6), the nearest first; vertices of the shape, (n, 3)."""
    gap = np.linalg.norm(np.maximum(boxes[:, :3] - point, point - boxes[:, 3:]).clip(0.0), axis=1)
    least = float(np.linalg.norm(vertices - point, axis=1).min(initial=math.inf))
    order = np.argsort(gap, kind="stable")
    return order[gap[order] <= least + ROUNDING]
