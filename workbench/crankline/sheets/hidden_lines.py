"""Which stretches of lines are hidden behind triangles, in parallel projection: numpy only.

Exact in the picture's plane (no raster decides what is hidden): every piece of a line is clipped by every triangle that lies over it
(A. Appel, The notion of quantitative invisibility, ACM National Conference 1967, is the origin of comparing lines with surfaces). A grid
finds the triangles that can lie over a piece.
"""
from __future__ import annotations

from collections.abc import Iterator

import numpy as np

CELLS, EACH = 150_000, 8
"""About how many cells the grid has at most, and for each line: of few lines a fine grid costs more than it saves."""
SEAM = 2e-3
"""Triangles are so much larger on every side, mm: a line that runs along the rim of what is in front of it is hidden whole, and not here
and there as the last digit has it."""
CHUNK = 20_000
"""Pairs of a piece and a triangle that are worked on at once: few enough for the processor's own memory."""
LOOKS = 4, 1_000_000
"""Triangles that a piece is held against first, those nearest to the eye, and then: what one of them hides whole needs no other."""
HAIR = 1e-5
"""How much nearer to the eye than a triangle a piece may be and is still held against it, mm (numerical)."""


def visible(starts: np.ndarray, ends: np.ndarray, triangles: np.ndarray,
            tolerance: np.ndarray | float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The stretches of lines that no triangle hides: number of the line, and its beginning and end as shares of the line's length, in the
    order of the lines and along them.

    starts, ends (n, 3), triangles (m, 3, 3): right, up and toward the eye, mm. tolerance: how far behind the plane of each triangle a
    line is hidden; what lies in a surface is not hidden by it.
    """
    count = len(starts)
    area = _across(triangles)
    shown = np.abs(area) > 1e-9
    front, tolerance = triangles[shown], np.broadcast_to(tolerance, len(triangles))[shown]
    front = np.where((_across(front) < 0.0)[:, None, None], front[:, ::-1], front)
    begins, stops, lines = [np.zeros(0)], [np.zeros(0)], [np.zeros(0, int)]
    if count and len(front):
        for line, begin, stop in _covered(starts, ends, front, tolerance):
            lines.append(line)
            begins.append(begin)
            stops.append(stop)
    line, begin, stop = np.concatenate(lines), np.concatenate(begins), np.concatenate(stops)
    # Sentinels before and after every line: what is between two covered stretches is visible.
    every = np.arange(count)
    line = np.concatenate([every, line, every])
    begin = np.concatenate([np.full(count, -1.0), begin, np.ones(count)])
    stop = np.concatenate([np.zeros(count), stop, np.full(count, 2.0)])
    order = np.lexsort((begin, line))
    line, begin, stop = line[order], begin[order], stop[order]
    reached = np.maximum.accumulate(4.0 * line + stop) - 4.0 * line
    gap = np.flatnonzero((line[1:] == line[:-1]) & (begin[1:] > reached[:-1] + 1e-9))
    return line[gap], reached[gap], begin[gap + 1]


def _across(triangles: np.ndarray) -> np.ndarray:
    """Twice the area of triangles in the picture, positive where they are counterclockwise."""
    a, b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _covered(starts: np.ndarray, ends: np.ndarray, triangles: np.ndarray, tolerance: np.ndarray) -> Iterator[tuple[np.ndarray, ...]]:
    """Stretches that single triangles hide: number of the line, beginning, end."""
    low = np.minimum(starts, ends)[:, :2].min(axis=0)
    size = np.maximum(np.maximum(starts, ends)[:, :2].max(axis=0) - low, 1e-6)
    step = max(float(np.sqrt(size[0] * size[1] / min(CELLS, EACH * len(starts)))), float(size.max()) / 2000.0)
    columns, rows = (np.floor(size / step).astype(int) + 1).tolist()
    # Pieces no longer than a cell, looked for in the cell of their middle.
    parts = np.maximum(np.ceil(np.abs(ends - starts)[:, :2].max(axis=1) / step).astype(int), 1)
    line = np.repeat(np.arange(len(starts)), parts)
    begin = counted(parts) / parts[line]
    length = 1.0 / parts[line]
    way = (ends - starts)[line]
    first = starts[line] + way * begin[:, None]
    last = first + way * length[:, None]
    middle = np.floor(((first + last)[:, :2] / 2.0 - low) / step).astype(int)
    cell = np.clip(middle[:, 1], 0, rows - 1) * columns + np.clip(middle[:, 0], 0, columns - 1)
    place, member = _rastered(triangles, low, step, columns, rows)
    # In each cell the triangle that comes nearest to the eye first; those that end behind a piece need not be looked at.
    bottom = np.minimum(first[:, 2], last[:, 2])
    top = triangles[..., 2].max(axis=1) - tolerance
    nearest = float(top.max()) + 1.0
    span = nearest - min(float(top.min()), float(bottom.min())) + 1.0
    rank = place * span + (nearest - top[member])
    order = np.argsort(rank)
    rank, member = rank[order], member[order]
    from_, to = np.searchsorted(rank, cell * span), np.searchsorted(rank, cell * span + (nearest - bottom + HAIR), "right")
    edges = _edges(triangles, tolerance)
    near, far = np.ascontiguousarray(first.T), np.ascontiguousarray(last.T)
    open_ = np.flatnonzero(to > from_)
    for most in LOOKS:
        pairs = np.minimum(to[open_] - from_[open_], most)
        whole = np.zeros(len(open_), bool)
        ends_at = np.cumsum(pairs)
        start = 0
        while start < len(open_):
            end = max(int(np.searchsorted(ends_at, (ends_at[start - 1] if start else 0) + CHUNK, "right")), start + 1)
            number = np.repeat(np.arange(start, end), pairs[start:end])
            piece = open_.take(number)
            kept, into, out = _behind(edges, near, far, piece, member.take(from_.take(piece) + counted(pairs[start:end])))
            start = end
            number, piece = number.take(kept), piece.take(kept)
            whole[number[(into == 0.0) & (out == 1.0)]] = True
            yield line[piece], begin[piece] + into * length[piece], begin[piece] + out * length[piece]
        from_[open_] += pairs
        open_ = open_[~whole & (to[open_] > from_[open_])]


def _behind(edges: np.ndarray, near: np.ndarray, far: np.ndarray, piece: np.ndarray,
            triangle: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of pairs of a piece and a triangle those in which it hides some of it: their numbers, and from where to where, as shares of the
    piece. edges: of ``_edges``; near, far (3, n): ends of all pieces."""
    kept, into, out = np.arange(len(piece)), np.zeros(len(piece)), np.ones(len(piece))
    for side in range(4):
        right, up, depth, fixed = edges[side]
        right, up, fixed = right.take(triangle), up.take(triangle), fixed.take(triangle)
        a, b = (right * end[0].take(piece) + up * end[1].take(piece) + fixed for end in (near, far))
        if side == 3:       # the plane; the sides are upright
            depth = depth.take(triangle)
            a, b = a + depth * near[2].take(piece), b + depth * far[2].take(piece)
        outside, beyond = a < 0.0, b < 0.0
        some = ~(outside & beyond)
        a, b, outside, beyond = a.compress(some), b.compress(some), outside.compress(some), beyond.compress(some)
        into, out = into.compress(some), out.compress(some)
        with np.errstate(divide="ignore", invalid="ignore"):
            cut = a / (a - b)
        np.maximum(into, cut, out=into, where=outside)
        np.minimum(out, cut, out=out, where=beyond)
        left = out > into
        into, out, some = into.compress(left), out.compress(left), np.flatnonzero(some).compress(left)
        kept, piece, triangle = kept.take(some), piece.take(some), triangle.take(some)
    return kept, into, out


def _edges(triangles: np.ndarray, tolerance: np.ndarray) -> np.ndarray:
    """(4, 4, m): functions of a point (factors of right, up and depth, and a constant) that are not negative where it is within each of the
    three sides, and more than the tolerance behind the plane."""
    found = np.zeros((4, 4, len(triangles)))
    for i in range(3):
        a, b = triangles[:, i], triangles[:, (i + 1) % 3]
        found[i, 0], found[i, 1] = a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]
        found[i, 3] = SEAM * np.hypot(found[i, 0], found[i, 1]) - (found[i, 0] * a[:, 0] + found[i, 1] * a[:, 1])
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    found[3, :3] = -normal.T
    found[3, 3] = np.einsum("ij,ij->i", normal, triangles[:, 0]) - tolerance
    return found


