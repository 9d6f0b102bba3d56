"""Solids of plates that stand square to the crank: a flat shape extruded along x of the engine frame, once, no booleans."""
from __future__ import annotations

from typing import TypeAlias

from ..host import FreeCAD, Part
from .outline import Circle, Flat, Loop

Vector: TypeAlias = FreeCAD.Vector

ALONG = (1.0, 0.0, 0.0)


def wire(item: Loop | Circle, x: float) -> Part.Wire:
    """The line of a loop or hole in the plane at x, counterclockwise about +x for a counterclockwise loop."""
    if isinstance(item, Circle):
        return Part.Wire(Part.makeCircle(item.diameter / 2.0, Vector(x, item.y, item.z), Vector(*ALONG)))
    ends = [Vector(x, v.y, v.z) for v in item.vertices]
    edges = []
    for i, segment in enumerate(item.segments):
        start, end = ends[i], ends[(i + 1) % len(ends)]
        if segment.sweep:
            edges.append(Part.Arc(start, Vector(x, *segment.at(0.5)), end).toShape())
        else:
            edges.append(Part.LineSegment(start, end).toShape())
    return Part.Wire(edges)


def solid(flat: Flat, x_rear: float, thickness: float) -> Part.Solid:
    """The plate from x_rear forward by its thickness, mm."""
    wires = [wire(flat.outer, x_rear)]
    for item in flat.inner:
        inner = wire(item if isinstance(item, Circle) else item.counterclockwise(), x_rear)
        inner.reverse()
        wires.append(inner)
    return Part.Face(wires).extrude(Vector(*ALONG) * thickness)
