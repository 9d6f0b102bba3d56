"""Volume of a solid. The host's own integral is up to 1 % off where a cylinder is trimmed by the cut of another one.

The host integrates over such a face with a number of points along each edge that does not depend on the edge's shape: the same tube
gives another volume when its seam is turned. A solid whose faces are planes and cylinders is measured here instead: by the
divergence theorem its volume is a third of the flux of the position through its faces, and by Green's theorem each flux is an integral
along the edges of the face, which is taken with enough points.
"""
from __future__ import annotations

import math
from collections import deque
from functools import cache
from typing import Any

import numpy as np

from ..host import Part
from ..mechanics.frames import cross, dot
from ..record import FAR

ORDER = 8
"""Gauss points on each piece of an edge; pieces are the spans of a spline, and eighths of a turn of circles and ellipses (numerical)."""


_KNOWN: dict[tuple[int, str, str], float] = {}
"""Volumes by what tells a shape apart wherever it stands: its faces, the spread of its corners and the length of its edges to ten
digits."""

_LAST: deque[tuple[Part.Shape, float]] = deque(maxlen=8)
"""Volumes of the solids that were measured last: what a builder held against another figure is asked for again by what is built."""

Edges = dict[int, list[tuple[Any, np.ndarray]]]
"""Edges that have been walked along, by their hash: each with points, slopes and weights in its own direction, (n, 7)."""


def volume(solid: Part.Shape) -> float:
    """Volume of a solid, mm3. Solids with other faces than planes and cylinders get the host's integral."""
    known = next((found for one, found in _LAST if one.isPartner(solid)), None)
    if known is None:
        known = _volume(solid)
        _LAST.append((solid, known))
    return known


def _volume(solid: Part.Shape) -> float:
    surfaces = []
    for face in solid.Faces:
        surfaces.append(face.Surface)
        if not isinstance(surfaces[-1], (Part.Plane, Part.Cylinder)):
            return float(solid.Volume)
    if not any(isinstance(surface, Part.Cylinder) for surface in surfaces):
        return float(solid.Volume)
    if not any(isinstance(edge.Curve, Part.BSplineCurve) for edge in solid.Edges):
        return float(solid.Volume)          # Lines, circles and ellipses: the host's integral holds.
    corners = np.array([tuple(vertex.Point) for vertex in solid.Vertexes])
    center = corners.mean(axis=0)       # About its own middle nothing large cancels.
    key = (len(surfaces), f"{((corners - center) ** 2).sum():.10g}", f"{solid.Length:.10g}")
    if key not in _KNOWN:
        if len(_KNOWN) > 2000:
            _KNOWN.clear()
        seen: Edges = {}
        _KNOWN[key] = sum(_flux(face, surface, center, seen) for face, surface in zip(solid.Faces, surfaces)) / 3.0
    return _KNOWN[key]


def _flux(face: Part.Face, surface: Part.Surface, center: np.ndarray, seen: Edges) -> float:
    """Flux of the position from a center outward through a face. Edges run with the face on their left, seen from outside."""
    if isinstance(surface, Part.Plane) and not any(isinstance(edge.Curve, Part.BSplineCurve) for edge in face.Edges):
        # The host's normal looks outward; the surface's axis may look either way.
        return float(face.Area) * float(np.array(face.normalAt(0.0, 0.0)) @ (np.array(surface.Position) - center))
    points, steps = walk(face, center, seen)
    if isinstance(surface, Part.Plane):
        return float(0.5 * cross(points, steps).sum(axis=0) @ (np.array(surface.Position) - center))
    axis, middle, radius = np.array(surface.Axis), np.array(surface.Center) - center, surface.Radius
    off = points - middle
    along = off @ axis
    outside = off - along[:, None] * axis
    outside /= np.sqrt(dot(outside, outside))[:, None]
    turn = dot(cross(axis, outside), steps) / radius
    return -radius * float((along * (radius + outside @ middle) * turn).sum())


