"""The numbers of the tunnel, and its sheet laid flat at mid thickness. Its round top is an oblique half cylinder and its sides are planes
along the same generators, so that the development is exact: along a generator lengths stay, and across them the sheet is as wide as its
section square to them.

In the flat y runs across, to the right of the car, and z along the generators, forward: the sheet as seen from outside with its front
up. Mid thickness is that of the section across the car, where the sheet is laid out. Numbers only, no host.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, pairwise
from typing import TypeAlias

import numpy as np

from .outline import Flat, Loop, Vertex
from .piece import Line2

STEP = math.pi / 24.0
"""Turn of the round top that an arc of the flat's outline spans at most (numerical)."""
NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)
JOINED = 1e-9
"""Places in a section nearer than this, rad, are one (numerical)."""

Turn: TypeAlias = float
"""A place in the section: rad from the crown to the left on the round top; beyond a quarter turn, on a side, as many radii down it."""
QUARTER = math.pi / 2.0
"""A quarter turn, rad (closed form)."""


@dataclass(frozen=True)
class Slot:
    """Opening for a leg: stations of its ends; ``side`` 1 left, -1 right; from ``inner`` (distance from the car's center plane to that
    side) outward, down to ``low`` and up to ``high``; mm."""
    x_rear: float
    x_front: float
    side: int
    inner: float
    low: float
    high: float


@dataclass(frozen=True)
class Notch:
    """Opening in both sides for a member across the car: stations of its ends, and the height up to which it reaches, mm."""
    x_rear: float
    x_front: float
    top: float


@dataclass(frozen=True)
class Spec:
    """Ends along the car; center of the round top (y, z) at either end; inside radius; thickness; floor height; openings."""
    x_rear: float
    x_front: float
    rear: tuple[float, float]
    front: tuple[float, float]
    radius: float
    thickness: float
    floor: float
    slots: tuple[Slot, ...] = ()
    notches: tuple[Notch, ...] = ()

    @property
    def length(self) -> float:
        """Along the car."""
        return self.x_front - self.x_rear

    @property
    def sides(self) -> tuple[float, float]:
        """Height of the upright sides at the rear and the front end."""
        return self.rear[1] - self.floor, self.front[1] - self.floor

    def center(self, x: float) -> tuple[float, float]:
        """Centre of the round top (y, z) at a station."""
        step = (x - self.x_rear) / self.length
        y, z = (a + step * (b - a) for a, b in zip(self.rear, self.front))
        return y, z


@dataclass(frozen=True)
class Surface:
    """The sheet at mid thickness, and its way into the plane."""
    spec: Spec

    @property
    def radius(self) -> float:
        """Of the round top, in a section across the car."""
        return self.spec.radius + self.spec.thickness / 2.0

    @cached_property
    def direction(self) -> np.ndarray:
        """Along the generators for one mm along the car; not a unit vector."""
        rear, front = np.array(self.spec.rear), np.array(self.spec.front)
        return np.array([1.0, *((front - rear) / self.spec.length)])

    def at_height(self, x: float, z: float, side: int) -> Turn:
        """Where a height meets one side (1 left, -1 right) of the section at a station; the crown where it is above that."""
        up = z - self.spec.center(x)[1]
        if up >= self.radius:
            return 0.0
        return side * (math.acos(up / self.radius) if up > 0.0 else QUARTER - up / self.radius)

    def at_width(self, x: float, y: float) -> Turn:
        """Where an upright plane along the car meets the round top at a station."""
        across = (y - self.spec.center(x)[0]) / self.radius
        return math.asin(max(-1.0, min(1.0, across)))

    def flat(self, turn: np.ndarray, x: np.ndarray | float) -> np.ndarray:
        """The places in the plane of places on the sheet, (n, 2)."""
        size = float(np.linalg.norm(self.direction))
        _, dy, dz = self.direction / size
        r, round_ = self.radius, np.clip(turn, -QUARTER, QUARTER)
        down = r * (np.abs(turn) - np.abs(round_))
        nodes = round_[:, None] / 2.0 * (NODES + 1.0)
        across = r * round_ / 2.0 * (np.sqrt(1.0 - (np.cos(nodes) * dy - np.sin(nodes) * dz) ** 2) @ WEIGHTS)
        across += np.copysign(down * math.sqrt(1.0 - dz ** 2), turn)
        y, z = r * np.sin(round_), r * np.cos(round_) - down
        return np.column_stack([-across, (x - self.spec.x_rear) * size + y * dy + z * dz])


NOTHING_LEFT = "containment.tunnel: nothing is left of it between its openings; leave it out, or move the loops apart"

Edge: TypeAlias = Callable[[float], Turn]
"""An edge of the sheet or of an opening along the car: the place in the section at each station."""


