"""Bodies along a line, as a driveshaft is: the cylinder that holds one, and what is proven to stay outside of it. Needs the host.

Where all faces are planes, cylinders and cones each point of them lies between two points of edges, on a straight line in the face; so what
holds the edges holds the body, and its own mesh, which is dear, is not needed. Every answer is either proven or "not known".
"""
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..mechanics.frames import dot
from . import box_tree, triangle_distance
from .body import Body, inverse, relative, shape_of, skin_of
from .kept import Kept
from .skin import ROUNDING, Skin

DEAR = 30
"""Faces of a body from which its cylinder is asked for first: others are meshed in less time than that saves."""

PIECES = 12
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
    return stays_around(b, a, limit, kept) or stays_around(a, b, limit, kept)


def stays_around(outer: Body, inner: Body, limit: float, kept: Kept) -> bool:
    """Whether the surface of one body is proven to stay so far outside of the cylinder that holds another: it may go around that one, which
    has nothing of it within."""
    if kept.exact or not (inner.mark and outer.mark) or dear(outer, kept):
        return False
    core = core_of(inner, kept)
    skin = skin_of(outer, kept) if core is not None else None
    return core is not None and skin is not None and _outside(skin, core, relative(outer, inner), limit)


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
    """Of the triangles of a skin those that may come within a limit of a cylinder, beside it or within the limit before and behind it:
    their corners from a point of its axis (n, 3, 3), the axis, how far their nearest corner is from it, their slack and their face (n,).
    None where there are none."""
    axis, point = pose[:3, :3] @ core.axis, pose[:3, :3] @ core.point + pose[:3, 3]
    # Boxes, first of eight triangles and then of each, tell of most of them that they stand clear; those without end tell nothing.
    near = np.arange(len(skin.tree.boxes[-2]))
    for level, (middle, half, size) in enumerate(skin.tree.middles):
        near = box_tree.within(near, level, len(skin.face))
        with np.errstate(invalid="ignore"):
            off, reach, wide = middle[near] - point, half[near] @ np.abs(axis), core.radius + limit + size[near]
            along = off @ axis
            clear = ((along + reach < core.low - limit) | (along - reach > core.high + limit)
                     | (dot(off, off) - along * along > wide * wide))
        near = near[~clear]
    if not len(near):
        return None
    off, slack = skin.corners[near] - point, skin.slack[skin.face[near]] + ROUNDING
    along = off @ axis
    beside = (along.max(axis=1) + slack >= core.low - limit) & (along.min(axis=1) - slack <= core.high + limit)
    if not beside.any():
        return None
    off, along, near = off[beside], along[beside], near[beside]
    return off, axis, np.sqrt(np.maximum(dot(off, off) - along * along, 0.0)).min(axis=1), slack[beside], skin.face[near]


def _off_corners(triangles: np.ndarray) -> np.ndarray:
    """How far a point of each triangle (n, 3, 3) is from its nearest corner at most: the longest side over the root of three."""
    side = triangles - triangles[:, [1, 2, 0]]
    return np.sqrt(dot(side, side).max(axis=1) / 3.0)


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
    found = reach(shape.Edges, shape.Vertexes, point, axis)
    return None if found is None else Core(point, axis, found[0] + ROUNDING, found[1] - ROUNDING, found[2] + ROUNDING)


def reach(edges: Iterable[Any], vertices: Iterable[Any], point: np.ndarray, axis: np.ndarray) -> tuple[float, float, float] | None:
    """How far from an axis edges come at most, and from where to where along it; vertices: theirs. None of a kind of curve that is not
    known."""
    arcs: list[tuple[float, float, Any, Any, Any]] = []
    points = [tuple(vertex.Point) for vertex in vertices]
    for edge in edges:
        if edge.Degenerated:
            continue
        curve = edge.Curve
        kind = curve.TypeId
        if kind in ("Part::GeomCircle", "Part::GeomEllipse"):
            first, last = edge.ParameterRange
            arcs += [(first, last, curve.Center, curve.value(0.0), curve.value(0.5 * math.pi))]
        elif kind == "Part::GeomBSplineCurve" and not curve.isRational():
            points += [tuple(pole) for pole in curve.getPoles()]      # a curve lies in the hull of its poles
        elif kind != "Part::GeomLine":
            return None
    out, along = _beside_axis(np.array(points), point, axis)
    reaches = np.array([[out.max(), along.min(), along.max()], *(_reach(arcs, point, axis) if arcs else ())])
    return float(reaches[:, 0].max()), float(reaches[:, 1].min()), float(reaches[:, 2].max())


def _reach(arcs: list[tuple[float, float, Any, Any, Any]], point: np.ndarray, axis: np.ndarray) -> np.ndarray:
    """How far from an axis arcs of circles and ellipses come at most, and from where to where along it, (n, 3); of each: its first and last
    parameter, the center, and the curve's points at 0 and at a quarter turn."""
    firsts, lasts, centers, starts, quarters = zip(*arcs)
    first, last = np.array(firsts), np.array(lasts)
    center, semi, other = (np.array([tuple(place) for place in places]) for places in (centers, starts, quarters))
    semi, other = semi - center, other - center
    out, along = _beside_axis(center, point, axis)
    size, way = np.sqrt(np.maximum(dot(semi, semi), dot(other, other))), np.hypot(semi @ axis, other @ axis)
    whole = np.stack([out + size, along - way, along + way], axis=1)
    # An arc lies in the hull of points on it and of where its tangents at them meet.
    half = (last - first) / (2 * PIECES)
    turn = first[:, None] + half[:, None] * np.arange(2 * PIECES + 1)
    far = np.where(np.arange(2 * PIECES + 1) % 2, 1.0 / np.cos(half)[:, None], 1.0)
    hull = (center[:, None] + (far * np.cos(turn))[..., None] * semi[:, None] + (far * np.sin(turn))[..., None] * other[:, None])
    out, along = _beside_axis(hull, point, axis)
    return np.stack([np.minimum(whole[:, 0], out.max(axis=1)), np.maximum(whole[:, 1], along.min(axis=1)),
                     np.minimum(whole[:, 2], along.max(axis=1))], axis=1)


def _beside_axis(points: np.ndarray, point: np.ndarray, axis: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far points (..., 3) are from an axis, and where along it, each (...)."""
    off = points - point
    along = off @ axis
    return np.sqrt(np.maximum(dot(off, off) - along * along, 0.0)), along
