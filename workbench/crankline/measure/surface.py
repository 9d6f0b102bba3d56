"""Distances of points from a shape's surface, a few faces at a time, and on which side of it they are. Needs the host."""
from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import FreeCAD
import numpy as np
import Part

from ..mechanics.frames import dot
from . import point_in_body
from .skin import Skin

ROUNDING = 0.01
"""mm by which a face's box may be taken too far."""
SAFE = 1e-6
"""mm that rounding may take from a distance of whole surfaces (numerical)."""


def material_at(shape: Any, skin: Skin | None, point: np.ndarray, limit: float, border: bool = False) -> bool:
    """Whether a point (3,) of a shape's own frame lies in its material; border: whether the surface counts. Where its skin does not show
    it, or the point is no farther than a limit from the surface, mm, the host is asked, which takes many times as long."""
    shown = None if skin is None else point_in_body.holds(skin, point, limit)
    return bool(shape.isInside(FreeCAD.Vector(*point.tolist()), limit, border)) if shown is None else shown


class Surface:
    """The faces of a shape, with their boxes, (f, 6), and its vertices, (v, 3); of these only those are asked that can be nearest to a
    point."""

    def __init__(self, faces: Sequence[Any], boxes: np.ndarray, vertices: np.ndarray):
        self.faces, self.boxes, self._vertices = faces, boxes, vertices
        self._forms: dict[int, tuple] = {}

    @classmethod
    def of(cls, shape: Any) -> Surface:
        """That of a shape without mesh."""
        boxes = [face.BoundBox for face in shape.Faces]
        return cls(shape.Faces, np.array([(box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax) for box in boxes]),
                   np.array([tuple(vertex.Point) for vertex in shape.Vertexes]).reshape(-1, 3))

    def beyond(self, point: Any, depth: float) -> float:
        """Distance of a point from the surface, mm; where it is no larger than a depth, something that is no larger either."""
        place = np.array(point)
        least = float(np.linalg.norm(self._vertices - place, axis=1).min(initial=math.inf))
        vertex = None
        for i in near_faces(self.boxes, self._vertices, place):
            if least <= depth:
                break
            # A face is no nearer than the whole surface that it is a part of, which takes no time to tell.
            floor = self._floor(i, place)
            if floor >= least:
                continue
            if floor <= depth and self._is_over(i, point):
                return floor
            vertex = vertex or Part.Vertex(point)
            least = min(least, self.faces[i].distToShape(vertex)[0])
        return least

    def _floor(self, number: int, place: np.ndarray) -> float:
        """Distance of a point from the whole plane, cylinder or torus of a face, mm, less what rounding may do; 0 of others."""
        if number not in self._forms:
            self._forms[number] = _form(self.faces[number].Surface)
        center, axis, radius, tube = self._forms[number]
        if center is None:
            return 0.0
        off = place - center
        along = float(off @ axis)
        if radius is None:
            return max(abs(along) - SAFE, 0.0)
        away = math.sqrt(max(float(off @ off) - along * along, 0.0)) - radius
        return max(abs(away if tube is None else math.hypot(away, along) - tube) - SAFE, 0.0)

    def _is_over(self, number: int, point: Any) -> bool:
        """Whether the place on its surface that is nearest to a point is within a face, for sure."""
        face = self.faces[number]
        return self._forms[number][0] is not None and bool(face.isPartOfDomain(*face.Surface.parameter(point)))


def _form(surface: Any) -> tuple[np.ndarray | None, np.ndarray | None, float | None, float | None]:
    """A point of a surface's axis, its direction, its radius, and the radius of a torus' tube; nothing of other surfaces."""
    if isinstance(surface, Part.Plane):
        return np.array(surface.Position), np.array(surface.Axis), None, None
    if isinstance(surface, Part.Cylinder):
        return np.array(surface.Center), np.array(surface.Axis), float(surface.Radius), None
    if isinstance(surface, Part.Toroid):
        return np.array(surface.Center), np.array(surface.Axis), float(surface.MajorRadius), float(surface.MinorRadius)
    return None, None, None, None


def near_faces(boxes: np.ndarray, vertices: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Numbers of the faces that may be nearest to a point, by their boxes, (f, 6), the nearest first; vertices of the shape, (n, 3)."""
    gap, off = np.maximum(np.maximum(boxes[:, :3] - point, point - boxes[:, 3:]), 0.0), vertices - point
    gap, least = np.sqrt(dot(gap, gap)), math.sqrt(float(dot(off, off).min(initial=math.inf)))
    order = np.argsort(gap, kind="stable")
    return order[gap[order] <= least + ROUNDING]