def _rastered(triangles: np.ndarray, low: np.ndarray, step: float, columns: int, rows: int) -> tuple[np.ndarray, np.ndarray]:
    """Cells, and the triangles that come within half a cell of them."""
    x, y = (triangles[..., 0] - low[0]) / step, (triangles[..., 1] - low[1]) / step
    first = np.clip(np.floor(y.min(axis=1) - 0.5), 0, rows).astype(int)
    last = np.clip(np.floor(y.max(axis=1) + 0.5), -1, rows - 1).astype(int)
    count = np.maximum(last - first + 1, 0)
    triangle = np.repeat(np.arange(len(triangles)), count)
    row = first[triangle] + counted(count)
    left, right = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    under, over = row - 0.5, row + 1.5
    corners = [(x[:, i].take(triangle), y[:, i].take(triangle)) for i in range(3)]
    for (xa, ya), (xb, yb) in zip(corners, corners[1:] + corners[:1]):
        rise, across = yb - ya, xb - xa
        flat = rise == 0.0
        rise[flat] = 1.0
        meets = (np.minimum(ya, yb) <= over) & (np.maximum(ya, yb) >= under)
        # The part of the side within the row and half a cell below and above it.
        for level, whole in ((under, 0.0), (over, 1.0)):
            share = np.minimum(np.maximum((level - ya) / rise, 0.0), 1.0)
            share[flat] = whole
            at = xa + share * across
            np.minimum(left, at, out=left, where=meets)
            np.maximum(right, at, out=right, where=meets)
    some = left <= right
    begin = np.clip(np.floor(np.where(some, left, 0.0) - 0.5), 0, columns).astype(int)
    stop = np.clip(np.floor(np.where(some, right, -9.0) + 0.5), -1, columns - 1).astype(int)
    wide = np.maximum(stop - begin + 1, 0)
    part = np.repeat(np.arange(len(row)), wide)
    return row[part] * columns + begin[part] + counted(wide), triangle[part]


def counted(count: np.ndarray) -> np.ndarray:
    """0, 1, ... for each of the counts, one behind the other."""
    ends = np.cumsum(count)
    return np.arange(ends[-1] if len(ends) else 0) - np.repeat(ends - count, count)