def flat(spec: Spec) -> Flat:
    """The sheet laid flat with its openings; of several pieces, the largest. ValueError where nothing is left."""
    loops = list(_loops(Surface(spec)))
    outer = max((loop for loop in loops if loop.signed_area > 0.0), key=lambda loop: loop.signed_area, default=None)
    if outer is None:
        raise ValueError(NOTHING_LEFT)
    inner = tuple(loop.counterclockwise() for loop in loops if loop.signed_area < 0.0 and outer.holds(*loop.points()[0]))
    return Flat(outer, inner)


def panel_lines(spec: Spec) -> tuple[Line2, ...]:
    """Where the round top begins on either side, laid flat: there the roll ends, and the removable top parts from the sides."""
    surface = Surface(spec)
    found: list[Line2] = []
    for side in (1, -1):
        for first, last in pairwise(_stations(surface)):
            middle = (first + last) / 2.0
            if any(low(middle) < side * QUARTER < high(middle) for low, high in _left(surface, first, last)):
                start, end = map(tuple, surface.flat(np.full(2, side * QUARTER), np.array([first, last])).tolist())
                if found and math.dist(found[-1][1], start) < 1e-6:
                    start = found.pop()[0]
                found.append((start, end))
    return tuple(found)


def _stations(surface: Surface) -> list[float]:
    """Where the sheet's section changes: its ends, those of its openings, where an edge comes from a side onto the round top or over the
    crown, and where two edges cross."""
    spec = surface.spec
    found = {spec.x_rear, spec.x_front}
    for ends in [(slot.x_rear, slot.x_front) for slot in spec.slots] + [(notch.x_rear, notch.x_front) for notch in spec.notches]:
        found |= set(ends)
    rise = float(surface.direction[2])
    for height in (spec.floor, *(slot.low for slot in spec.slots), *(notch.top for notch in spec.notches)):
        for above in (0.0, surface.radius):
            if abs(rise) > 1e-12:
                found.add(spec.x_rear + (height - above - spec.rear[1]) / rise)
    inside = _apart(x for x in found if spec.x_rear <= x <= spec.x_front)
    crossings = [x for first, last in pairwise(inside) for x in _crossings(_edges(surface, first, last), first, last)]
    return _apart([*inside, *crossings])


def _apart(stations: Iterable[float]) -> list[float]:
    """The stations in order, none twice."""
    found: list[float] = []
    for x in sorted(stations):
        if not found or x - found[-1] > 1e-7:
            found.append(x)
    return found


def _crossings(spans: list[tuple[Edge, Edge]], first: float, last: float) -> Iterator[float]:
    """Stations between two others at which edges of openings cross."""
    samples = np.linspace(first, last, 9)
    for one, other in combinations([edge for span in spans for edge in span], 2):
        apart = [one(x) - other(x) for x in samples]
        for (a, b), (before, after) in zip(pairwise(samples), pairwise(apart)):
            if before * after < 0.0 and max(abs(before), abs(after)) > JOINED:
                for _ in range(60):
                    middle = (a + b) / 2.0
                    a, b = (a, middle) if (one(middle) - other(middle)) * before < 0.0 else (middle, b)
                yield float((a + b) / 2.0)


def _edges(surface: Surface, first: float, last: float) -> list[tuple[Edge, Edge]]:
    """Right and left edge of each opening between two stations."""
    spec, middle = surface.spec, (first + last) / 2.0

    def height(z: float, side: int) -> Edge:
        return lambda x: surface.at_height(x, z, side)

    def width(y: float) -> Edge:
        return lambda x: surface.at_width(x, y)

    spans: list[tuple[Edge, Edge]] = []
    for notch in spec.notches:
        if notch.x_rear < middle < notch.x_front and notch.top > spec.floor:
            spans += [(height(spec.floor, -1), height(notch.top, -1)), (height(notch.top, 1), height(spec.floor, 1))]
    for slot in spec.slots:
        reaches = slot.side * spec.center(middle)[0] + surface.radius > slot.inner
        if slot.x_rear < middle < slot.x_front and reaches:
            low, inner = height(max(slot.low, spec.floor), slot.side), width(slot.side * slot.inner)
            spans.append((inner, low) if slot.side > 0 else (low, inner))
    return spans


def _left(surface: Surface, first: float, last: float) -> list[tuple[Edge, Edge]]:
    """What is left of the section between two stations: stretches from their right to their left edge, from the right floor on."""
    middle = (first + last) / 2.0
    ends: list[Edge] = [lambda x: surface.at_height(x, surface.spec.floor, -1), lambda x: surface.at_height(x, surface.spec.floor, 1)]
    found, at = [], ends[0]
    for low, high in sorted(_edges(surface, first, last), key=lambda span: span[0](middle)):
        if high(middle) <= low(middle):
            continue
        if low(middle) > at(middle) + JOINED:
            found.append((at, low))
        if high(middle) > at(middle):
            at = high
    if ends[1](middle) > at(middle) + JOINED:
        found.append((at, ends[1]))
    return found


