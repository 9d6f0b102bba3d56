"""Trees of boxes over the triangles of two skins: which of them may come near each other, and how near at least. Plain numbers, no host.

The triangles stand in an order in which neighbors are near (along a space-filling curve, G. M. Morton, 1966); eight of them share a box,
eight boxes a larger one. Two trees are gone down together, and what keeps farther apart than asked for is left out at once.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ..mechanics.frames import dot
from . import triangle_distance

FAN, LEVELS = 8, 4
"""Boxes in a larger one, and how many sizes of them there are, the triangles' own included."""

MOST = 300_000
"""Pairs of boxes that are looked at on one level; of more than that it is not worth it, and nothing is proven."""

START, AT_ONCE = 512, 20_000
"""Boxes of a tree that are looked at at once, and pairs of boxes of two trees."""

FEW = 20_000
"""Pairs of triangles whose distances cost less than the host's."""

SOME = 100
"""Corners of each of two skins that are held against each other first."""

FAR = 1.0
"""Limit, mm, that parts side by side are likely to be within: then corners are held against each other first."""

FIRST = 64
"""Pairs of triangles that are looked at first: where surfaces meet, they show it."""

STRIPS = 4
"""Strips that triangles are cut into, where many pairs of them are left."""

BEAM = 48
"""Pairs of boxes that are followed on each level where only a likely place is asked for."""

CHUNK = 4000
"""Pairs of triangles whose distance is taken at once, the most promising first."""


@dataclass(frozen=True, eq=False)
class Tree:
    """Triangles as they stand in a frame. corners: (t, 3, 3); face, (t,), their numbers; slack, (t,): how far the true surface may be off
    each; normals, (t, 3): unit normal of a plane face, off whose plane it is nowhere, else 0. reach: their slack along the axes, (t, 3).
    same, way: what this is a moved copy of, and by how much. The triangles stand in the order of ``order``."""
    corners: np.ndarray
    face: np.ndarray
    slack: np.ndarray
    normals: np.ndarray
    reach: np.ndarray
    same: Tree | None = field(default=None, repr=False)
    way: np.ndarray | None = field(default=None, repr=False)

    def moved(self, way: np.ndarray) -> Tree:
        """The same, moved by so much, (3,)."""
        return replace(self, corners=self.corners + way, same=self, way=way)

    @cached_property
    def boxes(self) -> tuple[np.ndarray, ...]:
        """Boxes of each level, (n, 6), from the few largest to those of the triangles, slack included."""
        if self.same is not None and self.way is not None:
            return tuple(boxes + np.concatenate([self.way, self.way]) for boxes in self.same.boxes)
        first, second, third = self.corners[:, 0], self.corners[:, 1], self.corners[:, 2]
        low, high = np.minimum(np.minimum(first, second), third), np.maximum(np.maximum(first, second), third)
        boxes = [np.concatenate([low - self.reach, high + self.reach], axis=1)]
        for _level in range(LEVELS - 1):
            finer, starts = boxes[0], np.arange(0, len(boxes[0]), FAN)
            boxes.insert(0, np.concatenate([np.minimum.reduceat(finer[:, :3], starts), np.maximum.reduceat(finer[:, 3:], starts)], axis=1))
        return tuple(boxes)

    @cached_property
    def middles(self) -> tuple[tuple[np.ndarray, np.ndarray, np.ndarray], ...]:
        """Middles (n, 3), half sides (n, 3) and half diagonals (n,) of the boxes of eight triangles and of those of each; not numbers where
        these are without end."""
        found = []
        for boxes in self.boxes[-2:]:
            with np.errstate(invalid="ignore"):
                half = 0.5 * (boxes[:, 3:] - boxes[:, :3])
                found.append((0.5 * (boxes[:, 3:] + boxes[:, :3]), half, np.sqrt(dot(half, half))))
        return tuple(found)

    @cached_property
    def box(self) -> np.ndarray:
        """Low and high corner of what holds it all, (6,)."""
        return np.concatenate([self.boxes[0][:, :3].min(axis=0), self.boxes[0][:, 3:].max(axis=0)])


