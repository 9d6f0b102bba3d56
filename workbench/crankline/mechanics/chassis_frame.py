"""The chassis tubes that the powertrain's mounts meet, as a space frame: how much they give, and what each of them carries.

A tube's end is welded to the nearest other tube that it reaches, or is held where the rest of the chassis, which nobody described, takes
over. How stiff that rest is, is not known: ends are taken as *pinned* (kept in place and from twisting about the tube's own axis, free to
bend) and as *clamped*, and the worse of both counts. Car frame; mm, N, MPa. Screening, never a certificate: centerlines, no local bending
of thin walls, no fatigue, no heat-affected zone.
"""
from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import accumulate, pairwise

import numpy as np

from . import strength
from .beams import Bar, column_load, tube_stress
from .frames import as_point, cross
from .shaft import tube_section
from .space_frame import Element, SpaceFrame, displacements, end_forces
from .strength import Allowables, Item
from .welds import tube_weld_force

Point = tuple[float, float, float]

FREE, CLAMPED, ALWAYS = 0, 1, 2
"""Of a movement or turn of a node: whether it is held not at all, at clamped ends only, or at pinned ones too."""

ENDS = {"pinned": ALWAYS, "clamped": CLAMPED}
"""Conditions at held ends, each of which is screened, and from what on a node is held under each."""

SAME = 1.0
"""Stations of one tube that stand closer, mm, are one node."""

MEET = 0.5
"""Centerlines that come closer, mm, meet in one node: a link as short as that is so stiff that the rest loses its digits."""

REACH = 5.0
"""Tubes whose surfaces are at most so far apart, mm, count as welded to each other (a coped joint's gap and fillet, assumed)."""

LINK = 100.0
"""Stiffness of what bridges two centerlines that pass each other, over that of the stiffer tube."""


@dataclass(frozen=True)
class Tube:
    """A chassis tube: its key, section (length not read), corners of its centerline, and whether its first and last end are held."""
    key: str
    section: Bar
    points: tuple[Point, ...]
    held: tuple[bool, bool] = (False, False)


@dataclass(frozen=True)
class Chassis:
    """Tubes, and for each mount, in the order of the mounts, the key of the tube that it stands on and the point where its force acts."""
    tubes: tuple[Tube, ...]
    seats: tuple[tuple[str, Point], ...]


@dataclass(frozen=True, eq=False)
class Built:
    """A chassis as a frame, whose ends are clamped, and what is held under each of k conditions of them, (k, n, 6). owners: key of the tube
    of each element, "" of a link; runs: length of tube between joints around it, mm; seats: (node, arm) of each mount; bars: section by
    key."""
    frame: SpaceFrame
    owners: tuple[str, ...]
    runs: tuple[float, ...]
    seats: tuple[tuple[int, np.ndarray], ...]
    bars: dict[str, Bar]
    held: np.ndarray

    @cached_property
    def moved(self) -> np.ndarray:
        """Displacements (k, 3 seats, n, 6) of the nodes under a unit force along each axis at each seat."""
        count, unit = len(self.seats), np.eye(3)
        loads = np.zeros((count, 3, len(self.frame.nodes), 6))
        for number, (place, arm) in enumerate(self.seats):
            loads[number, :, place] = np.concatenate([unit, cross(arm, unit)], axis=1)
        return displacements(self.frame, loads.reshape(3 * count, -1, 6), self.held)

    @cached_property
    def give(self) -> np.ndarray:
        """Compliance (k, 3 seats, 3 seats), mm/N: how far each seat moves under a unit force at each seat."""
        moved, arms = self.moved[:, :, [place for place, _arm in self.seats]], np.array([arm for _place, arm in self.seats])
        found = moved[..., :3] + cross(moved[..., 3:], arms)
        return found.reshape(*found.shape[:2], -1).swapaxes(1, 2)

    @cached_property
    def unit_loads(self) -> np.ndarray:
        """Forces and moments (k, 3 seats, elements, 2, 6) on both ends of each element, in its own axes, under a unit force along each axis
        at each seat; along it, a push is positive at both."""
        loads = end_forces(self.frame, self.moved)
        # At an element's first end a positive force along it pushes, at its second one it pulls.
        loads[..., 1, 0] *= -1.0
        return loads

    def end_loads(self, force: np.ndarray, elements: Sequence[int]) -> np.ndarray:
        """The same (cases, elements, 2, 6) of some elements under forces (cases, seats, 3) at the seats, N; as many cases of each of the k
        conditions, one after another."""
        ways = len(self.held)
        unit = self.unit_loads[:, :, elements].reshape(ways, 3 * len(self.seats), -1)
        return (force.reshape(ways, -1, unit.shape[1]) @ unit).reshape(len(force), -1, 2, 6)

    def of(self, key: str) -> list[int]:
        """The elements of a tube, one after another."""
        return [place for place, owner in enumerate(self.owners) if owner == key]


