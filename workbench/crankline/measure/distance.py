"""Exact clearances between placed shapes: apart, contact, penetration or containment, with the two points. Needs the host.

Boxes of parts sort out what is far. From tubes and outer planes distances are told in closed form (``tube_distance``,
``plane_distance``); else boxes of faces sort out what of two near parts can be nearest, and the distance is the host's exact one.
The host reports 0 for touching, for overlapping and for one solid inside another alike, so what touches is intersected to tell
them apart (``overlap``). A store, handed in by the caller, keeps each pair's answer as long as both shapes and their relative
placement hold (``kept``): a second check computes nothing.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import FreeCAD
import numpy as np
import Part

from ..mechanics.frames import as_point, dot
from . import overlap, plane_distance, proof, touch, tube_distance
from .body import Body, Faces, Point, box_of, faces_of, inverse, matrix, relative, shape_of, standing
from .box_tree import box_gaps
from .clearance import APART, CONTACT, INSIDE, PENETRATION, Clearance
from .host_distance import host_distance
from .kept import Kept
from .proof import TOUCH

FIRST_TRIES, SIMPLE = 3, 60
"""Pairs of faces tried one by one, if the product of what they cost is no more than this, before the remaining ones go to the host at
once: what touches is mostly found by them."""

DEAR, DEAR_BESIDE = 300, 3000
"""Product of what faces cost beyond which it is first looked at in the skins which of them can be nearest: of bodies of which no two faces'
boxes meet, and of others, whose contact the first tries find."""

NEAREST, CLEARANCE = "what is nearest", "clearance"

NEARLY = 1.1
"""Share of a reach up to which skins tell in no less time than measuring takes that bodies do not come within it."""

LESS = 1e-3
"""mm by which bounds that are rounded are told too small."""

__all__ = ["APART", "CONTACT", "INSIDE", "PENETRATION", "TOUCH", "Body", "Clearance", "Kept", "air", "between", "beyond", "box_gaps",
           "gaps", "lowest", "near_pairs", "nearest", "region", "surfaces"]


def gaps(body: Body, others: Sequence[Body], kept: Kept) -> list[float]:
    """Lower bounds of the distances of a body from others, from their boxes, mm."""
    boxes = np.array([faces_of(other, kept).box for other in others]).reshape(-1, 6)
    return [float(gap) for gap in box_gaps(faces_of(body, kept).box[None], boxes)[0]]


def beyond(a: Body, b: Body, reach: float, kept: Kept) -> bool:
    """Whether it is plain that two bodies whose boxes come within reach of each other, mm, do not: nothing is measured."""
    first, second = _in_order(a, b)
    known = kept.known_between(CLEARANCE, (first.mark, second.mark), relative(first, second))
    if known is not None:
        return bool(known.distance >= reach)
    # What came nearly within reach last time likely does again, and has to be measured for all that a proof says.
    return ((a.key, f"{b.key} within {reach}") not in kept.likely and proof.keep_apart(a, b, reach, kept)
            and not overlap.one_holds_the_other(a, b, kept))


def within(a: Body, b: Body, reach: float, kept: Kept) -> bool:
    """Whether two bodies that may come within reach of each other do, mm."""
    distance = between(a, b, kept).distance
    if distance < NEARLY * reach:
        kept.likely[a.key, f"{b.key} within {reach}"] = CLEARANCE
    else:
        kept.likely.pop((a.key, f"{b.key} within {reach}"), None)
    return distance < reach


def between(a: Body, b: Body, kept: Kept) -> Clearance:
    """The exact clearance of two bodies, told in the order of their keys."""
    return _told(CLEARANCE, a, b, kept, lambda first, second: _measured(first, second, kept))


def air(a: Body, b: Body, kept: Kept) -> Clearance:
    """The same where it does not matter how deep they overlap: what touches or overlaps is told as contact, 0 mm."""
    return _told("air", a, b, kept, lambda first, second: _air(first, second, kept))


def _told(what: str, a: Body, b: Body, kept: Kept, measure: Callable[[Body, Body], Clearance]) -> Clearance:
    """A measurement of a pair in the order of their keys, kept in the first one's frame."""
    a, b = _in_order(a, b)
    found = kept.between(what, (a.mark, b.mark), relative(a, b), lambda: measure(a, b).moved(a.back))
    return found.moved(a.pose).told_of(a.key, b.key)


def _in_order(a: Body, b: Body) -> tuple[Body, Body]:
    return (a, b) if a.key <= b.key else (b, a)