def order(corners: np.ndarray) -> np.ndarray:
    """Numbers of triangles along a space-filling curve."""
    middle = corners.mean(axis=1)
    low, size = middle.min(axis=0), np.ptp(middle, axis=0).max()
    cells = ((middle - low) / (size or 1.0) * 1023.0).astype(np.int64)
    code = np.zeros(len(cells), dtype=np.int64)
    for bit in range(10):
        for axis in range(3):
            code |= ((cells[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable")


def box_gaps(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distances between boxes, (n, m), of boxes (n, 6) and (m, 6) given by low and high corner; 0 where they overlap."""
    gap = np.maximum(np.maximum(a[:, None, :3] - b[None, :, 3:], b[None, :, :3] - a[:, None, 3:]), 0.0)
    return np.sqrt(dot(gap, gap))


def gaps(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distance of each box of a, (n, 6), from the one beside it in b; 0 where they overlap."""
    apart = np.maximum(a[:, :3] - b[:, 3:], b[:, :3] - a[:, 3:])
    np.maximum(apart, 0.0, out=apart)
    return np.sqrt(np.einsum("ni,ni->n", apart, apart))


def _near(a: Tree, b: Tree, limit: float, most: int = MOST) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """Pairs of triangles whose boxes come within a limit, and by how much they keep apart; None where there are too many."""
    (one, i), (other, j) = _begin(a, b.box, limit), _begin(b, a.box, limit)
    while len(i) * len(j) > AT_ONCE and (one or other):
        if one and (len(i) > len(j) or not other):
            one, i = one - 1, np.unique(i // FAN)
        else:
            other, j = other - 1, np.unique(j // FAN)
    if len(i) * len(j) > most:
        return None
    i, j, apart = _pairs(a.boxes[one], i, b.boxes[other], j, limit)
    while one < LEVELS - 1 or other < LEVELS - 1:
        # The larger boxes are gone down into first.
        if one <= other:
            one += 1
            j, i = _children(j, i, len(a.boxes[one]))
        else:
            other += 1
            i, j = _children(i, j, len(b.boxes[other]))
        if len(i) > most:
            return None
        apart = gaps(a.boxes[one][i], b.boxes[other][j])
        keep = apart <= limit
        i, j, apart = i[keep], j[keep], apart[keep]
    return i, j, apart


def _begin(tree: Tree, box: np.ndarray, limit: float) -> tuple[int, np.ndarray]:
    """The smallest boxes of a tree of which there are few, as a level, and the numbers of those that come within a limit of a box (6,)."""
    level = next((level for level in range(LEVELS - 1, 0, -1) if len(tree.boxes[level]) <= START), 0)
    boxes = tree.boxes[level]
    return level, np.flatnonzero(np.maximum(boxes[:, :3] - box[3:], box[:3] - boxes[:, 3:]).max(axis=1) <= limit)


def _pairs(a: np.ndarray, i: np.ndarray, b: np.ndarray, j: np.ndarray, limit: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of boxes of the numbers i in a and j in b the pairs that come within a limit, and by how much they keep apart."""
    low, high, low_b, high_b = a[i, :3].T[:, :, None], a[i, 3:].T[:, :, None], b[j, :3].T[:, None], b[j, 3:].T[:, None]
    apart = np.maximum(np.maximum(low - high_b, low_b - high), 0.0)
    apart = np.sqrt(apart[0] * apart[0] + apart[1] * apart[1] + apart[2] * apart[2])
    one, other = np.nonzero(apart <= limit)
    return i[one], j[other], apart[one, other]


def _children(i: np.ndarray, j: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Pairs with each of the second's boxes of the next smaller size, of which there are so many."""
    smaller = (j[:, None] * FAN + np.arange(FAN)).ravel()
    there = smaller < count
    return np.repeat(i, FAN)[there], smaller[there]


def within(boxes: np.ndarray, levels: int, count: int) -> np.ndarray:
    """Numbers of the triangles, of which there are so many, in boxes so many levels above them, whose numbers are given in their order."""
    each = FAN ** levels
    found = (boxes[:, None] * each + np.arange(each)).ravel()
    return found[:np.searchsorted(found, count)]


def _planes(a: Tree, i: np.ndarray, b: Tree, j: np.ndarray) -> np.ndarray:
    """What the planes of plane faces keep from the other triangle of a pair, (n,)."""
    normals = a.normals[i]
    heights = np.einsum("nij,nj->ni", b.corners[j] - a.corners[i, None, 0], normals)
    wide = b.slack[j] * np.sqrt(np.maximum(1.0 - np.einsum("nj,nj->n", normals, b.normals[j]) ** 2, 0.0))
    first, second, third = heights.T
    low, high = np.minimum(np.minimum(first, second), third), np.maximum(np.maximum(first, second), third)
    return np.where(np.einsum("nj,nj->n", normals, normals) > 0.5, np.maximum(np.maximum(low, -high), 0.0) - wide, -np.inf)


def _finer(a: Tree, i: np.ndarray, b: Tree, j: np.ndarray) -> np.ndarray:
    """What boxes of strips of two triangles keep from each other, (n,): those of long triangles that lie askew hold little else."""
    (one, i), (other, j) = (np.unique(numbers, return_inverse=True) for numbers in (i, j))
    (low, high), (low_b, high_b) = _strips(a, one), _strips(b, other)
    squares = np.zeros((len(i), STRIPS, STRIPS))
    for axis in range(3):
        apart = np.maximum(low[i, :, None, axis] - high_b[j, None, :, axis], low_b[j, None, :, axis] - high[i, :, None, axis])
        np.maximum(apart, 0.0, out=apart)
        apart *= apart
        squares += apart
    return np.asarray(np.sqrt(squares.min(axis=(1, 2))))


def _strips(tree: Tree, numbers: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Low and high corners of the boxes of strips that triangles are cut into along their shortest sides, slack included, each
    (n, STRIPS, 3)."""
    corners, reach = tree.corners[numbers], tree.reach[numbers][:, None]
    side = corners[:, triangle_distance.NEXT] - corners
    tip = (np.einsum("nij,nij->ni", side, side).argmin(axis=1) + 2) % 3
    rows = np.arange(len(numbers))
    top = corners[rows, tip][:, None]
    at = np.linspace(0.0, 1.0, STRIPS + 1)[:, None]
    first, second = (top + at * (corners[rows, (tip + step) % 3][:, None] - top) for step in (1, 2))
    low, high = np.minimum(first, second), np.maximum(first, second)
    return np.minimum(low[:, :-1], low[:, 1:]) - reach, np.maximum(high[:, :-1], high[:, 1:]) + reach


def _apart(a: Tree, i: np.ndarray, b: Tree, j: np.ndarray) -> np.ndarray:
    """Lower bounds of the distances of pairs of triangles' surfaces, (n,)."""
    found = triangle_distance.distances(a.corners[i], b.corners[j]) - a.slack[i] - b.slack[j]
    return np.maximum(found, np.maximum(_planes(a, i, b, j), _planes(b, j, a, i)))


def keep_apart(a: Tree, b: Tree, limit: float) -> bool:
    """Whether two surfaces are proven to keep farther apart than a limit, mm, which is no less than 0."""
    if limit > FAR and _some_corners(a, b) <= limit:
        return False
    found = _near(a, b, limit)
    if found is None:
        return False
    i, j, apart = found
    if not len(i):
        return True
    # The planes cost little and settle most.
    open_ = np.maximum(_planes(a, i, b, j), _planes(b, j, a, i)) <= limit
    i, j, apart = i[open_], j[open_], apart[open_]
    order_ = np.argsort(apart, kind="stable")
    i, j = i[order_], j[order_]
    if (_apart(a, i[:FIRST], b, j[:FIRST]) <= limit).any():
        return False
    if len(i) <= FIRST:
        return True
    near = FIRST + np.flatnonzero(_finer(a, i[FIRST:], b, j[FIRST:]) <= limit)
    i, j = i[near], j[near]
    return not any((_apart(a, i[first:first + CHUNK], b, j[first:first + CHUNK]) <= limit).any() for first in range(0, len(i), CHUNK))


def least_distance(a: Tree, b: Tree) -> float:
    """A lower bound of the distance of two surfaces, mm: by no more than what both may be off their triangles less than it; 0 where there
    are too many of these."""
    i, j = _likely(a, b)
    reach = a.corners[i][:, :, None] - b.corners[j][:, None]
    found = _near(a, b, math.sqrt(float(np.einsum("nijk,nijk->nij", reach, reach).min())), FEW)
    if found is None:
        return 0.0
    i, j, apart = found
    order_ = np.argsort(apart, kind="stable")
    i, j, apart, least, size, first = i[order_], j[order_], apart[order_], np.inf, FIRST, 0
    while first < len(i) and apart[first] < least:
        one, other = i[first:first + size], j[first:first + size]
        least = min(least, float(np.maximum(_apart(a, one, b, other), apart[first:first + size]).min()))
        first, size = first + size, 4 * size
    return least if math.isfinite(least) else 0.0


def likely_faces(a: Tree, b: Tree) -> tuple[int, int]:
    """Two faces that may well be the nearest."""
    i, j = _likely(a, b)
    best = int(_apart(a, i, b, j).argmin())
    return int(a.face[i[best]]), int(b.face[j[best]])


def _likely(a: Tree, b: Tree) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of triangles of which one may well be the nearest: of the boxes that stand nearest to each other those within are looked at,
    and so on down."""
    i, j = (grid.ravel() for grid in np.indices((len(a.boxes[0]), len(b.boxes[0]))))
    for level in range(LEVELS):
        if level:
            j, i = _children(j, i, len(a.boxes[level]))
            i, j = _children(i, j, len(b.boxes[level]))
        apart = gaps(a.boxes[level][i], b.boxes[level][j])
        if len(apart) > BEAM:
            nearest = np.argpartition(apart, BEAM)[:BEAM]
            i, j = i[nearest], j[nearest]
    return i, j


def face_gaps(a: Tree, b: Tree, bound: float, pairs: tuple[np.ndarray, np.ndarray] | None = None) -> tuple[np.ndarray, float] | None:
    """Lower bounds of the distances of every two faces, (faces of a, faces of b), inf where they keep farther apart than the surfaces do,
    and what the distance of the surfaces does not exceed, mm. bound: the same as far as it is known; pairs: triangles of a and of b of
    which no others come within it, where that is known. None where there are too many."""
    if pairs is None:
        found = _near(a, b, bound)
    else:
        apart = gaps(a.boxes[-1][pairs[0]], b.boxes[-1][pairs[1]])
        found = pairs[0][apart <= bound], pairs[1][apart <= bound], apart[apart <= bound]
    if found is None or len(found[0]) > FEW:
        return None
    i, j, apart = found
    least = np.full((int(a.face.max()) + 1, int(b.face.max()) + 1), np.inf)
    order_ = np.argsort(apart, kind="stable")
    i, j, apart = i[order_], j[order_], apart[order_]
    reach = a.corners[i[:CHUNK], :, None] - b.corners[j[:CHUNK], None]
    bound = min(bound, float(np.sqrt((reach * reach).sum(axis=-1).min(initial=np.inf))))
    near = apart <= bound
    i, j = i[near], j[near]
    near = _finer(a, i, b, j) <= bound
    i, j = i[near], j[near]
    for first in range(0, len(i), CHUNK):
        one, other = i[first:first + CHUNK], j[first:first + CHUNK]
        np.minimum.at(least, (a.face[one], b.face[other]), np.maximum(_apart(a, one, b, other), 0.0))
    return least, bound


def near_faces(a: Tree, b: Tree, limit: float) -> np.ndarray | None:
    """Which two faces may come within a limit, mm: (faces of a, faces of b), those with triangles; None where there are too many."""
    found = _near(a, b, limit)
    if found is None or len(found[0]) > FEW:
        return None
    near = np.zeros((int(a.face.max()) + 1, int(b.face.max()) + 1), dtype=bool)
    i, j, _apart_ = found
    for first in range(0, len(i), CHUNK):
        one, other = i[first:first + CHUNK], j[first:first + CHUNK]
        close = _apart(a, one, b, other) <= limit
        near[a.face[one[close]], b.face[other[close]]] = True
    return near


def _some_corners(a: Tree, b: Tree) -> float:
    """Least distance of some of the corners, which lie on the surfaces."""
    one, other = (tree_.corners[::max(len(tree_.corners) // SOME, 1), 0] for tree_ in (a, b))
    reach = one[:, None] - other[None]
    return float(np.sqrt(np.einsum("nmi,nmi->nm", reach, reach).min()))


def least_gap(a: np.ndarray, b: np.ndarray) -> float:
    """What two boxes (6,) keep from each other along one of the axes, mm; negative where they overlap along all."""
    return float(np.maximum(a[:3] - b[3:], b[:3] - a[3:]).max())
