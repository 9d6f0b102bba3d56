"""A further tube of the chassis, straight or bent, in the car frame: its ends are coped to the tubes on whose centerlines they lie."""
from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from .. import model
from ..host import Part
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene
from ..record import filled
from . import bent_tube, chassis_tube, cross_member, tube

VERSION = 1
BEND_RATIO = 3.0
"""Centerline radius of a bend over the outside diameter where none is stated (common practice, no source)."""

Corner: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True)
class Leg:
    """A straight piece of a tube that others can be welded to: key of the tube, ends of its centerline, outside diameter, mm."""
    key: str
    start: Corner
    end: Corner
    diameter: float

    def along(self) -> np.ndarray:
        """Unit vector from start to end."""
        step = np.array(self.end) - np.array(self.start)
        return step / np.linalg.norm(step)

    def off(self, point: Corner) -> float:
        """Distance of a point from the centerline, mm; past an end, from that end."""
        # Plain numbers: every end is held against every leg, and arrays of three take many times as long.
        step = [end - start for start, end in zip(self.start, self.end)]
        along = sum((p - start) * s for p, start, s in zip(point, self.start, step))
        way = min(max(along / sum(s * s for s in step), 0.0), 1.0)
        return math.dist(point, [start + way * s for start, s in zip(self.start, step)])

    def header(self, point: Corner) -> tube.Header:
        """The leg as something to cope to, at its place beside a point."""
        start, along = np.array(self.start), self.along()
        foot = start + float((np.array(point) - start) @ along) * along
        return tube.Header(as_point(foot), as_point(along), self.diameter)


@dataclass(frozen=True)
class Spec:
    """Corners of the centerline, radius of the bends between its ends (0: straight), section, and what each end is coped to, mm."""
    points: tuple[Corner, ...]
    bend_radius: float
    outer_diameter: float
    wall: float
    first: tuple[tube.Header, ...] = ()
    last: tuple[tube.Header, ...] = ()


def legs(given: model.Tube) -> tuple[Leg, ...]:
    """Its straight pieces, those of a bent one from corner to corner."""
    outer = given.section.outer_diameter
    return tuple(Leg(f"tube/{given.name}", a, b, outer) for a, b in pairwise(given.points or ()) if math.dist(a, b) > 1e-6)


def others(scene: Scene, member: model.CrossMember | None) -> tuple[Leg, ...]:
    """Straight pieces of every tube that the chassis has beside the further ones, and of the transmission cross member."""
    found = [Leg(key, one.start, one.end, one.outer_diameter)
             for key, one in chassis_tube.specs(scene.chassis, cross_member=member).items()]
    if member is not None:
        made = cross_member.spec(member, scene)
        found += [Leg("cross_member", a, b, made.outer_diameter) for a, b in pairwise(made.points)]
    return tuple(found)


def meeting(point: Corner, diameter: float, among: Iterable[Leg]) -> tuple[tube.Header, ...]:
    """What an end is coped to: every leg on or near whose centerline the end lies, nearer than a quarter of both diameters together."""
    return tuple(leg.header(point) for leg in among if leg.off(point) < 0.25 * (leg.diameter + diameter))


def spec(given: model.Tube, scene: Scene, member: model.CrossMember | None, before: tuple[model.Tube, ...]) -> Spec:
    """From a record; ``before``: the tubes ahead of it in the list, which it is coped to where it meets them (of two that meet, the
    later one is cut)."""
    given = filled(given)
    where, section = f"chassis.tubes[{given.name}]", given.section
    if not given.points:
        raise ValueError(f"{where}.points are missing; give the points of its centerline, or draw it in both sketches with the role "
                         f"'tube {given.name}'")
    tube.check_section(section.outer_diameter, section.wall, f"{where}.section")
    bent = max(bent_tube.turns(given.points), default=0.0) > bent_tube.STRAIGHT
    radius = (given.bend_radius or BEND_RATIO * section.outer_diameter) if bent else 0.0
    points = given.points if bent or len(given.points) < 2 else (given.points[0], given.points[-1])
    bent_tube.check(points, radius, section.outer_diameter, where)
    among = (*others(scene, member), *(leg for one in before for leg in legs(filled(one))))
    first, last = (_square_enough(points[end], points[inner], meeting(points[end], section.outer_diameter, among))
                   for end, inner in ((0, 1), (-1, -2)))
    return Spec(points, radius, section.outer_diameter, section.wall, first, last)


def _square_enough(end: Corner, inner: Corner, headers: tuple[tube.Header, ...]) -> tuple[tube.Header, ...]:
    """Headers that the end runs into; one that it lies along cuts no cope."""
    step = np.array(inner) - np.array(end)
    step /= np.linalg.norm(step)
    return tuple(header for header in headers if abs(float(step @ np.array(header.direction))) < ALONG)


ALONG = math.cos(math.radians(15.0))
"""A tube less than this off another's direction lies along it, and no cope is cut (common practice, no source)."""


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return bent_tube.coped(spec.points, spec.bend_radius, spec.outer_diameter, spec.wall, spec.first, spec.last)


def at_station(tubes: Iterable[model.Tube], x: float) -> Iterator[tuple[float, float, Leg]]:
    """(y, z, leg) of every point at which the centerline of a tube passes a chassis station."""
    for given in tubes:
        for leg in legs(filled(given)):
            a, b = leg.start[0], leg.end[0]
            if abs(b - a) > 1e-9 and (a - x) * (b - x) <= 0.0:
                way = (x - a) / (b - a)
                yield leg.start[1] + way * (leg.end[1] - leg.start[1]), leg.start[2] + way * (leg.end[2] - leg.start[2]), leg
