"""Exact clearances between placed shapes: apart, contact, penetration or containment, with the two points. Needs the host.

Boxes of parts sort out what is far, boxes of faces what of two near parts can be nearest; the distance itself is the host's
exact one. The host reports 0 for touching, for overlapping and for one solid inside another alike, so what touches is
intersected to tell them apart. A cache, handed in by the caller, keeps each pair's answer as long as both shapes and their
relative placement hold: a second check computes nothing.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import FreeCAD
import numpy as np
import Part

from . import overlap_depth

TOUCH = 1e-6
"""mm below which two surfaces touch."""

VOLUME = 1e-2
"""mm3 below which what two solids have in common is noise of the boolean."""

CONTAINED = 1e-6
"""Share of the smaller solid's volume that may be missing from the common one when it is wholly inside the other."""

SAME = 1e-9
"""Entries of two placements (mm and cosines) that differ by less are the same."""

NEARLY = 1.0
"""mm by which the quick boxes of parts that lie side by side may overlap."""

FIRST_TRIES, SIMPLE = 3, 60
"""Pairs of faces tried one by one, if the product of their numbers of edges is no more than this, before the remaining ones
go to the host at once: what touches is mostly found by them."""

APART, CONTACT, PENETRATION, INSIDE = "apart", "contact", "penetration", "inside"

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Body:
    """A shape in the car frame. mark: changes when the shape does, other than by its placement; empty: unknown, so that
    nothing about it is remembered. solid: False for a bare set of faces, which has no inside."""
    key: str
    shape: Any
    mark: str = ""
    solid: bool = True


@dataclass(frozen=True)
class Clearance:
    """Where two bodies come nearest, mm, car frame. distance: negative = depth (estimated, ``overlap_depth``: the thickness of what they have in common,
    tubes taken as bars). points: on the surfaces of a and b; for an overlap those nearest to its centre. volume: of the overlap, mm3."""
    a: str
    b: str
    kind: str
    distance: float
    points: tuple[Point, Point]
    volume: float = 0.0

    @property
    def depth(self) -> float:
        """Depth of an overlap, 0 where there is none."""
        return max(-self.distance, 0.0)


@dataclass
class _Prepared:
    """A body's faces and vertices as they stand in the car; boxes (low, high) of the faces, and how many edges each has."""
    mark: str
    placement: np.ndarray
    faces: list
    boxes: np.ndarray
    edges: np.ndarray
    vertices: np.ndarray

    @property
    def box(self) -> np.ndarray:
        return np.concatenate([self.boxes[:, :3].min(axis=0), self.boxes[:, 3:].max(axis=0)])


@dataclass
class _Known:
    marks: tuple[str, str]
    relative: np.ndarray
    clearance: Clearance


@dataclass
class Cache:
    """What was found, by keys of parts: it holds one answer a pair and grows no further. distances, booleans: host calls
    made so far."""
    pairs: dict = field(default_factory=dict)
    bodies: dict = field(default_factory=dict)
    boxes: dict = field(default_factory=dict)
    results: dict = field(default_factory=dict)
    distances: int = 0
    booleans: int = 0

    def forget(self, keys: Iterable[str]) -> None:
        """Drop everything about bodies that are not among these keys."""
        keep = set(keys)
        self.bodies = {key: value for key, value in self.bodies.items() if key in keep}
        self.pairs = {pair: value for pair, value in self.pairs.items() if keep.issuperset(pair)}
        self.boxes = {name: value for name, value in self.boxes.items() if name[0] in keep}


def matrix(placement: Any) -> np.ndarray:
    """A host placement as a (4, 4) array."""
    m = placement.toMatrix()
    return np.array([[m.A11, m.A12, m.A13, m.A14], [m.A21, m.A22, m.A23, m.A24], [m.A31, m.A32, m.A33, m.A34], [0, 0, 0, 1.0]])


def box_of(shape: Any) -> np.ndarray:
    """Low and high corner of a shape's tight box, (6,), mm. A copy without mesh: a box depends on the mesh of the view."""
    box = shape.copy(True, False).optimalBoundingBox(False)
    return np.array([box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax])


