"""Places at which one shape touches another. Needs the host."""
from __future__ import annotations

from typing import Any

import numpy as np
import Part

from ..mechanics.frames import as_point
from .body import Body, Point, faces_of, rounds_of
from .kept import Kept
from .surface import Surface
from .tube_distance import barrels_of

TOUCHING = 0.05
"""mm within which a leg meets the tube that it is coped to."""

CORNERS = 4
"""Corners that are asked whether they lie on a tube."""

DEEP = 10.0
"""mm deep in the material of a tube nothing can be."""


def places(shape: Any, other: Any, may_touch: np.ndarray | None = None) -> tuple[tuple[float, float, float], ...]:
    """A point of every place at which two shapes touch. may_touch: which of their faces may come within TOUCHING, (faces, faces); None:
    not known.

    Edges that lie on the other shape and hang together, at a vertex or as the rim of one face, are one place (a leg's cope);
    a face that touches without such an edge (a bend that leans on a tube) is a place of its own.
    """
    other = other.copy(True, False)
    box, surface = other.BoundBox, Surface.of(other)
    box.enlarge(TOUCHING)
    found: list[tuple[list, tuple[float, float, float]]] = []
    asked = _Asked(other, box, surface)
    for number, face in enumerate(shape.copy(True, False).Faces):
        if not box.intersect(face.BoundBox):
            continue
        near = _near(face.BoundBox, surface, None if may_touch is None else may_touch[number])
        if not near:
            continue
        distance, points, _where = face.distToShape(Part.Compound(near))
        if distance >= TOUCHING:
            continue
        edges = [edge for edge in face.Edges if not edge.Degenerated]
        lying = [edge for edge in edges if asked.holds(edge)]
        whole = len(lying) == len(edges)
        for group in ([lying] if whole else [[edge] for edge in lying]) if lying else [[face]]:
            corners = [vertex for item in group for vertex in item.Vertexes]
            joined = [place for place in found if any(one.isSame(known) for one in corners for known in place[0])]
            found = [place for place in found if all(place is not one for one in joined)]
            x, y, z = joined[0][1] if joined else corners[0].Point if lying else points[0][0]
            found.append((corners + [corner for place in joined for corner in place[0]], (float(x), float(y), float(z))))
    return tuple(sorted(point for _corners, point in found))


def corner_on_tube(body: Body, tube: Body, limit: float, kept: Kept) -> Point | None:
    """A corner of a body that is shown to lie within a limit, no more than ``TOUCHING``, of the outside of a tube, as those of a coped end
    do, or of its bore: where it is, car frame. None where there is none, or it is not known."""
    pieces, faces, corners = rounds_of(tube, kept), faces_of(tube, kept), faces_of(body, kept).vertices
    if kept.exact or not pieces:
        return None
    corners = corners[_inside(corners, faces.box)]
    boxes = faces.boxes[[piece.face for piece in pieces]]
    inside = _inside(corners, boxes[:, None])
    if not inside.any():
        return None
    own, off = corners @ tube.back[:3, :3].T + tube.back[:3, 3], np.full(inside.shape, np.inf)
    for number in np.flatnonzero(inside.any(axis=1)):
        held = inside[number]
        off[number, held] = np.abs(pieces[number].distance(own[held]) - pieces[number].radius)
    least = off.min(axis=0)
    # Of those that lie on it alike the first: a document keeps twelve digits, and which is nearest would hang on the rest.
    order = np.argsort(least.round(4), kind="stable")[:CORNERS]
    near = min(limit, 0.5 * TOUCHING)
    barrels = {barrel.face: barrel for barrel in barrels_of(tube, kept)}
    for corner in order[least[order] < near]:
        for face in [pieces[number].face for number in np.flatnonzero(off[:, corner] < near)]:
            # Where a straight tube is uncut all around, what is nearest to the corner is on it.
            if ((face in barrels and barrels[face].is_beside(own[corner]))
                    or faces.faces[face].distToShape(Part.Vertex(*corners[corner].tolist()))[0] < limit):
                return as_point(corners[corner])
    return None


def _inside(points: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """Which of points (..., 3) come within touch of boxes (..., 6)."""
    return ((points >= boxes[..., :3] - TOUCHING) & (points <= boxes[..., 3:] + TOUCHING)).all(axis=-1)


def _near(box: Any, surface: Surface, may_touch: np.ndarray | None) -> list:
    """Faces whose boxes come within touch of a box, of those that may touch."""
    low, high = np.array([box.XMin, box.YMin, box.ZMin]) - TOUCHING, np.array([box.XMax, box.YMax, box.ZMax]) + TOUCHING
    meets = np.all((surface.boxes[:, :3] <= high) & (surface.boxes[:, 3:] >= low), axis=1)
    return [surface.faces[i] for i in np.flatnonzero(meets if may_touch is None else meets & may_touch)]


class _Asked:
    """What is known of where the edges of one shape lie to another: each edge is one of two faces, each end one of several edges."""

    def __init__(self, other: Any, box: Any, surface: Surface):
        self._other, self._box, self._surface = other, box, surface
        self._edges: dict[int, list[tuple[Any, bool]]] = {}
        self._points: dict[tuple[float, ...], bool] = {}

    def holds(self, edge: Any) -> bool:
        """Whether an edge lies on the other shape, or in its material, over its whole length."""
        alike = self._edges.setdefault(edge.hashCode(), [])
        known = next((lies for one, lies in alike if one.isSame(edge)), None)
        if known is None:
            first, early, middle, late, last = edge.discretize(Number=5)
            known = all(self._box.isInside(point) and self._meets(point) for point in (middle, last, first, early, late))
            alike.append((edge, known))
        return known

    def _meets(self, point: Any) -> bool:
        place = tuple(round(value, 9) for value in point)
        if place not in self._points:
            away = self._surface.beyond(point, 0.5 * TOUCHING)
            self._points[place] = away < TOUCHING or (away < DEEP and self._other.isInside(point, TOUCHING, True))
        return self._points[place]