def near_pairs(bodies: Sequence[Body], reach: float, kept: Kept) -> list[tuple[Body, Body]]:
    """Pairs of bodies whose boxes come within reach of each other, by keys."""
    bodies = sorted(bodies, key=lambda body: body.key)
    if len(bodies) < 2:
        return []
    boxes = np.array([faces_of(body, kept).box for body in bodies])
    return [(bodies[i], bodies[j]) for i, j in np.argwhere(np.triu(box_gaps(boxes, boxes) <= reach + TOUCH, 1))]


def nearest(body: Body, others: Sequence[Body], kept: Kept) -> Clearance | None:
    """The smallest clearance of a body to any of others, of equals that to the first by its key; None where there are none. Only those
    whose boxes can be nearest are measured."""
    bounds = dict(zip((other.key for other in others), gaps(body, others, kept)))
    # What was nearest last time likely still is, and leaves little to the others.
    known = kept.likely.get((body.key, NEAREST))
    best = min((_rated(between(body, other, kept), other) for other in others if other.key == known), default=None, key=_rating)
    left = [other for other in others if other.key != known and (best is None or bounds[other.key] <= best[0] + TOUCH)]
    # To the micron, so that of two that may be equally near the first by its key is measured first.
    bounds |= {other.key: round(max(bounds[other.key], proof.least_gap(body, other, kept)) - LESS, 3) for other in left}
    for other in sorted(left, key=lambda other: (bounds[other.key], other.key)):
        if best is None or not (bounds[other.key] > best[0] or proof.keep_apart(body, other, best[0] + TOUCH, kept)):
            found = _rated(between(body, other, kept), other)
            best = found if best is None else min(best, found, key=_rating)
    if best is None:
        return None
    kept.likely[body.key, NEAREST] = best[1]
    return best[2]


def nearest_air(body: Body, others: Sequence[Body], kept: Kept) -> Clearance:
    """The smallest ``air`` of a body to any of others, of which there is one at least; of equals that to the first by its key. What by its
    box cannot be nearest is not measured."""
    best: tuple[float, str, Clearance] | None = None
    for bound, number in sorted(zip(gaps(body, others, kept), range(len(others)))) if len(others) > 1 else ((0.0, 0),):
        if best is not None and bound > best[0] + TOUCH:
            break
        found = _rated(air(body, others[number], kept), others[number])
        best = found if best is None else min(best, found, key=_rating)
    assert best is not None
    return best[2]


def _rated(found: Clearance, other: Body) -> tuple[float, str, Clearance]:
    return round(found.distance, 6), other.key, found


def _rating(rated: tuple[float, str, Clearance]) -> tuple[float, str]:
    return rated[:2]


# --- measuring --------------------------------------------------------------------------------------------------------


def _measured(a: Body, b: Body, kept: Kept) -> Clearance:
    distance, points = _surfaces(a, b, kept)
    if a.solid and b.solid and (distance < TOUCH or overlap.one_holds_the_other(a, b, kept)):
        return overlap.touching(a, b, points, kept)
    return Clearance(a.key, b.key, CONTACT if distance < TOUCH else APART, 0.0 if distance < TOUCH else distance, points)


def _air(a: Body, b: Body, kept: Kept) -> Clearance:
    for body, tube in ((a, b), (b, a)):
        corner = touch.corner_on_tube(body, tube, TOUCH, kept)
        if corner is not None:
            return Clearance(a.key, b.key, CONTACT, 0.0, (corner, corner))
    distance, points = _surfaces(a, b, kept, joined=True)
    meet = distance < TOUCH or (a.solid and b.solid and overlap.one_holds_the_other(a, b, kept))
    return Clearance(a.key, b.key, CONTACT if meet else APART, 0.0 if meet else distance, points)


def _surfaces(a: Body, b: Body, kept: Kept, joined: bool = False) -> tuple[float, tuple[Point, Point]]:
    """Distance of the surfaces of two bodies and the two points; joined: whether they most likely touch, where planes tell nothing."""
    first, second = faces_of(a, kept), faces_of(b, kept)
    found = tube_distance.between(a, b, first, second, kept)
    if found is None and not joined:
        found = plane_distance.between(a, b, kept)
    return found or surfaces(first, second, kept, closer=lambda bound, distance: proof.face_gaps(a, b, bound, distance, kept))


Closer = Callable[[float, Callable[[int, int], float]], tuple[np.ndarray, float] | None]


