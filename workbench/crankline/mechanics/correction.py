"""From where a powertrain is to where it should be, as moves that a builder makes: shim, slide, raise; the fewest first.

A powertrain hangs at two or three places: front plate, mid plate, tail. A move lifts or slides it at some of them and turns it about the
others, so it is a small displacement, and moves add up. Sizes of shims and slides are what can be had; what is left afterwards is told.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..units import DEG, INCH
from .pose_fit import OF_POWERTRAIN

SLIDE = INCH / 32.0
"""Step in which things are slid: what a tape reads, mm (common practice, no source)."""
STACK = 3
"""Shims in one stack at most (common practice, no source)."""
LIMIT = np.array([INCH / 16.0, INCH / 16.0, INCH / 16.0, 0.1 * DEG, 0.1 * DEG, 0.1 * DEG])
"""What may stay off, of each freedom of the powertrain: the set-up sheet's tolerances."""


@dataclass(frozen=True)
class Supports:
    """Where a powertrain is held, engine x in mm forward of the block's rear face, None where the car has no such support; half: center
    plane to where the mid plate is held; front_half: to where the front plate is."""
    front: float | None
    mid: float | None
    tail: float | None
    half: float
    front_half: float


@dataclass(frozen=True)
class Kind:
    """A kind of move. by: change of the six freedoms for each mm of it; shimmed: whether shims are put under; ways: what is done for more
    and for less, with {by} for the size and {front} for the size at the front plate; front: that size for each mm."""
    name: str
    by: tuple[float, ...]
    shimmed: bool
    ways: tuple[str, str]
    front: float = 1.0


@dataclass(frozen=True)
class Move:
    """A move and its size, mm, positive the first of its ways."""
    kind: Kind
    size: float

    def words(self, size: str, front: str) -> str:
        """What is done, of sizes in words: of the move, and of the same at the front plate."""
        return (self.kind.ways[0] if self.size > 0.0 else self.kind.ways[1]).format(by=size, front=front)


@dataclass(frozen=True, eq=False)
class Plan:
    """Moves, the six freedoms less the wanted ones before and after them, mm and rad, whether all that is left is within what may stay, and
    how far tail and front plate come up and to the left, mm, for what holds them to follow; None where the car has none."""
    moves: tuple[Move, ...]
    before: np.ndarray
    after: np.ndarray
    enough: bool
    tail: tuple[float, float] | None
    front: tuple[float, float] | None


def kinds(at: Supports) -> tuple[Kind, ...]:
    """The moves that a car allows, the simplest first."""
    front = at.front is not None
    both = "front plate and mid plate" if front and at.mid is not None else "mid plate" if at.mid is not None else "powertrain"
    found = [Kind("forward", (1, 0, 0, 0, 0, 0), False, _pair("slide the powertrain {way} {{by}} at the " + both, "forward", "back")),
             Kind("up", (0, 0, 1, 0, 0, 0), front, _pair("{way} the powertrain {{by}} at the " + both + ", both sides", "raise", "lower")),
             Kind("left", (0, 1, 0, 0, 0, 0), False, _pair("slide the powertrain {{by}} to the {way} at the " + both, "left", "right"))]
    places = {"front plate": at.front, "mid plate": at.mid, "tail": at.tail}
    # Tail and front plate turn about the mid plate alike: where there is a front plate, it is what is set, and the tail's mount follows.
    turned = (("front plate", "mid plate"), ("mid plate", "front plate")) if front else (("tail", "mid plate"), ("mid plate", "tail"))
    for moved, still in turned:
        x, y = places[moved], places[still]
        if x is None or y is None:
            continue
        arm = x - y
        # One up at x and none at y: pitch raises the rear, so that what is ahead of y comes up as pitch grows less.
        found += [Kind(f"{moved} up", (0, 0, -y / arm, 0, -1.0 / arm, 0), moved == "front plate",
                       _pair(HEIGHT[moved][0] + f"; the {still} stays", *HEIGHT[moved][1:])),
                  Kind(f"{moved} left", (0, -y / arm, 0, 0, 0, 1.0 / arm), False,
                       _pair(f"slide the {moved} {{{{by}}}} to the {{way}}; the {still} stays", "left", "right"))]
    feet = " at the mid plate, {{front}} at the front plate" if front else ""
    found.append(Kind("roll", (0, 0, 0, 1.0 / at.half, 0, 0), front,
                      _pair("raise the {way} side {{by}} and lower the other as much" + feet, "left", "right"), at.front_half / at.half))
    return tuple(found)