# Most of what is tried on a car leaves its tubes where they are.
@lru_cache(maxsize=4096)
def nearest(points: tuple[Point, ...], wanted: Point) -> tuple[float, Point]:
    """Distance along a centerline from its first corner to the place nearest to a point, and that place."""
    best: tuple[float, float, Point] | None = None
    # Plain numbers: every tube is asked for the ends of every other, and an array for each takes many times as long.
    run = 0.0
    for start, end in pairwise(points):
        span = [b - a for a, b in zip(start, end)]
        length = math.hypot(*span)
        along = sum((p - a) * s for p, a, s in zip(wanted, start, span))
        share = min(max(along / length**2, 0.0), 1.0) if length else 0.0
        x, y, z = (a + share * s for a, s in zip(start, span))
        place = x, y, z
        away = math.dist(wanted, place)
        if best is None or away < best[0] - 1e-9:
            best = away, run + share * length, place
        run += length
    assert best is not None
    return best[1:]


def _joined(tube: Tube, end: int, others: Sequence[Tube], carries: bool) -> Tube | None:
    """The tube that an end is welded to: of those that it reaches, the one whose centerline is nearest. A tube that carries a mount is
    taken as welded to the nearest one even where it stops short of it: that it must reach is what the rules about gaps say."""
    point = tube.points[end]
    away = [(math.dist(nearest(other.points, point)[1], point), other) for other in others if other.key != tube.key]
    reached = [(gap, other.key, other) for gap, other in away
               if carries or gap <= 0.5 * (tube.section.outer_diameter + other.section.outer_diameter) + REACH]
    return min(reached, key=lambda item: item[:2])[2] if reached else None