def surfaces(a: Faces, b: Faces, kept: Kept, gaps: np.ndarray | None = None,
             bound: float = math.inf, closer: Closer = lambda _bound, _distance: None) -> tuple[float, tuple[Point, Point]]:
    """Distance of the surfaces of two bodies and the two points; 0 as soon as any two faces touch. gaps: lower bounds of the
    distances of their faces, better than boxes along the car's axes give; bound: what the distance is known not to exceed; closer: makes
    better ones of both, from the bound and the distance of two faces, where that is worth it."""
    found: list[tuple[float, tuple[Point, Point]]] = []
    left = np.ones((len(a.boxes), len(b.boxes)), dtype=bool)
    known: dict[tuple[int, int], tuple[float, tuple[Point, Point]]] = {}

    def exact(i: int, j: int) -> float:
        if (i, j) not in known:
            known[i, j] = host_distance(a.faces[i], b.faces[j], kept)
            left[i, j] = False
        found.append(known[i, j])
        return found[-1][0]

    if len(a.vertices) and len(b.vertices):
        apart = a.vertices[:, None] - b.vertices[None]
        squares = dot(apart, apart)
        i, j = np.unravel_index(np.argmin(squares), squares.shape)
        bound = min(bound, math.sqrt(float(squares[i, j])))
        if squares[i, j] < TOUCH ** 2:
            return 0.0, (tuple(a.vertices[i].tolist()), tuple(b.vertices[j].tolist()))
    gaps = box_gaps(a.boxes, b.boxes) if gaps is None else gaps
    near_enough = gaps <= bound + TOUCH
    better = None
    if (a.cost[near_enough.any(axis=1)].sum() * b.cost[near_enough.any(axis=0)].sum()
            > (DEAR if gaps.min() > 0.0 else DEAR_BESIDE)):
        better = closer(bound + TOUCH, exact)
        if better is not None:
            gaps, bound = better[0], min(bound, better[1])
    # Of faces that may be equally near, those with few edges cost least.
    cost = np.multiply.outer(a.cost, b.cost).ravel()
    order = np.lexsort([cost, gaps.round(3).ravel()])
    order = order[(cost[order] <= SIMPLE) | (better is not None)][:FIRST_TRIES]
    for i, j in zip(*np.unravel_index(order, gaps.shape)):
        if gaps[i, j] > bound:
            break
        bound = min(bound, exact(int(i), int(j)))
        if bound < TOUCH:
            return 0.0, found[-1][1]
    near_enough = left & (gaps <= bound + TOUCH)
    if found and not near_enough.any():
        return min(found)
    # Part.Compound, because Part.makeCompound ends the process on 1.0 when no application runs.
    first, second = (Part.Compound([faces[i] for i in np.flatnonzero(near_enough.any(axis=axis))])
                     for faces, axis in ((a.faces, 1), (b.faces, 0)))
    found.append(host_distance(first, second, kept))
    return min(found)


# --- the track and regions --------------------------------------------------------------------------------------------


def lowest(shape: Any) -> tuple[float, Point]:
    """Height of a shape's lowest point above the track, mm, and the point."""
    box = box_of(shape)
    reach = 100.0
    low, side = float(box[2]) - reach, box[3:5] - box[:2] + 2 * reach
    plane = Part.makePlane(float(side[0]), float(side[1]), FreeCAD.Vector(box[0] - reach, box[1] - reach, low))
    distance, pairs, _where = shape.distToShape(plane)
    point = min((tuple(p) for p, _q in pairs), key=lambda p: tuple(round(x, 6) for x in p))
    return low + distance, point


def lowest_of(body: Body, kept: Kept) -> tuple[float, Point]:
    """The same of a body: wherever it is shifted, its lowest point goes along."""
    turned = FreeCAD.Placement(FreeCAD.Vector(), body.shape.Placement.Rotation)
    height, point = kept.between("lowest", (body.mark, body.mark), matrix(turned), lambda: lowest(standing(body, turned, kept)))
    shift = body.pose[:3, 3]
    return height + float(shift[2]), as_point(np.add(point, shift))


def region(body: Body, name: str, belongs: Callable[[np.ndarray], bool], given: str, frame: np.ndarray, kept: Kept) -> Body | None:
    """The faces of a body that belong to a region, as a body without an inside; None where there are none. belongs: of the
    points of a face's vertices (n, 3), car frame. given, frame: numbers, and placement (4, 4) of the axes, by which it tells that."""
    chosen = kept.between(("region", name, given), (body.mark, body.mark), inverse(frame) @ body.pose, lambda: _chosen(body, belongs, kept))
    if chosen is None:
        return None
    shape = Part.Shape(chosen)
    shape.Placement = body.shape.Placement
    return Body(f"{body.key}#{name}", shape, f"{name}:{body.mark}" if body.mark else "", solid=False)


def _chosen(body: Body, belongs: Callable[[np.ndarray], bool], kept: Kept) -> Any:
    """The faces of a body that belong to a region, in the body's own frame, so that what is remembered about it moves with the body."""
    chosen = [own for own, face in zip(shape_of(body, kept).Faces, body.shape.Faces)
              if belongs(np.array([tuple(vertex.Point) for vertex in face.Vertexes]))]
    return Part.Compound(chosen) if chosen else None