HEIGHT = {"front plate": ("shim the front plate {way} {{by}}, both sides", "up", "down"),
          "mid plate": ("slide the mid plate {way} {{by}} at both rails", "up", "down"),
          "tail": ("{way} the tail {{by}}", "raise", "lower")}
"""Support to what is done to bring it up or down, and the words for both."""


def _pair(words: str, more: str, less: str) -> tuple[str, str]:
    return words.format(way=more), words.format(way=less)


def stacks(shims: Sequence[float]) -> np.ndarray:
    """Heights that stacks of at most ``STACK`` shims have, mm, ascending, 0 first."""
    heights = {0.0}
    for _ in range(STACK):
        heights |= {round(height + shim, 6) for height in heights for shim in shims}
    return np.array(sorted(heights))


def plan(off: np.ndarray, at: Supports, shims: Sequence[float], unsure: np.ndarray | None = None) -> Plan:
    """The fewest moves that bring the powertrain to where what is left is within tolerance; of as few the smallest. off (6,): what it is
    less what it should be, in the order of ``pose_fit.FREEDOMS``; unsure (6,): 95 % of it, below which nobody can tell that it is off."""
    off = np.asarray(off, dtype=float)[OF_POWERTRAIN]
    limit = LIMIT if unsure is None else np.maximum(LIMIT, np.where(np.isfinite(unsure), unsure, 0.0)[OF_POWERTRAIN])
    heights, able = stacks(shims), kinds(at)
    if np.all(np.abs(off) <= limit):
        return Plan((), off, off, True, _risen(at.tail, np.zeros(6)), _risen(at.front, np.zeros(6)))
    best: tuple[tuple[bool, int, float], tuple[Move, ...], np.ndarray] | None = None
    for number in range(1, 7):
        for some in combinations(able, number):
            moves = _sized(off, limit, some, heights)
            left = off + sum((np.array(one.kind.by) * one.size for one in moves), np.zeros(6))
            enough = bool(np.all(np.abs(left) <= limit * (1.0 + 1e-9)))
            order = (not enough, len(moves), float(np.sum((left / limit) ** 2)) if not enough else sum(abs(one.size) for one in moves))
            if best is None or order < best[0] or (not enough and best[0][0] and order[2] < best[0][2] * 0.99):
                best = order, moves, left
        if best is not None and not best[0][0]:
            break
    assert best is not None
    by = best[2] - off
    return Plan(best[1], off, best[2], not best[0][0], _risen(at.tail, by), _risen(at.front, by))


def _risen(x: float | None, by: np.ndarray) -> tuple[float, float] | None:
    """How far up and to the left a support comes."""
    return None if x is None else (float(by[2] - x * by[4]), float(by[1] + x * by[5]))


def _sized(off: np.ndarray, limit: np.ndarray, some: Sequence[Kind], heights: np.ndarray) -> tuple[Move, ...]:
    """Sizes of some moves that bring what is off nearest to nothing, as shims and slides are had; one after the other, so that each makes
    up for what the one before was rounded by."""
    left: np.ndarray = off / limit
    sizes: list[float] = []
    columns = np.array([kind.by for kind in some]).T / limit[:, None]
    for i, kind in enumerate(some):
        wanted = float(np.linalg.lstsq(columns[:, i:], -left, rcond=None)[0][0])
        size = _nearest(wanted, heights) if kind.shimmed else round(wanted / SLIDE) * SLIDE
        sizes.append(size)
        left = left + columns[:, i] * size
    return tuple(Move(kind, size) for kind, size in zip(some, sizes) if abs(size) > 1e-9)


def _nearest(size: float, heights: np.ndarray) -> float:
    found = float(heights[np.argmin(np.abs(heights - abs(size)))])
    return float(np.copysign(found, size))
