"""Bodies that are measured, and what is read off one of them: faces, boxes, skin, tubes. Needs the host."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from typing import Any

import FreeCAD
import numpy as np
import Part

from ..snapshot import PartView, Snapshot
from . import skin, tube_piece
from .kept import Kept
from .tube_piece import Piece

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Body:
    """A shape in the car frame. mark: changes when the shape does, other than by its placement; empty: unknown, so that
    nothing about it is remembered. solid: False for a bare set of faces, which has no inside."""
    key: str
    shape: Any
    mark: str = ""
    solid: bool = True

    @cached_property
    def pose(self) -> np.ndarray:
        """Placement in the car frame, (4, 4)."""
        return matrix(self.shape.Placement)

    @cached_property
    def back(self) -> np.ndarray:
        """The inverse of ``pose``, (4, 4)."""
        return inverse(self.pose)

    @cached_property
    def read(self) -> dict[tuple[str, Kept], Any]:
        """What was read off the body where it stands, so that a store need not be asked again."""
        return {}


def mark_of(part: PartView, snapshot: Snapshot) -> str:
    """A part's mark: kind and digest, and of a shape that was edited by hand what it now is."""
    edited = any(item.key == part.key and item.kind == "edited" for item in snapshot.unsound)
    if not part.digest or part.shape is None or not hasattr(part.shape, "exportBrepToString"):
        return ""
    if not edited:
        return f"{part.kind} {part.digest}"
    return f"{part.kind} {part.digest} {blake2b(own_frame(part.shape).exportBrepToString().encode(), digest_size=16).hexdigest()}"


def matrix(placement: Any) -> np.ndarray:
    """A host placement as a (4, 4) array."""
    return np.array(placement.toMatrix().A).reshape(4, 4)


def inverse(pose: np.ndarray) -> np.ndarray:
    """The inverse of a rigid motion, (4, 4)."""
    turned = np.zeros((4, 4))
    turned[:3, :3] = pose[:3, :3].T
    turned[:3, 3] = -pose[:3, :3].T @ pose[:3, 3]
    turned[3, 3] = 1.0
    return turned


def relative(a: Body, b: Body) -> np.ndarray:
    """Placement of the second body in the frame of the first, (4, 4)."""
    return a.back @ b.pose


def own_frame(shape: Any) -> Any:
    """A copy without mesh, as it was built: boxes depend on the mesh of the view."""
    own = shape.copy(True, False)
    own.Placement = FreeCAD.Placement()
    return own


def skin_of(body: Body, kept: Kept) -> skin.Skin | None:
    """The body's skin in its own frame; None where it has none."""
    return kept.of("skin", body.mark, lambda: skin.of(shape_of(body, kept)))


def shape_of(body: Body, kept: Kept) -> Any:
    """The body's shape in its own frame."""
    return kept.of("shape", body.mark, lambda: own_frame(body.shape))


def standing(body: Body, place: Any, kept: Kept) -> Any:
    """The body's shape without mesh at a host placement. It shares its geometry with ``shape_of``: a copy of that would cost more than
    most of what is read off it."""
    shape = Part.Shape(shape_of(body, kept))
    shape.Placement = place
    return shape


def rounds_of(body: Body, kept: Kept) -> tuple[Piece, ...]:
    """Outsides of tubes, their bores and holes on the body, in its own frame."""
    return kept.of("rounds", body.mark, lambda: tube_piece.pieces(shape_of(body, kept)))


def tubes_of(body: Body, kept: Kept) -> tuple[Piece, ...]:
    """Outsides of tubes on the body, in its own frame."""
    return kept.of("tubes", body.mark, lambda: tuple(piece for piece in rounds_of(body, kept) if piece.outside))


def box_of(shape: Any) -> np.ndarray:
    """Low and high corner of a shape's tight box, (6,), mm. A copy without mesh: a box depends on the mesh of the view."""
    return _corners(shape.copy(True, False).optimalBoundingBox(False))


def tight_box(body: Body, kept: Kept) -> np.ndarray:
    """Tight box of a body in the car frame, (6,), mm."""
    # Along the same axes it moves with the body. A placement of its own: what is set on one that a shape hands out moves the shape.
    turned = FreeCAD.Placement(FreeCAD.Vector(), body.shape.Placement.Rotation)
    own = kept.between("tight box", (body.mark, body.mark), matrix(turned),
                       lambda: _corners(standing(body, turned, kept).optimalBoundingBox(False)))
    return own + np.tile(body.pose[:3, 3], 2)


def _corners(box: Any) -> np.ndarray:
    return np.array([box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax])


@dataclass(frozen=True, eq=False)
class Faces:
    """A body's faces and vertices as they stand in the car: boxes (low, high) of the faces, (f, 6), vertices, (v, 3). made, costs: what
    makes the faces themselves and tells what a distance of each costs, since few are asked for either."""
    boxes: np.ndarray
    vertices: np.ndarray
    made: Callable[[], Any]
    costs: Callable[[], np.ndarray]

    @cached_property
    def faces(self) -> Any:
        """The host's faces."""
        return self.made()

    @cached_property
    def cost(self) -> np.ndarray:
        """What a distance of each face costs, (f,): how many edges it has, times ten where it is neither plane nor cylinder."""
        return self.costs()

    @cached_property
    def box(self) -> np.ndarray:
        """Box of all of them, (6,)."""
        return np.concatenate([self.boxes[:, :3].min(axis=0), self.boxes[:, 3:].max(axis=0)])


def faces_of(body: Body, kept: Kept) -> Faces:
    """The body's faces with their boxes where it stands."""
    found = body.read.get(("faces", kept))
    if found is None:
        found = kept.between("faces", (body.mark, body.mark), body.pose, lambda: _faces(body, kept))
        body.read["faces", kept] = found
    return found


def _faces(body: Body, kept: Kept) -> Faces:
    vertices = kept.of("vertices", body.mark, lambda: np.array([tuple(v.Point) for v in shape_of(body, kept).Vertexes]).reshape(-1, 3))
    # As with ``tight_box``. The quick box is never too small; of a bent tube it is somewhat large, where the tight one costs more than a
    # distance.
    place = FreeCAD.Placement(body.shape.Placement)
    turned = FreeCAD.Placement(FreeCAD.Vector(), place.Rotation)
    boxes = kept.between("face boxes", (body.mark, body.mark), matrix(turned),
                         lambda: np.array([_corners(face.BoundBox) for face in standing(body, turned, kept).Faces]))
    return Faces(boxes + np.tile(body.pose[:3, 3], 2), vertices @ body.pose[:3, :3].T + body.pose[:3, 3],
                 lambda: standing(body, place, kept).Faces,
                 lambda: kept.of("cost of faces", body.mark, lambda: np.array([_cost(face) for face in shape_of(body, kept).Faces])))


def _cost(face: Any) -> int:
    return len(face.Edges) * (1 if face.Surface.TypeId in ("Part::GeomPlane", "Part::GeomCylinder") else 10)


def framed_box(body: Body, place: Any, kept: Kept, tight: bool) -> np.ndarray:
    """Box of a body along the axes of a placement, (6,); the tight one of a bent tube costs more than a distance."""
    turned_to = place.inverse().multiply(body.shape.Placement)

    def measure() -> np.ndarray:
        turned = standing(body, turned_to, kept)
        return _corners(turned.optimalBoundingBox(False) if tight else turned.BoundBox)

    return kept.between(("framed box", tight), (body.mark, body.mark), matrix(turned_to), measure)