def prepared(body: Body, cache: Cache) -> _Prepared:
    """The body's faces with their boxes, from the cache where shape and placement are the same."""
    place = matrix(body.shape.Placement)
    known = cache.bodies.get(body.key)
    if known is not None and body.mark and known.mark == body.mark and np.abs(known.placement - place).max() < SAME:
        return known
    faces = body.shape.copy(True, False).Faces
    rows = []
    for face in faces:
        # The quick box is never too small; of a bent tube it is somewhat large, where the tight one costs more than a distance.
        box = face.BoundBox
        rows.append((box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax))
    found = _Prepared(body.mark, place, faces, np.array(rows), np.array([len(face.Edges) for face in faces]),
                      np.array([tuple(v.Point) for v in body.shape.Vertexes]).reshape(-1, 3))
    if body.mark:
        cache.bodies[body.key] = found
    return found


def box_gaps(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distances between boxes, (n, m), of boxes (n, 6) and (m, 6) given by low and high corner; 0 where they overlap."""
    gap = np.maximum(a[:, None, :3] - b[None, :, 3:], b[None, :, :3] - a[:, None, 3:]).clip(0.0)
    return np.sqrt((gap * gap).sum(axis=-1))


def gap(a: Body, b: Body, cache: Cache) -> float:
    """A lower bound of the distance of two bodies, from their boxes, mm."""
    return float(box_gaps(prepared(a, cache).box[None], prepared(b, cache).box[None])[0, 0])


def between(a: Body, b: Body, cache: Cache) -> Clearance:
    """The exact clearance of two bodies."""
    if b.key < a.key:
        a, b = b, a
    place = matrix(a.shape.Placement)
    inverse = np.linalg.inv(place)
    relative = inverse @ matrix(b.shape.Placement)
    known = cache.pairs.get((a.key, b.key))
    if known is not None and known.marks == (a.mark, b.mark) and np.abs(known.relative - relative).max() < SAME:
        return _moved(known.clearance, place)
    found = _measured(a, b, cache)
    if a.mark and b.mark:
        cache.pairs[a.key, b.key] = _Known((a.mark, b.mark), relative, _moved(found, inverse))
    return found


def near(bodies: Sequence[Body], reach: float, cache: Cache) -> list[Clearance]:
    """Clearances of all pairs of bodies whose boxes come within reach of each other, by keys."""
    bodies = sorted(bodies, key=lambda body: body.key)
    if len(bodies) < 2:
        return []
    boxes = np.array([prepared(body, cache).box for body in bodies])
    close = np.argwhere(np.triu(box_gaps(boxes, boxes) <= reach + TOUCH, 1))
    return [between(bodies[i], bodies[j], cache) for i, j in close]


def nearest(body: Body, others: Sequence[Body], cache: Cache) -> Clearance | None:
    """The smallest clearance of a body to any of others; None where there are none. Only those whose boxes can be nearest
    are measured."""
    best = None
    for bound, _key, other in sorted((gap(body, other, cache), other.key, other) for other in sorted(others, key=lambda o: o.key)):
        if best is not None and bound > best.distance:
            break
        found = between(body, other, cache)
        if best is None or found.distance < best.distance:
            best = found
    return best


def _moved(clearance: Clearance, transform: np.ndarray) -> Clearance:
    first, second = (tuple((transform[:3, :3] @ point + transform[:3, 3]).tolist()) for point in map(np.array, clearance.points))
    return Clearance(clearance.a, clearance.b, clearance.kind, clearance.distance, (first, second), clearance.volume)


# --- measuring --------------------------------------------------------------------------------------------------------


def _measured(a: Body, b: Body, cache: Cache) -> Clearance:
    distance, points = surfaces(prepared(a, cache), prepared(b, cache), cache)
    if a.solid and b.solid and (distance < TOUCH or _one_holds_the_other(a, b, cache)):
        return _touching(a, b, points, cache)
    return Clearance(a.key, b.key, CONTACT if distance < TOUCH else APART, 0.0 if distance < TOUCH else distance, points)


def surfaces(a: _Prepared, b: _Prepared, cache: Cache, gaps: np.ndarray | None = None,
             bound: float = math.inf) -> tuple[float, tuple[Point, Point]]:
    """Distance of the surfaces of two bodies and the two points; 0 as soon as any two faces touch. gaps: lower bounds of the
    distances of their faces, better than boxes along the car's axes give; bound: what the distance is known not to exceed."""
    found: list[tuple[float, tuple[Point, Point]]] = []
    if len(a.vertices) and len(b.vertices):
        apart = a.vertices[:, None] - b.vertices[None]
        squares = (apart * apart).sum(axis=-1)
        i, j = np.unravel_index(np.argmin(squares), squares.shape)
        bound = min(bound, math.sqrt(float(squares[i, j])))
        if squares[i, j] < TOUCH ** 2:
            return 0.0, (tuple(a.vertices[i].tolist()), tuple(b.vertices[j].tolist()))
    gaps = box_gaps(a.boxes, b.boxes) if gaps is None else gaps
    # Of faces that may be equally near, those with few edges cost least.
    cost = np.multiply.outer(a.edges, b.edges).ravel()
    order = np.lexsort([cost, gaps.round(3).ravel()])
    order = order[cost[order] <= SIMPLE][:FIRST_TRIES]
    for i, j in zip(*np.unravel_index(order, gaps.shape)):
        if gaps[i, j] > bound:
            break
        found.append(_host_distance(a.faces[i], b.faces[j], cache))
        bound = min(bound, found[-1][0])
        if bound < TOUCH:
            return 0.0, found[-1][1]
    near_enough = gaps <= bound + TOUCH
    # Part.Compound, because Part.makeCompound ends the process on 1.0 when no application runs.
    first, second = (Part.Compound([faces[i] for i in np.flatnonzero(near_enough.any(axis=axis))])
                     for faces, axis in ((a.faces, 1), (b.faces, 0)))
    found.append(_host_distance(first, second, cache))
    return min(found)


def _host_distance(a: Any, b: Any, cache: Cache) -> tuple[float, tuple[Point, Point]]:
    cache.distances += 1
    distance, pairs, _where = a.distToShape(b)
    # Several points may be equally near; the order in which the host finds them is its own.
    points = min(((tuple(p), tuple(q)) for p, q in pairs), key=lambda pair: tuple(round(x, 6) for point in pair for x in point))
    return distance, points


def _one_holds_the_other(a: Body, b: Body, cache: Cache) -> bool:
    """Whether a vertex of one lies in the material of the other, although their surfaces keep apart."""
    first, second = prepared(a, cache), prepared(b, cache)
    low, high = np.maximum(first.box[:3], second.box[:3]), np.minimum(first.box[3:], second.box[3:])
    for (one, hold), (inner, outer) in (((a, b), (first, second)), ((b, a), (second, first))):
        # Surfaces that keep apart hold all of a body or nothing: one vertex decides, and its box lies in the other's.
        if np.all(low <= inner.box[:3] + 1e-9) and np.all(high >= inner.box[3:] - 1e-9) and len(inner.vertices):
            if hold.shape.isInside(FreeCAD.Vector(*inner.vertices[0]), TOUCH, False):
                return True
    return False


def _touching(a: Body, b: Body, points: tuple[Point, Point], cache: Cache) -> Clearance:
    """Contact, penetration or containment, from what two solids have in common."""
    if _separated(a, b, cache) or _separated(b, a, cache):
        return Clearance(a.key, b.key, CONTACT, 0.0, points)
    cache.booleans += 1
    common = a.shape.common(b.shape)
    solids = [solid for solid in common.Solids if solid.Volume > VOLUME]
    volume = sum(solid.Volume for solid in solids)
    if not solids:
        return Clearance(a.key, b.key, CONTACT, 0.0, points)
    smaller = min(a.shape.Volume, b.shape.Volume)
    kind = INSIDE if volume >= smaller * (1.0 - CONTAINED) else PENETRATION
    depth, deepest = max(((_thickness(solid, (a.shape.Placement, b.shape.Placement)), solid) for solid in solids), key=lambda item: item[0])
    if depth > overlap_depth.FIT:
        depth = max(depth, overlap_depth.filled_depth(a.shape, b.shape, _thickness))
    middle = Part.Vertex(deepest.CenterOfMass)
    ends = tuple(_host_distance(Part.Compound(prepared(body, cache).faces), middle, cache)[1][0] for body in (a, b))
    return Clearance(a.key, b.key, kind, -depth, ends, volume)


def _separated(a: Body, b: Body, cache: Cache) -> bool:
    """Whether a plane square to an axis of a's own frame has one body on each side, as with plates bolted face to face: then
    they cannot overlap."""
    place = a.shape.Placement
    first, second = (_framed_box(body, place, cache, tight=False) for body in (a, b))
    overlap = np.minimum(first[3:] - second[:3], second[3:] - first[:3])
    if overlap.min() > NEARLY:
        return False
    first, second = (_framed_box(body, place, cache, tight=True) for body in (a, b))
    return bool(np.minimum(first[3:] - second[:3], second[3:] - first[:3]).min() < TOUCH)


def _framed_box(body: Body, place: Any, cache: Cache, tight: bool) -> np.ndarray:
    """Box of a body along the axes of a placement; the tight one of a bent tube costs more than a distance."""
    relative = place.inverse().multiply(body.shape.Placement)
    turn = tuple(round(x, 12) for x in matrix(relative).ravel()) if body.mark else None
    known = cache.boxes.get((body.key, tight))
    if turn is not None and known is not None and known[:2] == (body.mark, turn):
        return known[2]
    turned = body.shape.copy(True, False)
    turned.Placement = relative
    box = turned.optimalBoundingBox(False) if tight else turned.BoundBox
    found = np.array([box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax])
    cache.boxes[body.key, tight] = (body.mark, turn, found)
    return found


def _thickness(solid: Any, placements: Sequence[Any]) -> float:
    """How thick a solid is where two bodies overlap, mm: an estimate from volume, area and box.

    A box of sides t, a, b has 2 volume / area = m with 1/m = 1/t + 1/a + 1/b. Solved for t with a and b the two larger extents it is
    exact for boxes and spheres and nearly so for long rods, and for a thin curved sheet (a tube pushed into its cope) it gives the mean
    thickness, where the smallest extent would give the sheet's width. The box is the tightest of those along the axes of the car and of
    both parts.
    """
    tightest = None
    for placement in (FreeCAD.Placement(), *placements):
        turned = solid.copy(True, False)
        turned.Placement = placement.inverse().multiply(turned.Placement)
        box = box_of(turned)
        sides = sorted((box[3:] - box[:3]).tolist())
        if tightest is None or math.prod(sides) < math.prod(tightest):
            tightest = sides
    least, middle, most = tightest
    rest = 0.5 * solid.Area / solid.Volume - 1.0 / middle - 1.0 / most
    return min(least, 1.0 / rest) if rest > 0.0 else least


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


def region(body: Body, name: str, belongs: Callable[[np.ndarray], bool]) -> Body | None:
    """The faces of a body that belong to a region, as a body without an inside; None where there are none. belongs: of the
    points of a face's vertices (n, 3), car frame."""
    chosen = [number for number, face in enumerate(body.shape.Faces)
              if belongs(np.array([tuple(vertex.Point) for vertex in face.Vertexes]))]
    if not chosen:
        return None
    # In the body's own frame, so that what is remembered about the region moves with the body.
    own = body.shape.copy(True, False)
    own.Placement = FreeCAD.Placement()
    faces = own.Faces
    shape = Part.Compound([faces[number] for number in chosen])
    shape.Placement = body.shape.Placement
    return Body(f"{body.key}#{name}", shape, f"{name}:{body.mark}" if body.mark else "", solid=False)
