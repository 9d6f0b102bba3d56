"""What a part is made from before it is bent and welded: pieces cut from sheet, tube and bar, and what is machined. Plain numbers.

Each part that is made for the kit tells its pieces (``pieces(spec)`` beside ``build(spec)``), and one that is welded together from several
of them where (``seams(spec)``). Cut files, cut lists and drawings are made from them.
"""
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from . import bent_tube, tube
from .outline import Circle, Flat, polygon

Line2: TypeAlias = tuple[tuple[float, float], tuple[float, float]]
Point: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True)
class Sheet:
    """A piece cut from sheet or plate. flat: what is cut, mm; bends and trims: lines on it along which it is bent, or to which it is cut
    once it is fitted; count: how many of it one part has; note: what else the shop has to know; bend_angles: rad of each bend, positive
    toward whoever looks at the flat, none where they are not known; bend_radius: inside, mm; lettering: lines that are etched beside the
    part's mark."""
    name: str
    flat: Flat
    thickness: float
    bends: tuple[Line2, ...] = ()
    trims: tuple[Line2, ...] = ()
    count: int = 1
    note: str = ""
    bend_angles: tuple[float, ...] = ()
    bend_radius: float = 0.0
    lettering: tuple[str, ...] = ()


@dataclass(frozen=True)
class Bend:
    """A bend that an end is coped to: center and axis of its arc, radius of its centerline, outside diameter of its tube, mm."""
    center: Point
    axis: Point
    radius: float
    diameter: float


@dataclass(frozen=True)
class CrossHole:
    """A hole through both walls of a tube, square to it: distance from the first end of the centerline and diameter, mm."""
    at: float
    diameter: float


Met: TypeAlias = tube.Header | Bend
"""What the end of a tube may be coped to."""


@dataclass(frozen=True)
class Tube:
    """A piece of round tube. straights: lengths between the tangent points of its bends and to its ends on the centerline, mm, one more
    than bends; bends: angles in rad, each of ``radius`` to the centerline; rotations: rad by which the plane of each bend but the
    first is turned from the one before, right-handed along the tube. ends: the two ends of the centerline, and the direction outward
    there, in the part's frame; first, last: what they are coped to in that frame; a square cut where that is nothing; holes: across it."""
    name: str
    outer_diameter: float
    wall: float
    straights: tuple[float, ...]
    bends: tuple[float, ...] = ()
    rotations: tuple[float, ...] = ()
    radius: float = 0.0
    ends: tuple[tuple[Point, Point], ...] = ()
    first: tuple[Met, ...] = ()
    last: tuple[Met, ...] = ()
    count: int = 1
    note: str = ""
    holes: tuple[CrossHole, ...] = ()

    @property
    def center_length(self) -> float:
        """Length of the centerline from end to end before coping, mm."""
        return sum(self.straights) + self.radius * sum(abs(bend) for bend in self.bends)


@dataclass(frozen=True)
class Bar:
    """A piece of flat bar that is rolled or bent: its section and the length of its centerline, mm; straights, bends and radius as of a
    tube that is bent in one plane, none of a straight bar."""
    name: str
    width: float
    thickness: float
    length: float
    count: int = 1
    note: str = ""
    straights: tuple[float, ...] = ()
    bends: tuple[float, ...] = ()
    radius: float = 0.0


@dataclass(frozen=True)
class Section:
    """A section of a piece that is machined or built up: what it is called, and its outline, mm."""
    name: str
    flat: Flat


@dataclass(frozen=True)
class Solid:
    """A piece that is neither: machined, cast or laid up; what it is made to, and sections of it where words alone do not tell that."""
    name: str
    note: str
    count: int = 1
    sections: tuple[Section, ...] = ()


Piece: TypeAlias = Sheet | Tube | Bar | Solid


@dataclass(frozen=True)
class Seam:
    """A weld between pieces of one part: what it joins, such as ``web to saddle``; a point of it in every place where there is one, in the
    part's frame, mm; whether it goes all around, else along both sides."""
    joins: str
    points: tuple[Point, ...]
    around: bool


def rectangle(width: float, height: float, inner: Sequence[Circle] = ()) -> Flat:
    """A flat of two sides, its lower left corner in the origin."""
    return Flat(polygon([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]), tuple(inner))


def straight(name: str, outer_diameter: float, wall: float, start: Point, end: Point, first: tuple[Met, ...] = (),
             last: tuple[Met, ...] = (), count: int = 1, note: str = "", holes: tuple[CrossHole, ...] = ()) -> Tube:
    """A straight tube between two points, coped at its first and its last end."""
    ends = (start, _outward(end, start)), (end, _outward(start, end))
    return Tube(name, outer_diameter, wall, (math.dist(start, end),), ends=ends, first=first, last=last, count=count, note=note,
                holes=holes)


def coped(name: str, spec: tube.Spec) -> Tube:
    """The piece that a straight tube is made from; each header belongs to the end that it is nearer to."""
    first = tuple(item for item in spec.headers if math.dist(item.point, spec.start) <= math.dist(item.point, spec.end))
    last = tuple(item for item in spec.headers if item not in first)
    return straight(name, spec.outer_diameter, spec.wall, spec.start, spec.end, first, last)


def bent(name: str, points: Sequence[Point], radius: float, outer_diameter: float, wall: float) -> Tube:
    """A tube bent at each point between its ends, square at both."""
    turns = bent_tube.turns(points)
    setback = [0.0, *(radius * math.tan(turn / 2.0) for turn in turns), 0.0]
    straights = tuple(math.dist(a, b) - before - after for (a, b), before, after in zip(pairwise(points), setback, setback[1:]))
    legs = [np.subtract(b, a) for a, b in pairwise(points)]
    normals = [np.cross(a, b) for a, b in pairwise(legs)]
    rotations = tuple(float(math.atan2(np.cross(m, n) @ leg / np.linalg.norm(leg), m @ n))
                      for m, n, leg in zip(normals, normals[1:], legs[1:]))
    ends = (points[0], _outward(points[1], points[0])), (points[-1], _outward(points[-2], points[-1]))
    return Tube(name, outer_diameter, wall, straights, tuple(turns), rotations, radius, ends)


def _outward(inner: Point, end: Point) -> Point:
    """Unit vector along the centerline out of an end."""
    length = math.dist(inner, end)
    x, y, z = ((b - a) / length for a, b in zip(inner, end))
    return x, y, z
