"""Round tubes bent from straight stock: straight legs between corners, a bend of one radius at each corner between."""
from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TypeAlias

from ..host import FreeCAD, Part
from ..model import too_few_points
from ..units import sized
from . import measure, tube

Vector: TypeAlias = FreeCAD.Vector
Corner: TypeAlias = tuple[float, float, float]

STRAIGHT = math.radians(0.01)
"""Legs that turn less than this go on in a line (numerical)."""
MOST_TURN = math.radians(170.0)
"""A bend turns no farther: legs that come back on themselves leave no room for the die (common practice, no source)."""

TOUCHING = 1e-4
"""Bends that follow each other without a straight piece between share it but for rounding, mm (numerical)."""


def turns(points: Sequence[Corner]) -> list[float]:
    """Angle in rad by which the centerline turns at each corner between its ends."""
    legs = [[b - a for a, b in zip(one, other)] for one, other in pairwise(points)]
    found = []
    for a, b in pairwise(legs):
        cross = math.hypot(a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
        found.append(math.atan2(cross, sum(x * y for x, y in zip(a, b))))
    return found


def check(points: Sequence[Corner], bend_radius: float, outer_diameter: float, where: str) -> None:
    """ValueError where the corners leave no room for the bends; where: field that a sentence begins with."""
    if len(points) < 2:
        raise ValueError(f"{where}.points: {too_few_points(points)}")
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    if min(lengths) < 1.0:
        raise ValueError(f"{where}.points: points {lengths.index(min(lengths)) + 1} and {lengths.index(min(lengths)) + 2} are "
                         f"{sized(min(lengths))} apart; give points at least {sized(1.0)} apart")
    bends = turns(points)
    if bends and bend_radius <= outer_diameter / 2:
        raise ValueError(f"{where}.bend_radius is {sized(bend_radius)}; it must be more than half of the outside diameter "
                         f"{sized(outer_diameter)}")
    if bends and max(bends) > MOST_TURN:
        raise ValueError(f"{where}.points: the tube turns by {math.degrees(max(bends)):.0f} deg at point {bends.index(max(bends)) + 2}; "
                         f"at most {math.degrees(MOST_TURN):.0f} deg can be bent")
    setbacks = [0.0, *(bend_radius * math.tan(turn / 2) for turn in bends), 0.0]
    for number, (length, first, second) in enumerate(zip(lengths, setbacks, setbacks[1:]), 1):
        if first + second > length + TOUCHING:
            raise ValueError(f"{where}: between points {number} and {number + 1} are {sized(length)}, but bends of {sized(bend_radius)} "
                             f"radius take {sized(first + second)}; give a smaller bend_radius, or set the points farther apart")


def developed_length(points: Sequence[Corner], bend_radius: float) -> float:
    """Length of the centerline before bending and coping, mm: L - sum of (2 tan(a/2) - a) R over the bends."""
    return sum(math.dist(a, b) for a, b in pairwise(points)) - sum((2.0 * math.tan(turn / 2) - turn) * bend_radius
                                                                        for turn in turns(points))


def center_line(points: Sequence[Corner], bend_radius: float) -> Part.Wire:
    """Lines and bends from the first point to the last."""
    corners = [Vector(*point) for point in points]
    edges, last = [], corners[0]
    for before, corner, after in zip(corners, corners[1:], corners[2:]):
        come, go = (corner - before).normalize(), (after - corner).normalize()
        turn = come.getAngle(go)
        if turn < STRAIGHT:
            continue
        setback = bend_radius * math.tan(turn / 2)
        first, end = corner - come * setback, corner + go * setback
        inward = (go - come).normalize()
        middle = corner + inward * (bend_radius / math.cos(turn / 2) - bend_radius)
        if (first - last).Length > 1e-7:
            edges.append(Part.makeLine(last, first))
        edges.append(Part.Arc(first, middle, end).toShape())
        last = end
    if (corners[-1] - last).Length > 1e-7:
        edges.append(Part.makeLine(last, corners[-1]))
    return Part.Wire(edges)


def swept(points: Sequence[Corner], bend_radius: float, outer_diameter: float, wall: float) -> Part.Solid:
    """The tube with square ends."""
    start, second = Vector(*points[0]), Vector(*points[1])
    outer = outer_diameter / 2
    made = center_line(points, bend_radius).makePipe(tube.annulus(outer, outer - wall, start, second - start))
    return made if made.ShapeType == "Solid" else tube.largest(made)


def coped(points: Sequence[Corner], bend_radius: float, outer_diameter: float, wall: float,
          first: tuple[tube.Header, ...], last: tuple[tube.Header, ...]) -> Part.Solid:
    """The tube, its first and its last leg coped to what they meet. The result is held against the volume of legs, copes and bends, since
    the host cuts wrongly now and then (``tube.build``)."""
    if len(points) == 2:
        return tube.build(tube.Spec(points[0], points[1], outer_diameter, wall, first + last))
    if not first + last:
        return swept(points, bend_radius, outer_diameter, wall)
    ends = [(at, beside, headers) for at, beside, headers in ((0, 1, first), (-1, -2, last)) if headers]
    area = tube.volume(outer_diameter, wall, 1.0)
    expected = area * developed_length(points, bend_radius) + sum(
        tube.quadrature(tube.Spec(points[at], points[beside], outer_diameter, wall, headers)) - area * math.dist(points[at], points[beside])
        for at, beside, headers in ends)
    best, error = None, math.inf
    for attempt in (_sewn, _cut):
        try:
            made = attempt(points, bend_radius, outer_diameter, wall, ends)
        except (Part.OCCError, ValueError):
            continue
        off = abs(measure.volume(made) - expected) if made.isValid() else math.inf
        if off < error:
            best, error = made, off
        if error <= tube.DOUBT * expected:
            break
    if best is None or error > MOST_OFF * expected:
        raise ValueError(f"a bent tube of {sized(outer_diameter)} could not be coped to what its ends meet; set its ends on the "
                         "centerlines of those tubes, and bend it farther from its ends")
    return best


MOST_OFF = 0.005
"""Share by which the volume of a bent and coped tube may be off what is expected (numerical)."""
JOINT = 1e-3
"""mm from a joint at which the middle of a face lies that is closed by it (numerical)."""


def _cut(points: Sequence[Corner], bend_radius: float, outer_diameter: float, wall: float, ends: list) -> Part.Solid:
    """The whole tube, cut by the bars at both ends."""
    bars = [tube.header_bar(header, 3.0 * (outer_diameter + header.diameter)) for _at, _beside, headers in ends for header in headers]
    return tube.largest(swept(points, bend_radius, outer_diameter, wall).cut(bars))


def _sewn(points: Sequence[Corner], bend_radius: float, outer_diameter: float, wall: float, ends: list) -> Part.Solid:
    """Each coped leg as a straight tube of its own, up to where its bend begins; the faces of all are sewn together there, which costs a
    third of a boolean."""
    inner, joints, tubes = list(points), [], []
    bends = [bend_radius * math.tan(turn / 2) for turn in turns(points)]
    for at, beside, headers in ends:
        share = 1.0 - bends[0 if at == 0 else -1] / math.dist(points[at], points[beside])
        x, y, z = (a + share * (b - a) for a, b in zip(points[at], points[beside]))
        inner[at] = (x, y, z)
        joints.append(Vector(x, y, z))
        tubes.append(tube.build(tube.Spec(points[at], inner[at], outer_diameter, wall, headers)))
    tubes.append(swept(inner, bend_radius, outer_diameter, wall))

    def closed(face: Part.Face) -> bool:
        return isinstance(face.Surface, Part.Plane) and any((face.CenterOfMass - joint).Length < JOINT for joint in joints)

    shell = Part.makeShell([face for one in tubes for face in one.Faces if not closed(face)])
    shell.sewShape()
    return Part.makeSolid(shell)
