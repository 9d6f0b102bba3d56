"""Bodies along a line, as a driveshaft is: the cylinder that holds one, and what is proven to stay outside of it. Needs the host.

Where all faces are planes, cylinders and cones each point of them lies between two points of edges, on a straight line in the face; so what
holds the edges holds the body, and its own mesh, which is dear, is not needed. Every answer is either proven or "not known".
"""
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from . import triangle_distance
from .body import Body, inverse, relative, shape_of, skin_of
from .kept import Kept
from .skin import ROUNDING, Skin

DEAR = 30
"""Faces of a body from which its cylinder is asked for first: others are meshed in less time than that saves."""

ARC = math.radians(30.0)
"""Pieces in which arcs are held by their tangents."""

SQUARE = 1e-9
"""Share of a way by which it may lead off the axis that it follows."""

RULED = ("Part::GeomPlane", "Part::GeomCylinder", "Part::GeomCone")


@dataclass(frozen=True, eq=False)
class Core:
    """A cylinder in a body's own frame, mm: a point and the unit direction of its axis, its radius, and from where to where it goes along
    the axis from that point."""
    point: np.ndarray
    axis: np.ndarray
    radius: float
    low: float
    high: float


def core_of(body: Body, kept: Kept) -> Core | None:
    """The cylinder that holds a body, about its longest round face; None of bodies that are no such ones."""
    return kept.of("core", body.mark, lambda: _core(shape_of(body, kept)))


def dear(body: Body, kept: Kept) -> bool:
    """Whether a body is one of those whose mesh is dear, and has not been meshed yet."""
    return bool(not kept.exact and body.mark and kept.known("skin", body.mark) is None
                and kept.of("many faces", body.mark, lambda: len(shape_of(body, kept).Faces) >= DEAR) and core_of(body, kept) is not None)


def keeps_clear(a: Body, b: Body, limit: float, kept: Kept) -> bool:
    """Whether the surface of either of two bodies is proven to stay farther than a limit, mm, outside of the cylinder that holds the
    other. It may go around it."""
    if kept.exact or not (a.mark and b.mark):
        return False
    for inner, outer in ((a, b), (b, a)):
        core = None if dear(outer, kept) else core_of(inner, kept)
        skin = skin_of(outer, kept) if core is not None else None
        if core is not None and skin is not None and _outside(skin, core, relative(outer, inner), limit):
            return True
    return False


def slide_gap(moving: Body, start: np.ndarray, way: np.ndarray, part: Body, reach: float, kept: Kept) -> float:
    """A lower bound of how near a body comes to the surface of a part while it slides along the axis of the cylinder that holds it, mm, no
    more than a reach; -inf where it is not known, or the part does not stay outside of that cylinder. start: (4, 4), where the body is
    in the car at first; way: (3,), how far it goes."""
    core = None if kept.exact else core_of(moving, kept)
    skin = skin_of(part, kept) if core is not None else None
    if core is None or skin is None:
        return -math.inf
    axis = start[:3, :3] @ core.axis
    far = float(way @ axis)
    if np.abs(way - far * axis).max() > SQUARE * abs(far):
        return -math.inf
    swept = replace(core, low=core.low + min(far, 0.0), high=core.high + max(far, 0.0))
    pose = inverse(part.pose) @ start
    beside = _beside(skin, swept, pose, reach)
    if beside is None:
        return reach
    off, axis, away, slack, face = beside
    near = away - slack
    doubtful = near - _off_corners(off) <= core.radius + reach
    near[doubtful] = triangle_distance.from_line(off[doubtful], np.zeros(3), axis) - slack[doubtful]
    for number, center, along, radius in kept.of("round faces", part.mark, lambda: _round_faces(shape_of(part, kept))):
        own = face == number
        if own.any():
            # Of a bore that is gone through no point is nearer to the axis than by how far the bore's own axis is off it.
            lean = float(along @ axis)
            if abs(lean) > 0.5:
                past = radius * math.sqrt(max(1.0 - lean * lean, 0.0)) + float(slack[own].max())
                ends = float((off[own] @ axis).min()) - past, float((off[own] @ axis).max()) + past
                point = center - (pose[:3, :3] @ core.point + pose[:3, 3])
                ways = [point + along * ((end - point @ axis) / lean) for end in ends]
                aside = max(float(np.linalg.norm(one - axis * (one @ axis))) for one in ways)
                near[own] = np.maximum(near[own], abs(lean) * (radius - ROUNDING) - aside)
    least = float(near.min())
    return min(least - core.radius, reach) if least > core.radius else -math.inf


def _round_faces(shape: Any) -> tuple[tuple[int, np.ndarray, np.ndarray, float], ...]:
    """Number, a point of the axis, its direction and the radius of the faces that are cylinders."""
    found = ((number, face.Surface) for number, face in enumerate(shape.Faces))
    return tuple((number, np.array(tuple(one.Center)), np.array(tuple(one.Axis)), float(one.Radius)) for number, one in found
                 if one.TypeId == "Part::GeomCylinder")