@lru_cache(maxsize=4)
def build(chassis: Chassis, *ends: str) -> Built:
    """The frame under conditions of its held ends, all of `ENDS` where none is named; tubes that hang together with no held end are left
    out. ValueError where a mount stands on such a tube, or on none."""
    tubes = {tube.key: tube for tube in chassis.tubes}
    marks: dict[str, list[float]] = {key: [] for key in tubes}
    joints: list[tuple[str, int, str, float]] = []
    carrying = {key for key, _point in chassis.seats}
    for tube in chassis.tubes:
        for number, fixed in zip((0, -1), tube.held):
            onto = None if fixed else _joined(tube, number, chassis.tubes, tube.key in carrying)
            if onto is not None and not any(joint[:3] == (onto.key, 0, tube.key) or joint[:3] == (onto.key, -1, tube.key)
                                            for joint in joints):
                at, _place = nearest(onto.points, tube.points[number])
                joints.append((tube.key, number, onto.key, at))
                marks[onto.key].append(at)
    welded = {key: list(stations) for key, stations in marks.items()}
    for key, point in chassis.seats:
        if key not in tubes:
            raise ValueError(f"{key}: found a mount on it, but no such tube; describe it in the chassis")
        marks[key].append(nearest(tubes[key].points, point)[0])

    nodes: list[Point] = []
    held: list[list[int]] = []
    elements: list[Element] = []
    owners, runs = [], []
    stations: dict[str, tuple[list[float], list[int]]] = {}
    for key, tube in tubes.items():
        chain = [0.0, *accumulate(math.dist(start, end) for start, end in pairwise(tube.points))]
        # Corners come first, so that a mark beside one falls on it.
        wanted = list(chain)
        for mark in sorted(marks[key]):
            if min(abs(mark - other) for other in wanted) > SAME:
                wanted.append(mark)
        wanted = sorted(wanted)
        firm = sorted([0.0, chain[-1], *welded[key]])
        places = [len(nodes) + number for number in range(len(wanted))]
        nodes += [_at(tube.points, chain, station) for station in wanted]
        for number in range(len(wanted)):
            end = tube.held[0] if number == 0 else tube.held[1] if number == len(wanted) - 1 else False
            held.append(_hold(tube.points, number == 0) if end else [FREE] * 6)
        stiffness = _stiffness(tube.section)
        for first, second, start, stop in zip(places, places[1:], wanted, wanted[1:]):
            elements.append(Element(first, second, *stiffness))
            owners.append(key)
            middle = 0.5 * (start + stop)
            runs.append(min(station for station in firm if station > middle) - max(station for station in firm if station < middle))
        stations[key] = wanted, places

    merged: dict[int, int] = {}     # nodes that are another one now

    def node(key: str, station: float) -> int:
        along, places = stations[key]
        return places[min(range(len(along)), key=lambda number: abs(along[number] - station))]

    for key, number, carrier, at in joints:
        own, other = stations[key][1][number], node(carrier, at)
        bar = max(tubes[key].section, tubes[carrier].section, key=lambda bar: bar.bending)
        if math.dist(nodes[own], nodes[other]) > MEET:
            elements.append(Element(own, other, *(LINK * value for value in _stiffness(bar))))
            owners.append("")
            runs.append(0.0)
        else:
            merged = {**{one: other if now == own else now for one, now in merged.items()}, own: other}
            stations[key][1][number] = other
            held[other] = [max(both) for both in zip(held[own], held[other])]
    elements = [replace(item, start=merged.get(item.start, item.start), end=merged.get(item.end, item.end))
                if item.start in merged or item.end in merged else item for item in elements]
    seats = []
    for key, point in chassis.seats:
        place = node(key, nearest(tubes[key].points, point)[0])
        seats.append((place, np.subtract(point, nodes[place])))
    return _kept(nodes, held, elements, owners, runs, seats, chassis.seats, {key: tube.section for key, tube in tubes.items()},
                 [ENDS[name] for name in ends or ENDS])


def _at(points: Sequence[Point], chain: Sequence[float], station: float) -> Point:
    """The place so far along a centerline; chain: distances of its corners along it."""
    last = min(max(bisect(chain, station), 1), len(chain) - 1)
    (x, y, z), end = points[last - 1], points[last]
    length = chain[last] - chain[last - 1]
    share = (station - chain[last - 1]) / length if length else 0.0
    return x + share * (end[0] - x), y + share * (end[1] - y), z + share * (end[2] - z)


def _hold(points: Sequence[Point], first: bool) -> list[int]:
    """What is held at an end: clamped everything, pinned its place and the twist about the axis that the tube runs along most."""
    start, end = points[:2] if first else points[-2:]
    most = max(range(3), key=lambda axis: abs(end[axis] - start[axis]))
    return [ALWAYS] * 3 + [ALWAYS if axis == most else CLAMPED for axis in range(3)]


def _stiffness(bar: Bar) -> tuple[float, float, float]:
    """E A (N), E I and G J (N.mm2)."""
    return bar.modulus * float(bar.section.area), bar.bending, bar.twist


