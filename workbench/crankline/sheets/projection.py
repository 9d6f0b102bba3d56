"""Outlines of shapes in side view, each part by itself: by the host's hidden-line removal, or from a mesh. Needs the host.

The side view looks from the car's right side to the left: car X to the right, Z up. TechDraw.projectEx chooses its own axes,
so the shape is turned first and seen along Z, whose picture is certain; it needs no page, no window and no event loop.
"""
from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from .drawing import Arc, Circle, Line, Polyline, Primitive, SheetError, Text

SHARP, OUTLINE = 0, 3
"""Which of the ten compounds of projectEx are drawn: visible sharp edges, visible outlines."""

CHORD = 0.2
"""Deviation, mm in the car, of chords from curves that are neither lines nor circles."""

LEVELS = 300
"""Levels at which a silhouette is taken."""

MESH = 0.5
"""Deviation of the mesh for silhouettes, mm in the car."""

TURN = 0.3
"""Angle between neighboring triangles of that mesh, rad."""


def side(shape: Any, kind: str) -> tuple[Primitive, ...]:
    """Visible edges of a shape in car millimeters (x, z), in a line class. SheetError where nothing is seen."""
    return tuple(item if isinstance(item, Text) else replace(item, kind=kind) for item in _project(shape))


def silhouette(shape: Any, kind: str) -> tuple[Primitive, ...]:
    """Outer outline of a shape in car millimeters (x, z), taken at levels along the longer of its two sides; where a level line
    would cut the outline in several pieces (a hollow on the side), the outermost are joined."""
    import MeshPart
    # On a copy: a mesh left on the shape itself would change its bounding box. Shape.tessellate has no angle to set and
    # makes twenty times as many triangles of a bent tube.
    points, triangles = MeshPart.meshFromShape(Shape=shape.copy(True, False), LinearDeflection=MESH, AngularDeflection=TURN).Topology
    if not triangles:
        raise SheetError("a shape has no surface in side view; recompute the document and draw again")
    seen = np.array([(p.x, p.z) for p in points])
    corners = np.array(triangles)
    edges = np.unique(np.sort(np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]), axis=1), axis=0)
    a, b = seen[edges[:, 0]], seen[edges[:, 1]]
    lying = np.ptp(seen[:, 0]) > np.ptp(seen[:, 1])
    if lying:
        a, b, seen = a[:, ::-1], b[:, ::-1], seen[:, ::-1]
    low, high = seen[:, 1].min(), seen[:, 1].max()
    # Not the very ends, where only single points are cut.
    levels = low + (high - low) * (0.5 - 0.5 * np.cos(np.linspace(0.01, np.pi - 0.01, LEVELS)))
    # Every edge is cut by the levels between its ends and by no others.
    first, last = (np.searchsorted(levels, end(a[:, 1], b[:, 1]), where) for end, where in ((np.minimum, "left"), (np.maximum, "right")))
    cuts = np.where(a[:, 1] == b[:, 1], 0, last - first)
    edge = np.repeat(np.arange(len(a)), cuts)
    level = np.arange(cuts.sum()) + np.repeat(first - np.cumsum(cuts) + cuts, cuts)
    share = (levels[level] - a[edge, 1]) / (b[edge, 1] - a[edge, 1])
    x = a[edge, 0] + share * (b[edge, 0] - a[edge, 0])
    right, left = np.full(LEVELS, -np.inf), np.full(LEVELS, np.inf)
    np.maximum.at(right, level, x)
    np.minimum.at(left, level, x)
    held = np.isfinite(right) & np.isfinite(left)
    chain = [*zip(right[held], levels[held]), *zip(left[held][::-1], levels[held][::-1])]
    points = _thinned([(float(px), float(pz)) for px, pz in chain])
    return (Polyline(tuple((z, x) for x, z in points) if lying else tuple(points), kind, True),)


def _thinned(chain: list[tuple[float, float]], tolerance: float = 0.1) -> list[tuple[float, float]]:
    """A chain without the points that stand on the way between their neighbors (Ramer, Douglas and Peucker)."""
    points, keep = np.array(chain), {0, len(chain) - 1}
    open_spans = [(0, len(chain) - 1)]
    while open_spans:
        first, last = open_spans.pop()
        if last - first < 2:
            continue
        way = points[last] - points[first]
        size = float(np.hypot(*way))
        offsets = points[first + 1:last] - points[first]
        far = np.abs(offsets[:, 0] * way[1] - offsets[:, 1] * way[0]) / size if size > 1e-9 else np.hypot(offsets[:, 0], offsets[:, 1])
        worst = int(far.argmax())
        if far[worst] > tolerance:
            middle = first + 1 + worst
            keep.add(middle)
            open_spans += [(first, middle), (middle, last)]
    return [chain[i] for i in sorted(keep)]


def _project(shape: Any) -> tuple[Primitive, ...]:
    import FreeCAD as App
    import TechDraw

    seen = shape.copy()
    seen.rotate(App.Vector(0, 0, 0), App.Vector(1, 0, 0), -90.0)
    groups = TechDraw.projectEx(seen, App.Vector(0, 0, 1))
    edges = [edge for number in (SHARP, OUTLINE) if number < len(groups) and not groups[number].isNull() for edge in groups[number].Edges]
    found = tuple(item for edge in edges for item in _plain(edge))
    if not found:
        raise SheetError("a shape shows no edge in side view; recompute the document and draw again")
    return found


def _plain(edge: Any) -> list[Primitive]:
    if edge.Length < 1e-3:
        return []
    name = type(edge.Curve).__name__
    a, b = edge.valueAt(edge.FirstParameter), edge.valueAt(edge.LastParameter)
    if name in ("Line", "LineSegment"):
        return [Line(a.x, a.y, b.x, b.y)]
    if name == "Circle":
        c, r = edge.Curve.Center, edge.Curve.Radius
        if abs(edge.LastParameter - edge.FirstParameter) > 2.0 * math.pi - 1e-6:
            return [Circle(c.x, c.y, r)]
        start = math.atan2(a.y - c.y, a.x - c.x)
        middle = edge.valueAt((edge.FirstParameter + edge.LastParameter) / 2.0)
        half = (math.atan2(middle.y - c.y, middle.x - c.x) - start + math.pi) % (2.0 * math.pi) - math.pi
        return [Arc(c.x, c.y, r, start, 2.0 * half)]
    points = [(p.x, p.y) for p in edge.discretize(QuasiDeflection=CHORD)]
    # A curve seen edge on is a line; hidden-line removal hands it back as a spline.
    (x0, y0), (x1, y1) = points[0], points[-1]
    span = math.hypot(x1 - x0, y1 - y0)
    if span > 1e-6 and all(abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / span < 1e-3 for x, y in points):
        low, high = _ends(points, (x1 - x0) / span, (y1 - y0) / span)
        return [Line(*low, *high)]
    return [Polyline(tuple(points))]


def _ends(points, ux, uy):
    along = sorted(points, key=lambda p: p[0] * ux + p[1] * uy)
    return along[0], along[-1]
