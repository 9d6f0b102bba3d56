"""The outline of a flat, told so that it can be checked with a tape: its corners by number, from the datum of its holes.

A corner that is rounded is where its two sides would meet, with the radius of the rounding. An arc that rounds no corner is told by its
ends, its center and its radius. A curve of many short arcs, such as the end of a developed panel, is told by points on it.
"""
from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from ..geometry.outline import Flat, Loop, Segment
from .block import Block
from .hole_table import number, split

SMOOTH = math.radians(1.0)
"""Turn below which two segments go on into each other (numerical: what a laser's controller takes as one)."""
MOST_TURN = math.radians(150.0)
"""Turn up to which an arc between two straight sides is a rounded corner: beyond it, where they would meet is too far off to be of use."""
CURVE = 6
"""Segments that go on into each other from which they are one curve; how many of its parts are told."""
WIDTHS = (22.0, 20.0, 20.0, 20.0)
HEAD = ("Corner", "X", "Y", "Radius")


@dataclass(frozen=True)
class Corner:
    """A numbered place of an outline, mm in the flat's own coordinates. x, y: of the corner, before it is rounded; radius: of its rounding,
    0 where it is sharp; at: the point of the outline at which its number stands."""
    name: str
    x: float
    y: float
    radius: float
    at: tuple[float, float]


@dataclass(frozen=True)
class Round:
    """An arc that is a side of its own: between which corners it is, its center and its radius, mm."""
    name: str
    x: float
    y: float
    radius: float


@lru_cache(maxsize=256)
def corners(loop: Loop) -> tuple[tuple[Corner, ...], tuple[Round, ...]]:
    """The corners of a counterclockwise loop, from the one nearest to its lower left on, and the arcs between them."""
    segments = [one for one in loop.segments if one.length > 1e-6]
    count = len(segments)
    meetings = [_meeting(segments[i - 1], one, segments[(i + 1) % count]) for i, one in enumerate(segments)]
    curves = _curves(segments, [bool(one.sweep) and meeting is None for one, meeting in zip(segments, meetings)])
    untold = {place for run in curves for place in run} - {run[round(len(run) * part / CURVE)] for run in curves for part in range(CURVE)}
    found: list[tuple[int, Corner]] = []
    for i, (one, meeting) in enumerate(zip(segments, meetings)):
        if meeting is not None:
            found.append((i, Corner("", *meeting, one.radius, one.at(0.5))))
        elif meetings[i - 1] is None and i not in untold:
            found.append((i, Corner("", one.y0, one.z0, 0.0, (one.y0, one.z0))))
    corner = loop.bounds[:2]
    first = min(range(len(found)), key=lambda k: (round(math.dist((found[k][1].x, found[k][1].y), corner), 3), k), default=0)
    named = [(place, replace(one, name=str(number))) for number, (place, one) in enumerate(found[first:] + found[:first], 1)]
    numbers = {place: one.name for place, one in named}

    def nearest(places: Iterable[int]) -> str:
        return next((numbers[place % count] for place in places if place % count in numbers), "")

    rounds = tuple(Round(f"{nearest(range(i, i - count, -1))} to {nearest(range(i + 1, i + 1 + count))}", one.yc, one.zc, one.radius)
                   for i, (one, meeting) in enumerate(zip(segments, meetings))
                   if one.sweep and meeting is None and not any(i in run for run in curves))
    return tuple(one for _place, one in named), rounds


def _turn(a: Segment, b: Segment) -> float:
    """By how much the outline turns where b follows a, rad."""
    turn = _heading(b, 0.0) - _heading(a, 1.0)
    return math.atan2(math.sin(turn), math.cos(turn))


def _heading(one: Segment, share: float) -> float:
    if not one.sweep:
        return math.atan2(one.z1 - one.z0, one.y1 - one.y0)
    y, z = one.at(share)
    return math.atan2(z - one.zc, y - one.yc) + math.copysign(math.pi / 2.0, one.sweep)


def _meeting(before: Segment, arc: Segment, after: Segment) -> tuple[float, float] | None:
    """Where the straight sides beside a rounding would meet; None of what rounds no corner."""
    if (not arc.sweep or before.sweep or after.sweep or abs(arc.sweep) > MOST_TURN
            or abs(_turn(before, arc)) > SMOOTH or abs(_turn(arc, after)) > SMOOTH):
        return None
    reach, heading = arc.radius * math.tan(abs(arc.sweep) / 2.0), _heading(before, 1.0)
    return arc.y0 + reach * math.cos(heading), arc.z0 + reach * math.sin(heading)


def _curves(segments: Sequence[Segment], free: Sequence[bool]) -> list[list[int]]:
    """Runs of at least ``CURVE`` arcs that go on into each other, by their places in order; free: arcs that round no corner."""
    count = len(segments)
    follows = [free[i] and free[i - 1] and abs(_turn(segments[i - 1], segments[i])) < SMOOTH for i in range(count)]
    found: list[list[int]] = []
    for start in (i for i in range(count) if free[i] and not follows[i]):
        run = [start]
        while follows[(run[-1] + 1) % count]:
            run.append((run[-1] + 1) % count)
        if len(run) >= CURVE:
            found.append(run)
    return found


def box_radius(loop: Loop) -> float | None:
    """Radius of the corners of an outline that overall dimensions and that radius tell whole: an upright rectangle; None of any other."""
    told, rounds = corners(loop)
    x0, y0, x1, y1 = loop.bounds
    if rounds or len(told) != 4 or max(one.radius for one in told) - min(one.radius for one in told) > 1e-4:
        return None
    apart = (min(math.dist((one.x, one.y), (x, y)) for x in (x0, x1) for y in (y0, y1)) for one in told)
    return told[0].radius if max(apart) < 1e-4 else None


def tables(flat: Flat, height: float) -> list[Block]:
    """The corners of a flat's outline, from its datum, in tables no higher than a height in mm; none of an upright rectangle."""
    if box_radius(flat.outer) is not None:
        return []
    low_x, low_y, _x, _y = flat.bounds
    told, rounds = corners(flat.outer)
    shown = [(one.name, number(one.x - low_x), number(one.y - low_y), f"R {number(one.radius)}" if one.radius else "") for one in told]
    shown += [(one.name, number(one.x - low_x), number(one.y - low_y), f"R {number(one.radius)}") for one in rounds]
    return split(WIDTHS, HEAD, shown, height, right=(1, 2, 3))
