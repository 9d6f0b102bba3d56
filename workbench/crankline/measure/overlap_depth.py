"""How deep two solids overlap where one of them is hollow: what they have in common is then no thicker than its wall. Needs the host.

A tube is taken as a bar: its bore is filled, but where the other body is small enough to stand in the bore. Of the bars' common solid
both its thickness and its deepest point are lower bounds of the shift that would part them; the larger one is told.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import FreeCAD
import Part

from .surface import Surface

FIT = 0.5
"""mm: an overlap up to this is a weld's fit, and no bore is filled for it."""

NEAR = 25.0
"""mm from the other body within which bores are filled: beyond that they change neither what bodies have in common nor how deep it is."""

RIM = 8
"""Pieces in which the rim of a bore is looked at."""

LAP = 0.01
"""mm by which a filling reaches into the wall, so that both fuse."""


def filled_depth(a: Any, b: Any, common: Any, thickness: Callable[[Any, Sequence[Any]], float]) -> float:
    """Depth of the overlap of two solids with their bores filled, mm; 0 where the host cannot tell. common: what they have in common as
    they are; thickness: of a common solid, from it and the placements of both."""
    try:
        bars = filled(a, b), filled(b, a)
        both = common if bars[0] is a and bars[1] is b else bars[0].common(bars[1])
        solids = [solid for solid in both.Solids if solid.Volume > 0.0]
        surfaces = [Surface.of(bar) for bar in bars]
        deep = max((thickness(solid, (a.Placement, b.Placement)) for solid in solids), default=0.0)
        for solid in solids:
            deep = _deepest(solid, surfaces, deep)
        return deep
    except (RuntimeError, ValueError):     # the host's booleans; the thickness of the overlap as it is then stands
        return 0.0


def filled(shape: Any, other: Any) -> Any:
    """A solid with the bores filled in which the other body cannot stand and that come near it."""
    box = other.BoundBox
    across = sorted((box.XLength, box.YLength, box.ZLength))[1]
    box.enlarge(NEAR)
    plugs = [_plug(face) for face in shape.Faces
             if face.Orientation == "Reversed" and across > 2.0 * _radius(face.Surface) and box.intersect(face.BoundBox)]
    plugs = [plug for plug in plugs if plug is not None]
    if not plugs:
        return shape
    # Along a bent tube they hang together: made one first, they cost a third of fusing each with the tube.
    return shape.fuse(plugs[0].fuse(plugs[1:]) if plugs[1:] else plugs[0])


def _radius(surface: Any) -> float:
    return {"Part::GeomCylinder": lambda: surface.Radius, "Part::GeomToroid": lambda: surface.MinorRadius}.get(
        surface.TypeId, lambda: math.inf)()


def _plug(face: Any) -> Any:
    """What fills the bore that a cylindrical or toroidal face is, as far as the bore goes all around; None where it nowhere does."""
    surface = face.Surface
    first, last, _low, _high = face.ParameterRange
    if surface.TypeId == "Part::GeomCylinder":
        axis = FreeCAD.Vector(surface.Axis)
        low, high = all_around(face)
        if high - low < LAP:
            return None
        return Part.makeCylinder(surface.Radius + LAP, high - low, surface.Center + axis * low, axis)
    outward = surface.value(first, 0.0) - surface.Center
    outward.normalize()
    middle = surface.Center + outward * surface.MajorRadius
    disc = Part.Face(Part.Wire(Part.makeCircle(surface.MinorRadius + LAP, middle, surface.Axis.cross(outward))))
    return disc.revolve(surface.Center, surface.Axis, math.degrees(last - first))


def all_around(face: Any) -> tuple[float, float]:
    """From where to where along its axis a cylindrical face goes all around, mm from its surface's center; nothing where it is cut in the
    middle. A coped end is as deep as its saddle: taken beyond it a bar would enter what it is coped to."""
    surface = face.Surface
    axis = FreeCAD.Vector(surface.Axis)
    rims = [[(edge.valueAt(at) - surface.Center).dot(axis) for at in _along(edge)]
            for edge in face.Edges if edge.Curve.TypeId != "Part::GeomLine"]
    middle = 0.5 * (min(map(min, rims)) + max(map(max, rims))) if rims else 0.0
    return (max((max(rim) for rim in rims if max(rim) < middle), default=middle),
            min((min(rim) for rim in rims if min(rim) > middle), default=middle))


def _along(edge: Any) -> list[float]:
    """Parameters of an edge from end to end."""
    first, last = edge.FirstParameter, edge.LastParameter
    return [first + share * (last - first) / RIM for share in range(RIM + 1)]


def _deepest(solid: Any, surfaces: Sequence[Surface], deep: float) -> float:
    """How far the deepest corner, edge or face of a common solid lies from the surfaces of both bars; no less than what is known."""
    points = [vertex.Point for vertex in solid.Vertexes]
    points += [edge.valueAt(0.5 * (edge.FirstParameter + edge.LastParameter)) for edge in solid.Edges]
    for point in points:
        deep = max(deep, max(surface.beyond(point, deep) for surface in surfaces))
    for point in (face.CenterOfMass for face in solid.Faces):
        found = max(surface.beyond(point, deep) for surface in surfaces)
        # A ring's center of mass is in its middle.
        if found > deep and solid.isInside(point, LAP, True):
            deep = found
    return deep