def _kept(nodes: Sequence[Point], held: Sequence[Sequence[int]], elements: Sequence[Element], owners: Sequence[str],
          runs: Sequence[float], seats: Sequence[tuple[int, np.ndarray]], given: Sequence[tuple[str, Point]],
          bars: dict[str, Bar], ends: Sequence[int]) -> Built:
    """Only what hangs together with a held end, numbered again."""
    linked: dict[int, set[int]] = {number: set() for number in range(len(nodes))}
    for item in elements:
        linked[item.start].add(item.end)
        linked[item.end].add(item.start)
    reached: set[int] = set()
    waiting = [place for place, own in enumerate(held) if any(own)]
    while waiting:
        place = waiting.pop()
        if place not in reached:
            reached.add(place)
            waiting += linked[place]
    for (place, _arm), (key, _point) in zip(seats, given):
        if place not in reached:
            raise ValueError(f"{key}: found a mount on it, but it is welded to no tube of the chassis, so what it carries is not known; "
                             "bring its ends to the tubes beside it")
    kept = sorted(reached)
    number = {old: new for new, old in enumerate(kept)}
    chosen = [place for place, item in enumerate(elements) if item.start in reached]
    holds = np.array([held[place] for place in kept])
    frame = SpaceFrame(np.array([nodes[place] for place in kept]),
                       tuple(Element(number[elements[place].start], number[elements[place].end], elements[place].axial,
                                     elements[place].bending, elements[place].twist) for place in chosen),
                       holds > FREE)
    return Built(frame, tuple(owners[place] for place in chosen), tuple(runs[place] for place in chosen),
                 tuple((number[place], arm) for place, arm in seats), bars, np.stack([holds >= condition for condition in ends]))


LABELS = {"rail": "main rail", "upper_rail": "second rail", "upright": "upright", "footwell_tube": "footwell tube",
          "rear_cross_member": "rear cross member", "support_tube": "support tube"}
MEMBER = "cross_member"
"""Key of the transmission cross member, which is screened with the transmission's mount."""


def margins(built: Built, names: Sequence[str], force: np.ndarray, allowables: Allowables = Allowables(), only: str = "") -> list[Item]:
    """One item a tube (or of one alone, by its key): its largest equivalent stress at any node under forces (cases, seats, 3), N, at the
    seats, as many cases of each condition of the ends, one after another: the worse of them counts.

    Push is counted up by what the tube holds as a column between its joints, over yield of its section (Euler and Johnson).
    """
    own = {key: built.of(key) for key in ([only] if only else dict.fromkeys(filter(None, built.owners)))}
    bars = [built.bars[key] for key, elements in own.items() for _element in elements]
    elements = [element for some in own.values() for element in some]
    outer, wall, modulus, strength_, run = np.array([(bar.outer_diameter, bar.wall, bar.modulus, bar.yield_strength, built.runs[element])
                                                     for bar, element in zip(bars, elements)]).T[:, :, None]
    section = tube_section(outer, wall)
    column = column_load(modulus, section.second_moment, section.area, strength_, np.maximum(run, 1.0))
    loads = built.end_loads(force, elements)
    push = np.maximum(1.0, strength_ * section.area / column)
    stress = tube_stress(section, outer, np.where(loads[..., 0] > 0.0, loads[..., 0] * push, loads[..., 0]),
                         np.hypot(loads[..., 4], loads[..., 5]), loads[..., 3])
    items, first = [], 0
    for key, some in own.items():
        mine, bar = stress[:, first:first + len(some)].reshape(len(force), -1), built.bars[key]
        first += len(some)
        case, place = divmod(int(np.argmax(mine)), mine.shape[1])
        element = built.frame.elements[some[place // 2]]
        hardest = built.frame.nodes[element.end if place % 2 else element.start]
        role, _, side = key.partition("/")
        group, name = ("cross_member", "cross member: bending and twist") if key == MEMBER else (
            "chassis_tubes", f"{LABELS.get(role, role)}{f' {side}' if side else ''} in the chassis".replace("_", " "))
        items.append(strength.item(group, (key,), as_point(hardest), name, names[case:case + 1], mine[case, place],
                                   bar.yield_strength / allowables.yield_safety, "MPa", "space frame, yield over safety",
                                   allowables.on_yield))
    return items


def weld_force(built: Built, key: str, force: np.ndarray) -> np.ndarray:
    """Largest force per length (cases,), N/mm, of the welds at both ends of a tube that is joined there, at the centerlines of what it is
    welded to: the careful side. Cases as for `margins`."""
    mine = built.of(key)
    loads = built.end_loads(force, [mine[0], mine[-1]])[:, [0, 1], [0, 1]]
    return tube_weld_force(built.bars[key].outer_diameter, loads[..., 0], np.hypot(loads[..., 1], loads[..., 2]),
                           np.hypot(loads[..., 4], loads[..., 5]), loads[..., 3]).max(axis=-1)
