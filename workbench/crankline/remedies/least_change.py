"""The least change of one number that makes a margin pass, counted in whole units of that number. Margins of 0 and more pass.

Each search is a generator: it yields the change that is to be tried and is sent the margin there, so that what tries it may do so slice
by slice. ``least`` is for margins that cost nothing to read, ``edge`` for those of which each takes a shape
to be made, ``parting`` for what only tells whether it passes.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Generator, Sequence
from typing import TypeVar

STEPS = 8
"""Coarse steps tried each way before the edge between open and passed is closed in on, where a try costs nothing."""

TRIES = 6
"""Tries each way where a shape is made again for each."""

LADDER = 5
"""Tries each way, growing by one ratio, where only passing shows."""

Answer = TypeVar("Answer")
Search = Generator[float, float, Answer]
"""Yields a change, is sent the margin there, returns what it found."""


def least(start: float, ways: Sequence[float], reach: float, unit: float) -> Search[float | None]:
    """The smallest change that passes, in whole units, where a try costs nothing; None within reach. start: the margin as it is."""
    best = None
    for sign in ways:
        tried = [(0, start)]
        for i in range(1, STEPS + 1):
            last = tried[-1][0]
            if best is not None and last * unit >= abs(best):
                break
            # Finer near nothing, where the answer usually is.
            step = max(round(reach * (i / STEPS) ** 2 / unit), last + 1)
            tried.append((step, (yield sign * step * unit)))
            if tried[-1][1] < 0.0:
                tried += yield from _peak(sign * unit, tried[-3:], i == STEPS)
            if tried[-1][1] >= 0.0:
                found = sign * unit * (yield from _close_in(sign * unit, *tried[-2], *tried[-1]))
                if best is None or abs(found) < abs(best):
                    best = found
                break
    return best


def _peak(unit: float, tried: Sequence[tuple[int, float]], end: bool) -> Search[list[tuple[int, float]]]:
    """What passes between steps of which none does, with the nearest that fails before it; empty where nothing does. A limit on both
    sides is met only in a window, which a step may jump over: the margin then rises toward the window and falls behind it. end: whether
    no step follows."""
    before, last = tried[-2], tried[-1]
    inner = len(tried) == 3 and tried[0][1] < before[1] > last[1]
    one_sided = len(tried) == 2 and (yield unit) > before[1] and last[1] <= (yield (last[0] - 1) * unit)
    if end and before[1] < last[1] < (yield (last[0] - 1) * unit):
        tried = tried[-2:]
    elif not inner and not one_sided:
        return []
    first, beyond = tried[0], tried[-1][0]
    while beyond - first[0] > 2:
        third = (beyond - first[0]) // 3 or 1
        near, far = first[0] + third, beyond - third
        low, high = (yield near * unit), (yield far * unit)
        for count, here in ((near, low), (far, high)):
            if here >= 0.0:
                return [first, (count, here)]
        if low < high:
            first = near, low
        else:
            beyond = far
    return []


def _close_in(unit: float, first: int, below: float, last: int, above: float) -> Search[int]:
    """The least whole number that passes between one that fails and one that passes: false position and halving in
    turn, because most margins run nearly straight and some do not."""
    guess = True
    while last - first > 1:
        middle = (first + last) // 2
        if guess and math.isfinite(below) and above > below:
            middle = min(max(first + math.ceil((last - first) * -below / (above - below)), first + 1), last - 1)
        here = yield middle * unit
        if here >= 0.0:
            last, above = middle, here
            # A straight margin has its edge right below.
            if last - first > 1:
                under = yield (last - 1) * unit
                if under < 0.0:
                    return last
                last, above = last - 1, under
        else:
            first, below = middle, here
            if last - first > 1 and guess:
                over = yield (first + 1) * unit
                if over >= 0.0:
                    return first + 1
                first, below = first + 1, over
        guess = not guess
    return last


def edge(start: float, likely: float | None, ways: Sequence[float], reach: float, unit: float, steady: bool) -> Search[float | None]:
    """The smallest change that was found to pass, in whole units, with few tries; None where no way leads there.

    start: the margin as it is; likely: the change that it makes likely, None where it tells nothing. Where the margin is steady,
    each step goes as far as the last two margins make likely, and a way on which it falls is left; else the way is tried in
    growing steps. From what passes the way goes back by false position."""
    best = None
    for sign in ways:
        farthest = round((reach if best is None else min(reach, abs(best) - unit)) / unit)
        passed = yield from _away(sign * unit, start, likely, farthest, steady)
        if passed is not None:
            best = sign * unit * (yield from _back(sign * unit, *passed, abs(start) if steady and likely else 0.0))
    return best


def parting(likely: float, ways: Sequence[float], reach: float, unit: float, known: Sequence[float] = ()) -> Search[float | None]:
    """The smallest change that was found to pass where a margin tells no more than whether it does; None where no way leads there.

    likely: a change below which it hardly does; known: changes that were the least elsewhere: one that passes while a little less does
    not is taken. A way that passes neither at its end nor half way is left."""
    for change in known:
        count = round(abs(change) / unit)
        less = math.copysign(unit, change) * (count - max(1, count // 50))
        if (yield change) >= 0.0 and (yield less) < 0.0:
            return change
    best = None
    for sign in ways:
        farthest = round((reach if best is None else min(reach, abs(best) - unit)) / unit)
        first = min(max(1, math.ceil(likely / unit)), farthest)
        if first < 1:
            continue
        ladder = sorted({round(first * (farthest / first) ** (i / (LADDER - 1))) for i in range(LADDER)})
        if (yield sign * unit * ladder[-1]) < 0.0 and (yield sign * unit * ladder[len(ladder) // 2]) < 0.0:
            continue
        last = 0
        for count in ladder:
            if (yield sign * unit * count) >= 0.0:
                best = sign * unit * (yield from _back(sign * unit, last, -math.inf, count, 0.0, 0.0))
                break
            last = count
    return best


def _away(unit: float, now: float, likely: float | None, farthest: int, steady: bool) -> Search[tuple[int, float, int, float] | None]:
    """(last count that fails, its margin, first that passes, its margin); None where none was found."""
    last, below, falls = 0, now, 0
    step = max(1, math.ceil(likely / abs(unit))) if steady and likely else 0
    for i in range(1, TRIES + 1):
        if not (steady and likely):
            step = round(farthest * (i / TRIES) ** 2)
        step = min(step, farthest)
        if step <= last:
            if steady and likely:
                return None
            continue
        here = yield step * unit
        if here >= 0.0:
            return last, below, step, here
        if steady and likely:
            falls += here <= below
            if falls == 2 or not math.isfinite(here):
                return None
            slope = (here - below) / (step - last)
            ahead = math.ceil(-here / slope) + 1 if slope > 0.0 else 3 * step
            last, below, step = step, max(below, here), step + min(max(ahead, 1), 8 * step)
        else:
            last, below = step, here
    return None


def _back(unit: float, last: int, below: float, step: int, here: float, scale: float) -> Search[int]:
    """The least count that passes, as far as a few tries find it. scale: a margin of a fiftieth of it is near enough."""
    for i in range(TRIES):
        if step - last <= max(1, step // 50) or (scale and here <= 0.02 * scale):
            break
        middle = (last + step) // 2
        if math.isfinite(below) and here > below and i % 2 == 0:
            middle = min(max(last + math.ceil((step - last) * -below / (here - below)), last + 1), step - 1)
        there = yield middle * unit
        if there >= 0.0:
            step, here = middle, there
        else:
            last, below = middle, there
    return step


def the_one(change: float, margin: Callable[[float], float]) -> float | None:
    """The only change that is tried, where it clears; None where it does not, or is none."""
    return change if change and margin(change) >= 0.0 else None
