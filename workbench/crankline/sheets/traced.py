"""Chains of points as drawing primitives: straight ones as lines, round ones as arcs and circles, others with as few points as they need.
Numpy only."""
from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from .drawing import Arc, Circle, Line, Polyline, Primitive

THIN = 0.05
"""How far a chain's points may be left beside the line that is drawn, mm in the car."""
ROUND = 0.01
"""How far the points of a round chain may be off its circle, mm in the car: points of a mesh lie on its edges, in single precision."""
SHORTEST = 0.2
"""Lines shorter than this are not drawn, and gaps shorter than this are closed, mm in the car."""


def runs(chain: np.ndarray, stretches: Sequence[tuple[int, float, float]]) -> list[np.ndarray]:
    """Parts of a chain of points (k, 2) as chains. stretches: number of the segment, beginning and end as shares of it, in order."""
    # Numbers one by one: of so few points arrays cost more than what is computed.
    points, found = chain.tolist(), list[list[tuple[float, float]]]()
    for segment, begin, end in stretches:
        (ax, ay), (bx, by) = points[segment], points[segment + 1]
        first, last = (ax + begin * (bx - ax), ay + begin * (by - ay)), (ax + end * (bx - ax), ay + end * (by - ay))
        if found and abs(found[-1][-1][0] - first[0]) < SHORTEST and abs(found[-1][-1][1] - first[1]) < SHORTEST:
            found[-1].append(last)
        else:
            found.append([first, last])
    return [np.array(run) for run in found if sum(math.dist(p, q) for p, q in pairwise(run)) >= SHORTEST]


def straight(ends: Sequence[Sequence[float]], stretch: tuple[int, float, float], kind: str) -> list[Primitive]:
    """What is seen of a chain of two points in one stretch: most are of these."""
    (ax, ay), (bx, by) = ends
    _segment, begin, end = stretch
    first, last = (ax + begin * (bx - ax), ay + begin * (by - ay)), (ax + end * (bx - ax), ay + end * (by - ay))
    return [Line(*first, *last, kind)] if math.dist(first, last) >= SHORTEST else []


def drawn(circle: tuple[float, float, float] | None, parts: Sequence[np.ndarray], kind: str) -> list[Primitive]:
    """Runs of a chain of points (k, 2) as primitives; what the whole chain is decides what its runs are. circle: on which the chain lies
    (``circle_of``)."""
    if circle is None:
        return [item for part in parts for item in _plain(part, kind)]
    x, y, radius = circle
    found: list[Primitive] = []
    for part in parts:
        angles = np.unwrap(np.arctan2(part[:, 1] - y, part[:, 0] - x))
        sweep = float(angles[-1] - angles[0])
        closed = abs(abs(sweep) - math.tau) < 1e-6
        found.append(Circle(x, y, radius, kind) if closed else Arc(x, y, radius, float(angles[0]), sweep, kind))
    return found


def circle_of(chain: np.ndarray) -> tuple[float, float, float] | None:
    """Middle and radius of the circle on which the points (k, 2) of a chain lie; None where there is none."""
    if len(chain) < 5:
        return None
    middle = chain.mean(axis=0)
    x, y = (chain - middle).T
    system = np.column_stack([2.0 * x, 2.0 * y, np.ones(len(x))])
    solution, _rest, rank, _values = np.linalg.lstsq(system, x * x + y * y, rcond=1e-10)
    if rank < 3:
        return None
    radius = math.sqrt(max(float(solution[2] + solution[0] ** 2 + solution[1] ** 2), 0.0))
    off = np.abs(np.hypot(x - solution[0], y - solution[1]) - radius)
    # A chain that is nearly straight is no arc of a circle larger than a car.
    if off.max() > ROUND or radius > 2000.0:
        return None
    return float(middle[0] + solution[0]), float(middle[1] + solution[1]), radius


def _plain(points: np.ndarray, kind: str) -> list[Primitive]:
    if len(points) == 2:
        (x0, y0), (x1, y1) = points.tolist()
        return [Line(x0, y0, x1, y1, kind)]
    kept = thinned(points)
    x, y = points[kept].T.tolist()
    # A curve seen edge on is a straight line, though its points go to and fro on it.
    away = [math.hypot(u - x[0], v - y[0]) for u, v in zip(x, y)]
    far = away.index(max(away))
    ux, uy = (x[far] - x[0]) / max(away[far], 1e-9), (y[far] - y[0]) / max(away[far], 1e-9)
    if max(abs((u - x[0]) * uy - (v - y[0]) * ux) for u, v in zip(x, y)) <= THIN:
        along = [(u - x[0]) * ux + (v - y[0]) * uy for u, v in zip(x, y)]
        first, last = along.index(min(along)), along.index(max(along))
        return [Line(x[first], y[first], x[last], y[last], kind)]
    closed = len(kept) > 3 and math.dist(points[0], points[-1]) < 1e-6
    return [Polyline(tuple(zip(x, y))[:-1 if closed else None], kind, closed)]


