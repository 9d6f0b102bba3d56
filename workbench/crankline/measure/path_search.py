"""Looks for a way out of a tight place: a body that may be shifted in side view and tipped about the transverse axis. numpy only.

Bodies and obstacles are points on their surfaces, obstacles thickened by a margin in a grid of cells. What is found is a proposal,
coarse and with room to spare: whether it is a way, the exact sweep says (``measure.swept_path``). Of all ways on the grid it takes one
whose greatest tip is smallest, and of these the shortest.
"""
from __future__ import annotations

import heapq
import math
from collections import Counter
from collections.abc import Generator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from ..progress import Progress
from ..units import INCH

CELL = 4.0
"""mm, edge of a cell."""

MARGIN = 8.0
"""mm by which obstacles are thickened along each axis: more than half of what the body's points stand apart."""

SPACING = 12.0
"""mm that points on the body stand apart at most."""

SHIFT, TIP = 12.7, math.radians(3.0)
"""Steps of the search, mm and rad."""

BACK, FORWARD, UP, DOWN = 16.0 * INCH, 12.0 * INCH, 6.0 * INCH, 40.0 * INCH
"""How far from where it begins a way is looked for, mm."""

AROUND = np.array([1.5 * BACK, 6.0 * MARGIN, DOWN])
"""Obstacles farther than this from where a body begins are not met (along, across, up), mm."""

STATES = 60_000
"""States after which the search is given up."""


@dataclass(frozen=True)
class Pose:
    """Shift of the body's middle along the car and up, mm, and tip about the transverse axis through it, nose down positive, rad."""
    x: float = 0.0
    z: float = 0.0
    tip: float = 0.0


@dataclass(frozen=True)
class Found:
    """poses: corners of the way from where it begins, after the last of which it goes straight down; empty where none was found.
    stopped: obstacles that ended the search, those that stood in the way most often first."""
    poses: tuple[Pose, ...]
    stopped: tuple[str, ...] = ()


def thinned(points: np.ndarray, spacing: float = SPACING) -> np.ndarray:
    """Points (n, 3) of which those in one cell of the spacing's size are one."""
    cells = np.round(points / spacing).astype(np.int64)
    low = cells.min(axis=0)
    size = cells.max(axis=0) - low + 1
    _numbers, first = np.unique(np.ravel_multi_index(tuple((cells - low).T), tuple(size)), return_index=True)
    return cells[first] * spacing


class _Room:
    """Cells around a body in which obstacles stand, by number; 0 is free."""

    def __init__(self, obstacles: Sequence[tuple[str, np.ndarray]], low: np.ndarray, high: np.ndarray):
        self.low = low
        self.shape = np.ceil((high - low) / CELL).astype(int) + 1
        cells = np.zeros(self.shape, dtype=np.int16)
        for number, (_name, points) in enumerate(obstacles, 1):
            at = np.rint((points - low) / CELL).astype(int)
            cells[tuple(at[((at >= 0) & (at < self.shape)).all(axis=1)].T)] = number
        self.cells = cells

    def thickened(self) -> Generator[Progress, None, None]:
        """Slice by slice, every occupied cell spread over a cube, one axis after the other."""
        reach = math.ceil(MARGIN / CELL)
        for axis in range(3):
            progress = Progress("room for a way down and out", axis / 3.0)
            yield progress
            source, result = self.cells, self.cells.copy()
            for step in range(1, reach + 1):
                yield progress
                ahead, behind = [slice(None)] * 3, [slice(None)] * 3
                ahead[axis], behind[axis] = slice(step, None), slice(None, -step)
                np.maximum(result[tuple(ahead)], source[tuple(behind)], out=result[tuple(ahead)])
                np.maximum(result[tuple(behind)], source[tuple(ahead)], out=result[tuple(behind)])
            self.cells = result

    def hit(self, points: np.ndarray) -> int:
        """Number of an obstacle that any of the points (n, 3) is in, 0 where none is. What lies outside the cells is free."""
        at = np.rint((points - self.low) / CELL).astype(np.int64)
        at = at[((at >= 0) & (at < self.shape)).all(axis=1)]
        return int(self.cells[at[:, 0], at[:, 1], at[:, 2]].max(initial=0))


SLICE = 5
"""Places that are looked at in one slice of work."""

_State = tuple[int, int, int]
"""Steps forward, up and of tip."""