def _loops(surface: Surface) -> Iterator[Loop]:
    """The loops of what is left: counterclockwise around material, clockwise around openings. Cells between two stations are joined where
    they share an edge."""
    stations = _stations(surface)
    cells = [_left(surface, first, last) for first, last in pairwise(stations)]
    onward: dict[tuple[Turn, float], list[tuple[tuple[Turn, float], tuple[Vertex, ...]]]] = {}

    def edge(start: tuple[Turn, float], end: tuple[Turn, float], drawn: tuple[Vertex, ...]) -> None:
        onward.setdefault(start, []).append((end, drawn))

    for (first, last), here in zip(pairwise(stations), cells):
        for low, high in here:
            # In the flat the left edge is at the left: up the car on the right edge, and back down on the left one.
            edge((_key(low(first)), first), (_key(low(last)), last), _along(surface, low, first, last))
            edge((_key(high(last)), last), (_key(high(first)), first), _along(surface, high, last, first))
    for number, x in enumerate(stations):
        behind = [(low(x), high(x)) for low, high in cells[number - 1]] if number else []
        ahead = [(low(x), high(x)) for low, high in cells[number]] if number < len(cells) else []
        for start, end in pairwise(sorted({_key(turn) for pair in behind + ahead for turn in pair})):
            middle = (start + end) / 2.0
            inside = [any(low < middle < high for low, high in stretches) for stretches in (behind, ahead)]
            if inside == [True, False]:
                edge((start, x), (end, x), _across(surface, x, start, end))
            elif inside == [False, True]:
                edge((end, x), (start, x), _across(surface, x, end, start))
    while onward:
        first_corner = corner = next(iter(onward))
        vertices: list[Vertex] = []
        while not vertices or corner != first_corner:
            leaving, left_behind = onward[corner], corner
            corner, drawn = leaving.pop()
            vertices += drawn
            if not leaving:
                del onward[left_behind]
        yield Loop(_straightened(vertices))


def _key(turn: Turn) -> Turn:
    return round(turn, 9) + 0.0


def _along(surface: Surface, edge: Edge, first: float, last: float) -> tuple[Vertex, ...]:
    """An edge along the car without its end: straight on a side or along a generator, else arcs."""
    turns = [edge(first), edge(last)]
    straight = abs(turns[0] - turns[1]) < JOINED or min(map(abs, turns)) > QUARTER - JOINED
    count = 1 if straight else 12
    stations = np.linspace(first, last, 2 * count + 1)
    return _arcs(surface.flat(np.array([edge(x) for x in stations.tolist()]), stations).tolist())


def _across(surface: Surface, x: float, first: Turn, last: Turn) -> tuple[Vertex, ...]:
    """An edge across the car without its end: straight on the sides, arcs on the round top."""
    way = 1.0 if last > first else -1.0
    bounds = [first, *(turn for turn in (-QUARTER * way, QUARTER * way) if way * first + JOINED < way * turn < way * last - JOINED), last]
    found: tuple[Vertex, ...] = ()
    for a, b in pairwise(bounds):
        count = 1 if abs(a + b) / 2.0 > QUARTER else max(1, math.ceil(abs(b - a) / STEP))
        found += _arcs(surface.flat(np.linspace(a, b, 2 * count + 1), x).tolist())
    return found


def _arcs(places: list[list[float]]) -> tuple[Vertex, ...]:
    """Arcs through three places each, an odd number of which are given; the last place is left out."""
    found = []
    for a, m, b in zip(places[:-1:2], places[1::2], places[2::2]):
        y0, z0, y1, z1 = m[0] - a[0], m[1] - a[1], b[0] - m[0], b[1] - m[1]
        # The angle between both chords is half of what the arc sweeps.
        half = math.atan2(y0 * z1 - z0 * y1, y0 * y1 + z0 * z1)
        bulge = math.tan(half / 2.0)
        found.append(Vertex(a[0], a[1], bulge if abs(bulge) > 1e-7 else 0.0))
    return tuple(found)


def _straightened(vertices: list[Vertex]) -> tuple[Vertex, ...]:
    """The loop without vertices in the middle of a straight line."""
    count = len(vertices)

    def needed(i: int) -> bool:
        before, here, after = vertices[i - 1], vertices[i], vertices[(i + 1) % count]
        if before.bulge or here.bulge:
            return True
        along = after.y - before.y, after.z - before.z
        off = along[0] * (here.z - before.z) - along[1] * (here.y - before.y)
        return abs(off) > 1e-7 * math.hypot(*along)

    return tuple(vertex for i, vertex in enumerate(vertices) if needed(i))