def thinned(points: np.ndarray, tolerance: float = THIN) -> list[int]:
    """Numbers of the points of a chain (k, 2) that are needed to stay within the tolerance (Ramer, Douglas and Peucker)."""
    keep, open_spans = {0, len(points) - 1}, [(0, len(points) - 1)]
    xs, ys = points.T.tolist()
    while open_spans:
        first, last = open_spans.pop()
        if last - first < 2:
            continue
        worst, most = _worst(xs, ys, first, last) if last - first < FEW else _worst_of_many(points, first, last)
        if most > tolerance:
            keep.add(worst)
            open_spans += [(first, worst), (worst, last)]
    return sorted(keep)


FEW = 50
"""Points of a span below which they are looked at one by one, which then is quicker than as an array."""


def _worst(xs: list[float], ys: list[float], first: int, last: int) -> tuple[int, float]:
    """Number of the point between two that is farthest from the straight line from one to the other, and how far, mm."""
    x, y = xs[first], ys[first]
    wx, wy = xs[last] - x, ys[last] - y
    square, worst, most = wx * wx + wy * wy, first + 1, -1.0
    for i in range(first + 1, last):
        u, v = xs[i] - x, ys[i] - y
        if square > 1e-18:
            share = min(max((u * wx + v * wy) / square, 0.0), 1.0)
            u, v = u - share * wx, v - share * wy
        away = u * u + v * v
        if away > most:
            worst, most = i, away
    return worst, math.sqrt(most)


def _worst_of_many(points: np.ndarray, first: int, last: int) -> tuple[int, float]:
    way = points[last] - points[first]
    offsets = points[first + 1:last] - points[first]
    square = float(way @ way)
    if square > 1e-18:
        along = np.minimum(np.maximum(offsets @ way / square, 0.0), 1.0)
        offsets = offsets - along[:, None] * way
    far = np.hypot(offsets[:, 0], offsets[:, 1])
    worst = int(far.argmax())
    return first + 1 + worst, float(far[worst])


def hatching(loops: Sequence[np.ndarray], spacing: float, angle: float) -> list[tuple[float, float, float, float]]:
    """Lines (x0, y0, x1, y1) at an angle, so far apart, within closed loops of points (k, 2); a loop in a loop is a hole."""
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    sides = [(loop @ turn.T, np.roll(loop, -1, axis=0) @ turn.T) for loop in loops if len(loop) > 2]
    if not sides:
        return []
    a, b = np.concatenate([one for one, _ in sides]), np.concatenate([two for _, two in sides])
    found = []
    # Levels do not begin at the figure's edge: hatching of neighboring parts in one direction then lines up.
    first, last = math.ceil(a[:, 1].min() / spacing), math.floor(a[:, 1].max() / spacing)
    for number in range(first, last + 1):
        level = number * spacing
        cuts = (a[:, 1] > level) != (b[:, 1] > level)
        one, two = a[cuts], b[cuts]
        xs = np.sort(one[:, 0] + (level - one[:, 1]) / (two[:, 1] - one[:, 1]) * (two[:, 0] - one[:, 0]))
        for x0, x1 in zip(xs[::2], xs[1::2]):
            ends = (x0 * cos - level * sin, x0 * sin + level * cos), (x1 * cos - level * sin, x1 * sin + level * cos)
            found.append((float(ends[0][0]), float(ends[0][1]), float(ends[1][0]), float(ends[1][1])))
    return found


def filled(loops: Sequence[np.ndarray]) -> np.ndarray:
    """Triangles (m, 3, 2) that fill closed loops of points (k, 2); a loop in a loop is a hole. Between the levels of neighboring corners a
    figure is made of trapezoids."""
    sides = [(loop, np.roll(loop, -1, axis=0)) for loop in loops if len(loop) > 2]
    if not sides:
        return np.zeros((0, 3, 2))
    a, b = np.concatenate([one for one, _ in sides]), np.concatenate([two for _, two in sides])
    levels = np.unique(np.round(a[:, 1], 6))
    found = []
    for low, high in pairwise(levels):
        middle = (low + high) / 2.0
        cuts = (a[:, 1] > middle) != (b[:, 1] > middle)
        one, two = a[cuts], b[cuts]
        at = np.stack([one[:, 0] + (level - one[:, 1]) / (two[:, 1] - one[:, 1]) * (two[:, 0] - one[:, 0])
                       for level in (low, middle, high)], axis=1)
        at = at[np.argsort(at[:, 1])]
        for left, right in zip(at[::2], at[1::2]):
            corners = (left[0], low), (right[0], low), (right[2], high), (left[2], high)
            found += [(corners[0], corners[1], corners[2]), (corners[0], corners[2], corners[3])]
    return np.array(found).reshape(-1, 3, 2)
