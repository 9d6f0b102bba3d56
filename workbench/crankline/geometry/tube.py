"""Round tubes: straight from point to point, coped where they meet other tubes, and mitred at a plane."""
from __future__ import annotations

import math
from dataclasses import dataclass

import FreeCAD
import Part

VERSION = 1

Vector = FreeCAD.Vector


@dataclass(frozen=True)
class Header:
    """A tube or bar that an end is coped to: a line through ``point`` along ``direction`` (no unit length needed), mm."""
    point: tuple[float, float, float]
    direction: tuple[float, float, float]
    diameter: float


@dataclass(frozen=True)
class Plane:
    """A plane that an end is cut at, square or mitred; the tube stays on the side that ``normal`` points away from."""
    point: tuple[float, float, float]
    normal: tuple[float, float, float]


@dataclass(frozen=True)
class Spec:
    """A straight tube: ends of its centreline, outside diameter and wall, and what its ends are coped or cut to, mm.

    With a header the end stated is the point on the header's centreline (the cut is made by the header itself).
    """
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    outer_diameter: float
    wall: float
    headers: tuple[Header, ...] = ()
    planes: tuple[Plane, ...] = ()


def check_section(outer_diameter: float, wall: float, field: str = "section") -> None:
    """ValueError where a wall leaves no bore."""
    if not 0.0 < 2.0 * wall < outer_diameter:
        raise ValueError(f"{field}: a wall of {wall:.3f} mm in a tube of {outer_diameter:.3f} mm outside diameter leaves no "
                         f"bore; the wall must be less than {outer_diameter / 2:.3f} mm")


def annulus(outer_radius: float, inner_radius: float, center: Vector, normal: Vector) -> Part.Face:
    """Ring-shaped face; a disc where ``inner_radius`` is 0."""
    outer = Part.Wire(Part.makeCircle(outer_radius, center, normal))
    if inner_radius <= 0.0:
        return Part.Face(outer)
    inner = Part.Wire(Part.makeCircle(inner_radius, center, normal))
    inner.reverse()
    return Part.Face([outer, inner])


def straight(start: Vector, end: Vector, outer_diameter: float, wall: float) -> Part.Solid:
    """Tube with square ends."""
    return annulus(outer_diameter / 2, outer_diameter / 2 - wall, start, end - start).extrude(end - start)


def header_bar(header: Header, reach: float) -> Part.Solid:
    """The solid bar that cuts a cope, ``reach`` long on each side of its point."""
    direction = Vector(*header.direction).normalize()
    return Part.makeCylinder(header.diameter / 2, 2 * reach, Vector(*header.point) - direction * reach, direction)


def half_space(plane: Plane, reach: float) -> Part.Solid:
    """A block that fills the cut-off side of a plane as far as ``reach``."""
    normal = Vector(*plane.normal).normalize()
    side = normal.cross(Vector(1, 0, 0) if abs(normal.x) < 0.9 else Vector(0, 1, 0)).normalize() * reach
    up = normal.cross(side)
    center = Vector(*plane.point)
    corners = [center + side + up, center - side + up, center - side - up, center + side - up]
    return Part.Face(Part.makePolygon(corners + corners[:1])).extrude(normal * reach)


def largest(shape: Part.Shape) -> Part.Solid:
    """The largest solid of what a boolean left: slivers beyond a cope are cut off in the shop too."""
    return max(shape.Solids, key=lambda solid: solid.Volume)


def build(spec: Spec) -> Part.Solid:
    """One solid. All copes and mitres are one boolean."""
    check_section(spec.outer_diameter, spec.wall)
    start, end = Vector(*spec.start), Vector(*spec.end)
    if (end - start).Length < 0.01:
        raise ValueError("a tube's ends are at the same point; move one of the two tubes or members that it stands between")
    body = straight(start, end, spec.outer_diameter, spec.wall)
    if not (spec.headers or spec.planes):
        return body
    reach = (end - start).Length + 4.0 * spec.outer_diameter
    cutters = [header_bar(header, 3.0 * (spec.outer_diameter + header.diameter)) for header in spec.headers]
    cutters += [half_space(plane, reach) for plane in spec.planes]
    left = body.cut(cutters)
    if not left.Solids:
        raise ValueError(f"nothing is left of a tube of {spec.outer_diameter:.2f} mm between the members it is coped to; "
                         "move them apart")
    return largest(left)


def volume(outer_diameter: float, wall: float, length: float) -> float:
    """Closed form of a tube with square ends, mm3."""
    return math.pi * wall * (outer_diameter - wall) * length