def _outside(skin: Skin, core: Core, pose: np.ndarray, limit: float) -> bool:
    """Whether a skin keeps so far outside of a cylinder; pose: (4, 4), from the cylinder's frame to the skin's."""
    beside = _beside(skin, core, pose, limit)
    if beside is None:
        return True
    off, axis, away, slack, _face = beside
    wanted = core.radius + limit + slack
    doubtful = away - _off_corners(off) <= wanted
    if not doubtful.any():
        return True
    if (away <= wanted).any():
        return False
    return bool((triangle_distance.from_line(off[doubtful], np.zeros(3), axis) > wanted[doubtful]).all())


def _beside(skin: Skin, core: Core, pose: np.ndarray, limit: float) -> tuple[np.ndarray, ...] | None:
    """Of the triangles of a skin that are beside a cylinder, or within a limit before and behind it: their corners from a point of its axis
    (n, 3, 3), the axis, how far their nearest corner is from it, their slack and their face (n,). None where there are none."""
    axis, point = pose[:3, :3] @ core.axis, pose[:3, :3] @ core.point + pose[:3, 3]
    off, slack = skin.corners - point, skin.slack[skin.face] + ROUNDING
    along = off @ axis
    beside = (along.max(axis=1) + slack >= core.low - limit) & (along.min(axis=1) - slack <= core.high + limit)
    if not beside.any():
        return None
    off, along = off[beside], along[beside]
    return off, axis, np.sqrt(np.maximum((off * off).sum(axis=-1) - along * along, 0.0)).min(axis=1), slack[beside], skin.face[beside]


def _off_corners(triangles: np.ndarray) -> np.ndarray:
    """How far a point of each triangle (n, 3, 3) is from its nearest corner at most: the longest side over the root of three."""
    side = triangles - triangles[:, [1, 2, 0]]
    return np.sqrt((side * side).sum(axis=-1).max(axis=1) / 3.0)


def _core(shape: Any) -> Core | None:
    faces = shape.Faces
    longest: tuple[float, Any] | None = None
    for face in faces:
        surface = face.Surface
        if surface.TypeId not in RULED:
            return None
        if surface.TypeId == "Part::GeomCylinder":
            first, last = face.ParameterRange[2:]
            if longest is None or last - first > longest[0]:
                longest = last - first, surface
    if longest is None:
        return None
    point, axis = np.array(tuple(longest[1].Center)), np.array(tuple(longest[1].Axis))
    radius, low, high = 0.0, math.inf, -math.inf
    for edge in shape.Edges:
        if edge.Degenerated:
            continue
        found = _reach(edge, point, axis)
        if found is None:
            return None
        radius, low, high = max(radius, found[0]), min(low, found[1]), max(high, found[2])
    return Core(point, axis, radius + ROUNDING, low - ROUNDING, high + ROUNDING)


def _reach(edge: Any, point: np.ndarray, axis: np.ndarray) -> tuple[float, float, float] | None:
    """How far from an axis an edge comes at most, and from where to where along it; None of a kind of curve that is not known."""
    curve = edge.Curve
    kind = curve.TypeId
    if kind == "Part::GeomLine":
        return _hull([tuple(vertex.Point) for vertex in edge.Vertexes], point, axis)
    if kind == "Part::GeomBSplineCurve" and not curve.isRational():
        return _hull([tuple(pole) for pole in curve.getPoles()], point, axis)      # a curve lies in the hull of its poles
    if kind not in ("Part::GeomCircle", "Part::GeomEllipse"):
        return None
    center, size = np.array(tuple(curve.Center)), curve.Radius if kind == "Part::GeomCircle" else curve.MajorRadius
    off = center - point
    along, lean = float(off @ axis), float(np.array(tuple(curve.Axis)) @ axis)
    reach = size * math.sqrt(max(1.0 - lean * lean, 0.0))
    whole = math.sqrt(max(float(off @ off) - along * along, 0.0)) + size, along - reach, along + reach
    first, last = edge.ParameterRange
    pieces = math.ceil((last - first) / ARC)
    if pieces * ARC >= 2.0 * math.pi:
        return whole
    # An arc lies in the hull of its ends and of where its tangents there meet.
    half = 0.5 * (last - first) / pieces
    points = [tuple(curve.value(first + 2.0 * half * i)) for i in range(pieces + 1)]
    points += [tuple(center + (np.array(tuple(curve.value(first + half * (2 * i + 1)))) - center) / math.cos(half)) for i in range(pieces)]
    part = _hull(points, point, axis)
    return min(whole[0], part[0]), max(whole[1], part[1]), min(whole[2], part[2])


def _hull(points: list[tuple[float, ...]], point: np.ndarray, axis: np.ndarray) -> tuple[float, float, float]:
    off = np.array(points) - point
    along = off @ axis
    return float(np.sqrt(np.maximum((off * off).sum(axis=1) - along * along, 0.0).max())), float(along.min()), float(along.max())
