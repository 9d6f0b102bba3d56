"""Outlines of shapes in side view, each part by itself, through the host's hidden-line removal. Needs the host.

The side view looks from the car's right side to the left: car X to the right, Z up. TechDraw.projectEx chooses its own axes,
so the shape is turned first and seen along Z, whose picture is certain; it needs no page, no window and no event loop.
"""
from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from .page import Arc, Circle, Line, Polyline, Primitive, SheetError

SHARP, OUTLINE = 0, 3
"""Which of the ten compounds of projectEx are drawn: visible sharp edges, visible outlines."""

CHORD = 0.2
"""Deviation, mm in the car, of chords from curves that are neither lines nor circles."""

_kept: dict[str, tuple[Primitive, ...]] = {}


def side(shape: Any, kind: str, key: str = "") -> tuple[Primitive, ...]:
    """Visible edges of a shape in car millimetres (x, z), in a line class.

    key: text that changes with the shape (its digest and placement); equal keys are projected once a session.
    SheetError where nothing is seen.
    """
    found = _kept.get(key) if key else None
    if found is None:
        found = _project(shape)
        if key:
            if len(_kept) > 500:
                _kept.clear()
            _kept[key] = found
    return tuple(_as(item, kind) for item in found)


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


def _as(item: Primitive, kind: str) -> Primitive:
    return replace(item, kind=kind)
