"""Boxes of the faces of bodies that are moved: what they keep from each other over a stretch of a path (``swept_path``). Needs the host."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import FreeCAD
import numpy as np

from .body import Body, matrix


def turns(body: Body, part: Body) -> list[np.ndarray]:
    """Rotations from the car's axes to those in which boxes are taken: the car's, the body's and the part's, each once."""
    found = [np.eye(3)]
    for shape in (body.shape, part.shape):
        turn = matrix(shape.Placement)[:3, :3].T
        if all(np.abs(turn - other).max() > 1e-9 for other in found):
            found.append(turn)
    return found


class Tipped:
    """Boxes of the faces of a turning body and of a part, each along its own axes, told apart along the axes of car, body and part."""

    def __init__(self, body: Body, here, part: Body, there):
        own, other = (matrix(shape.Placement)[:3, :3] for shape in (body.shape, part.shape))
        self.own = own
        self.mine = corners(turned_boxes(here.faces, own.T)) @ own.T             # (n, 8, 3), car frame
        self.theirs = corners(turned_boxes(there.faces, other.T)) @ other.T
        tight = turned_boxes(there.faces, np.eye(3))
        self.fixed = [(turn, extent((self.theirs @ turn.T)[..., None]) if i else tight) for i, turn in enumerate((np.eye(3), other.T))]

    def gaps(self, first: np.ndarray, last: np.ndarray) -> np.ndarray:
        """What the boxes keep from each other at both of two poses, along one axis and side, (n, m)."""
        ends = [(self.mine @ pose[:3, :3].T + pose[:3, 3]) for pose in (first, last)]
        turn = (0.5 * (first[:3, :3] + last[:3, :3]) @ self.own).T
        left, _sizes, right = np.linalg.svd(turn)
        turn = left @ right
        frames = [*self.fixed, (turn, extent((self.theirs @ turn.T)[..., None]))]
        return np.maximum.reduce([boxes_apart(extent((ends[0] @ axes.T)[..., None]), extent((ends[1] @ axes.T)[..., None]), boxes)
                                  for axes, boxes in frames])


def corners(boxes: np.ndarray) -> np.ndarray:
    """Corners (n, 8, 3) of boxes (n, 6)."""
    pick = np.array([[i, j + 1, k + 2] for i in (0, 3) for j in (0, 3) for k in (0, 3)])
    return boxes[:, pick]


def extent(points: np.ndarray) -> np.ndarray:
    """Boxes (n, 6) of corners (n, 8, 3, 1)."""
    return np.concatenate([points[..., 0].min(axis=1), points[..., 0].max(axis=1)], axis=1)


def boxes_apart(first: np.ndarray, last: np.ndarray, others: np.ndarray) -> np.ndarray:
    """What boxes that go from one place (n, 6) straight to another keep from others (m, 6) all the way, (n, m); negative where they
    may overlap."""
    low, high = np.minimum(first[:, :3], last[:, :3]), np.maximum(first[:, 3:], last[:, 3:])
    return np.maximum(low[:, None] - others[None, :, 3:], others[None, :, :3] - high[:, None]).max(axis=-1)


def placement(pose: np.ndarray) -> Any:
    """A rigid motion, (4, 4), as the host has it."""
    return FreeCAD.Placement(FreeCAD.Matrix(*pose.ravel().tolist()))


_SIMPLE = ("Part::GeomPlane", "Part::GeomCylinder", "Part::GeomCone")


def turned_boxes(faces: Sequence, turn: np.ndarray) -> np.ndarray:
    """Boxes of faces along turned axes, (n, 6): tight ones where that is cheap, for faces of torus and spline the quick ones, which
    are never too small."""
    back = FreeCAD.Placement(FreeCAD.Matrix(*(x for row in turn for x in (*row.tolist(), 0.0)), 0, 0, 0, 1))
    rows = []
    for face in faces:
        moved = face.copy(False, False)
        moved.Placement = back.multiply(moved.Placement)
        box = moved.optimalBoundingBox(False) if moved.Surface.TypeId in _SIMPLE else moved.BoundBox
        rows.append((box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax))
    return np.array(rows)


def stretch_gap(mine: np.ndarray, theirs: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """What boxes (n, 6) keep from boxes (m, 6) all the way from one shift to another, (n, m): along any one axis and side, which
    is linear in the way, the lesser of both ends; negative where they may overlap."""
    low, high = np.minimum(first, last), np.maximum(first, last)
    ahead = (mine[:, None, :3] + low) - theirs[None, :, 3:]
    behind = theirs[None, :, :3] - (mine[:, None, 3:] + high)
    return np.maximum(ahead, behind).max(axis=-1)
