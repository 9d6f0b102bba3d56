"""Round tubes: straight from point to point, coped where they meet other tubes, and mitred at a plane."""
from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np

from ..host import FreeCAD, Part
from ..units import sized
from . import coped_tube, measure
from .tube_spec import Header, Plane, Spec

VERSION = 2

Vector: TypeAlias = FreeCAD.Vector


def check_section(outer_diameter: float, wall: float, field: str = "section") -> None:
    """ValueError where a wall leaves no bore."""
    if not 0.0 < 2.0 * wall < outer_diameter:
        raise ValueError(f"{field}: a wall of {sized(wall)} in a tube of {sized(outer_diameter)} outside diameter leaves no "
                         f"bore; the wall must be less than {sized(outer_diameter / 2)}")


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


def quadrature(spec: Spec, angles: int = 720, rings: int = 6) -> float:
    """Volume of a coped and cut tube without a solid, mm3: the length of its fibers between what cuts them, over the annulus.

    What is cut off all round is gone; what hangs beside a header that does not reach across the tube stays.
    """
    start, end = np.array(spec.start, float), np.array(spec.end, float)
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    first = np.cross(along, (1.0, 0.0, 0.0) if abs(along[0]) < 0.9 else (0.0, 1.0, 0.0))
    first /= np.linalg.norm(first)
    second = np.cross(along, first)
    turn = (np.arange(angles) + 0.5) / angles * math.tau
    nodes, weights = np.polynomial.legendre.leggauss(rings)
    radius = (spec.outer_diameter / 2 - spec.wall / 2 + spec.wall / 2 * nodes)[:, None]
    fibre = start + radius[..., None] * (np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * second)
    low, high, removed = np.zeros(fibre.shape[:2]), np.full(fibre.shape[:2], length), np.zeros(fibre.shape[:2])
    for plane in spec.planes:
        normal = np.array(plane.normal, float)
        slope, at = along @ normal, (np.array(plane.point) - fibre) @ normal
        if slope > 0.0:
            high = np.minimum(high, at / slope)
        elif slope < 0.0:
            low = np.maximum(low, at / slope)
    for header in spec.headers:
        direction = np.array(header.direction, float) / np.linalg.norm(header.direction)
        off = fibre - np.array(header.point)
        off -= (off @ direction)[..., None] * direction
        across = along - direction * (along @ direction)
        a, b, c = across @ across, 2.0 * off @ across, (off ** 2).sum(axis=-1) - (header.diameter / 2) ** 2
        root = b * b - 4.0 * a * c
        if a < 1e-12 or not (root > 0.0).any():
            continue
        half = np.sqrt(np.maximum(root, 0.0)) / (2.0 * a)
        near, far = -b / (2.0 * a) - half, -b / (2.0 * a) + half
        if (root > 0.0).all():
            if np.mean(near + far) < length:
                low = np.maximum(low, far)
            else:
                high = np.minimum(high, near)
        else:
            removed += np.maximum(np.minimum(far, high) - np.maximum(near, low), 0.0)
    left = np.maximum(high - low - removed, 0.0) * radius
    return float((left.sum(axis=1) * weights).sum()) * math.tau / angles * spec.wall / 2


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
    solids = shape.Solids
    return solids[0] if len(solids) == 1 else max(solids, key=lambda solid: solid.Volume)


DOUBT = 5e-4
"""A boolean whose volume is farther from the quadrature than this part of it is made again with its seams turned (numerical)."""


def build(spec: Spec) -> Part.Solid:
    """One solid. Plain copes are put together from their faces, all else is one boolean. What comes of it is held against ``quadrature``:
    the host cuts a tube wrongly now and then, without a word, and rightly when the seams lie elsewhere."""
    check_section(spec.outer_diameter, spec.wall)
    start, end = Vector(*spec.start), Vector(*spec.end)
    if (end - start).Length < 0.01:
        raise ValueError("a tube's ends are at the same point; move one of the two tubes or members that it is between")
    if not (spec.headers or spec.planes):
        return straight(start, end, spec.outer_diameter, spec.wall)
    expected, best, error = quadrature(spec), None, math.inf
    for attempt in (coped_tube.build, _cut, _cut_halves, _cut_bore_last):
        try:
            left = attempt(spec)
        except Part.OCCError:
            continue
        if left is not None:
            off = abs(measure.volume(left) - expected) if left.isValid() else math.inf
            if best is None or off < error:
                best, error = left, off
            if error <= DOUBT * expected:
                break
    if best is None:
        raise ValueError(f"nothing is left of a tube of {sized(spec.outer_diameter)} between the members it is coped to; "
                         "move them apart")
    return best


def _cutters(spec: Spec, turned: float = 0.0) -> list:
    reach = math.dist(spec.start, spec.end) + 4.0 * spec.outer_diameter
    bars = []
    for header in spec.headers:
        bar = header_bar(header, 3.0 * (spec.outer_diameter + header.diameter))
        if turned:
            bar.rotate(Vector(*header.point), Vector(*header.direction), turned)
        bars.append(bar)
    return bars + [half_space(plane, reach) for plane in spec.planes]


def _cut(spec: Spec) -> Part.Solid | None:
    left = straight(Vector(*spec.start), Vector(*spec.end), spec.outer_diameter, spec.wall).cut(_cutters(spec))
    return largest(left) if left.Solids else None


def _cut_halves(spec: Spec) -> Part.Solid | None:
    """Each half extruded from its own end and cut, then both joined."""
    start, end = Vector(*spec.start), Vector(*spec.end)
    middle, cutters = (start + end) * 0.5, _cutters(spec)
    halves = [straight(own, middle, spec.outer_diameter, spec.wall).cut(cutters) for own in (start, end)]
    if not all(half.Solids for half in halves):
        return None
    left = largest(halves[0]).fuse(largest(halves[1])).removeSplitter()
    return largest(left) if left.Solids else None


def _cut_bore_last(spec: Spec) -> Part.Solid | None:
    """The outside first, then the bore; the tube's seam on its other side and the bars' turned."""
    start, along = Vector(*spec.start), Vector(*spec.end) - Vector(*spec.start)
    bar, bore = (Part.makeCylinder(spec.outer_diameter / 2 - wall, along.Length, start, along) for wall in (0.0, spec.wall))
    for body in (bar, bore):
        body.rotate(start, along, 180.0)
    left = bar.cut(_cutters(spec, 90.0))
    left = left.cut(bore) if left.Solids else left
    return largest(left) if left.Solids else None


def volume(outer_diameter: float, wall: float, length: float) -> float:
    """Closed form of a tube with square ends, mm3."""
    return math.pi * wall * (outer_diameter - wall) * length