class _Search:
    def __init__(self, body: np.ndarray, middle: np.ndarray, obstacles, limit: float):
        self.local, self.middle = body - middle, middle
        size = np.linalg.norm(self.local[:, [0, 2]], axis=1).max()
        wide = np.abs(self.local[:, 1]).max() + 2.0 * MARGIN
        self.room = _Room(obstacles, middle - [size + BACK, wide, size + DOWN], middle + [size + FORWARD, wide, size + UP])
        self.obstacles, self.tips = obstacles, int(limit / TIP + 1e-9)
        self.turned: dict[float, np.ndarray] = {}
        self.known: dict[tuple, int] = {}
        self.stopped: Counter = Counter()

    def body(self, tip: float) -> np.ndarray:
        """The body's points about its middle, tipped."""
        if tip not in self.turned:
            c, s = math.cos(tip), math.sin(tip)
            turned = self.local @ np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]]).T
            self.turned[tip] = turned + self.middle
        return self.turned[tip]

    def hit(self, state: tuple[float, float, float]) -> int:
        """The same as `_Room.hit`, for a state in steps."""
        if state not in self.known:
            i, j, k = state
            self.known[state] = self.room.hit(self.body(k * TIP) + [i * SHIFT, 0.0, j * SHIFT])
        return self.known[state]

    def between(self, a, b) -> int:
        """What stands in the way from one state to another, in steps of half a step, 0 where nothing does."""
        count = int(2 * max(abs(q - p) for p, q in zip(a, b)))
        for step in range(1, count):
            share = step / count
            state = tuple(round(2 * (p + share * (q - p))) / 2 for p, q in zip(a, b))
            found = self.hit(state)
            if found:
                return found
        return 0

    def falls(self, state, out: float) -> bool:
        """Whether the body can go straight down from a state until all of it is below a height."""
        i, j, k = state
        top = self.body(k * TIP)[:, 2].max() + j * SHIFT
        steps = max(0, math.ceil((top - out) / SHIFT))
        return all(not self.hit((i, j - step, k)) for step in range(1, steps + 1))

    def run(self, out: float) -> Generator[Progress, None, list[_State]]:
        begin = (0, 0, 0)
        previous: dict[_State, _State | None] = {begin: None}
        length: dict[_State, tuple[int, float]] = {begin: (0, 0.0)}
        queue: list[tuple[int, float, _State]] = [(0, 0.0, begin)]
        done: set[_State] = set()
        reach = (-int(BACK / SHIFT), int(FORWARD / SHIFT)), (-int(DOWN / SHIFT), int(UP / SHIFT)), (0, self.tips)
        while queue and len(done) < STATES:
            tip, cost, state = heapq.heappop(queue)
            if state in done:
                continue
            done.add(state)
            if len(done) % SLICE == 0:
                yield Progress(f"a way down and out, {len(done)} places looked at", len(done) / STATES)
            if self.falls(state, out):
                way = [state]
                while (before := previous[way[-1]]) is not None:
                    way.append(before)
                return way[::-1]
            for move in product((-1, 0, 1), repeat=3):
                to = (state[0] + move[0], state[1] + move[1], state[2] + move[2])
                if to in done or any(not low <= value <= high for value, (low, high) in zip(to, reach)):
                    continue
                key = max(tip, to[2]), cost + math.sqrt(sum(value * value for value in move))
                if to in length and length[to] <= key:
                    continue
                found = self.hit(to) or self.between(state, to)
                if found:
                    self.stopped[found] += 1
                    continue
                length[to], previous[to] = key, state
                heapq.heappush(queue, (key[0], key[1], to))
        return []

    def straightened(self, way: list[tuple]) -> list[tuple]:
        """The same way with as few corners as it can do with."""
        corners = [way[0]]
        while corners[-1] != way[-1]:
            start = way.index(corners[-1])
            # From where it stands it may be close to things at first, so the first move is as it was found.
            corners.append(next(way[end] for end in range(len(way) - 1, start, -1)
                                if end == start + 1 or (start > 0 and not self.between(corners[-1], way[end]))))
        return corners


def plan(body: np.ndarray, obstacles: Sequence[tuple[str, np.ndarray]], out: float, limit: float,
                ) -> Generator[Progress, None, Found]:
    """Slice by slice, a way for a body down and out from between obstacles.

    body: points (n, 3) on its surface, car frame, mm, as it stands at first; obstacles: name and points (m, 3) of each; out: height
    below which all of it must come; limit: greatest tip, rad. The poses count from the body's middle (of its box).
    """
    body = thinned(np.asarray(body, dtype=float))
    search = _Search(body, middle_of(body), obstacles, limit)
    yield from search.room.thickened()
    way = yield from search.run(out)
    if not way:
        return Found((), tuple(obstacles[number - 1][0] for number, _times in search.stopped.most_common()))
    return Found(tuple(Pose(i * SHIFT, j * SHIFT, k * TIP) for i, j, k in search.straightened(way)))


def middle_of(points: np.ndarray) -> np.ndarray:
    """Middle of the box of points (n, 3), to the nearest mm."""
    return np.round(0.5 * (points.min(axis=0) + points.max(axis=0)))