def walk(face: Part.Face, center: np.ndarray, seen: Edges | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Points and weighted steps, (n, 3) each, along all edges of a face. seen: edges of other faces of the shape, each of which is one of
    two."""
    seen = {} if seen is None else seen
    edges = [edge for wire in face.Wires for edge in wire.Edges]
    walked = [_walked(edge, seen) for edge in edges]
    signs = np.repeat([-1.0 if edge.Orientation == "Reversed" else 1.0 for edge in edges], [len(values) for values in walked])
    values = np.concatenate(walked)
    return values[:, :3] - center, (signs * values[:, 6])[:, None] * values[:, 3:6]


def _walked(edge: Part.Edge, seen: Edges) -> np.ndarray:
    """Points, slopes and weights along an edge's curve, (n, 7)."""
    alike = seen.setdefault(edge.hashCode(), [])
    found = next((values for one, values in alike if one.isSame(edge)), None)
    if found is None:
        curve, (first, last) = edge.Curve, edge.ParameterRange
        nodes, weights = _nodes(curve, first, last)
        found = np.column_stack([_along(curve, nodes), weights])
        alike.append((edge, found))
    return found


def _along(curve: Part.Curve, nodes: np.ndarray) -> np.ndarray:
    """Points and slopes of a curve at parameters (n,), (n, 6). Of a spline each is the host's; a line, a circle and an ellipse follow from
    two of them."""
    if isinstance(curve, Part.Line):
        start, slope = map(np.array, curve.getD1(0.0))
        return np.column_stack([start + nodes[:, None] * slope, np.broadcast_to(slope, (len(nodes), 3))])
    if isinstance(curve, (Part.Circle, Part.Ellipse)):
        middle, (cos, sin) = np.array(curve.Center), (np.cos(nodes)[:, None], np.sin(nodes)[:, None])
        first, second = (np.array(curve.value(turn)) - middle for turn in (0.0, math.pi / 2))
        return np.column_stack([middle + cos * first + sin * second, cos * second - sin * first])
    return np.array([(*point, *slope) for point, slope in (curve.getD1(float(t)) for t in nodes)])


def _nodes(curve: Part.Curve, first: float, last: float) -> tuple[np.ndarray, np.ndarray]:
    if isinstance(curve, Part.Line):
        breaks = np.array([first, last])
    elif isinstance(curve, Part.BSplineCurve):
        knots = np.array(curve.getKnots())
        breaks = np.concatenate([[first], knots[(knots > first) & (knots < last)], [last]])
    else:
        breaks = np.linspace(first, last, max(2, math.ceil((last - first) / (math.pi / 4)) + 1))
    x, w = _gauss()
    half = 0.5 * np.diff(breaks)[:, None]
    return (breaks[:-1, None] + half * (1.0 + x)).ravel(), (half * w).ravel()


@cache
def _gauss() -> tuple[np.ndarray, np.ndarray]:
    return np.polynomial.legendre.leggauss(ORDER)


def mark(shape: Part.Shape, older: bool = False) -> str:
    """Tells a shape that was edited by hand, whatever host wrote it: length of all edges to eight digits, number of faces and edges. older:
    in the form that was written before: volume and area, which take twenty times as long to measure."""
    if older:
        return f"{shape.Volume:.8g} {shape.Area:.8g}"
    return f"L{shape.Length:.8g} {len(shape.Faces)} {len(shape.Edges)}"


SIZES = "Radius", "MajorRadius", "MinorRadius"


@cache
def _told_by(kind: type) -> tuple[tuple[str, ...], bool]:
    """What a kind of surface tells of its size, and whether of its place."""
    return tuple(name for name in SIZES if hasattr(kind, name)), hasattr(kind, "Center")


def nonsense(shape: Part.Shape) -> str:
    """What is wrong with the numbers of a shape, a half sentence; empty where they can be those of a part of a car. Corners, curves and
    surfaces are looked at, which costs next to nothing: a measurement of such a shape may never end."""
    try:
        for vertex in shape.Vertexes:
            if not _in_a_car(vertex.Point):
                return "has a corner that cannot be in a car"
        for edge in shape.Edges:
            if not edge.Degenerated and edge.Curve is None:
                return "has an edge without a curve"
        for face in shape.Faces:
            surface = face.Surface
            sizes, placed = _told_by(surface.__class__)
            for name in sizes:
                if not 0.0 <= getattr(surface, name) <= FAR:
                    return "has a face of no radius that there can be"
            if placed and not _in_a_car(surface.Center):
                return "has a face about a place that is not in a car"
    except (RuntimeError, TypeError, ValueError):     # the host's own errors are of these
        return "cannot be read"
    return ""


def _in_a_car(point: Any) -> bool:
    x, y, z = point
    return -FAR <= x <= FAR and -FAR <= y <= FAR and -FAR <= z <= FAR
