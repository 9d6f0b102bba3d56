"""A space frame of straight round tubes: direct stiffness method, two nodes of six degrees of freedom each; mm, N, MPa, N.mm, rad.

Linear, small movements, Euler-Bernoulli bending (no shear flexibility), no load between nodes: the 12 x 12 element of any book on matrix
structural analysis. A round tube bends alike about every axis, so only the direction of an element matters.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from .frames import cross

FREE = 1e-10
"""A frame whose stiffness, scaled to ones on its diagonal, has a smaller pivot than this can move without being bent."""

TOGETHER = 12
"""So few nodes are solved as a whole: taking out more of them one after another takes longer."""


@dataclass(frozen=True)
class Element:
    """A piece of a tube from one node to another (places in the frame's list): E A (N), E I and G J (N.mm2)."""
    start: int
    end: int
    axial: float
    bending: float
    twist: float


@dataclass(frozen=True, eq=False)
class SpaceFrame:
    """Nodes (n, 3) in mm, elements, and what is held: (n, 6) bools for movement along X, Y, Z and turning about them."""
    nodes: np.ndarray
    elements: tuple[Element, ...]
    held: np.ndarray

    @property
    def size(self) -> int:
        """Degrees of freedom, held ones included."""
        return 6 * len(self.nodes)


def local_stiffness(axial: ArrayLike, bending: ArrayLike, twist: ArrayLike, length: ArrayLike) -> np.ndarray:
    """(n, 12, 12) of n elements in their own axes: x along the element; each end has three movements and three turns.

    axial: E A, N; bending: E I, twist: G J, N.mm2; length: mm; all (n,).
    """
    length = np.asarray(length, dtype=float)
    a, g, b = np.asarray(axial) / length, np.asarray(twist) / length, np.asarray(bending) / length**3
    found = np.zeros((len(length), 12, 12))

    def put(i: int, j: int, value: np.ndarray) -> None:
        found[:, i, j] = found[:, j, i] = value
    for first, second, value in ((0, 6, a), (3, 9, g)):
        put(first, first, value)
        put(second, second, value)
        put(first, second, -value)
    # Bending in x-y (movement 1, turn 5) and in x-z (movement 2, turn 4), where a turn about y lowers z.
    for move, turn, sign in ((1, 5, 1.0), (2, 4, -1.0)):
        put(move, move, 12.0 * b)
        put(move + 6, move + 6, 12.0 * b)
        put(move, move + 6, -12.0 * b)
        put(turn, turn, 4.0 * b * length**2)
        put(turn + 6, turn + 6, 4.0 * b * length**2)
        put(turn, turn + 6, 2.0 * b * length**2)
        for at, own in ((move, 1.0), (move + 6, -1.0)):
            for turned_ in (turn, turn + 6):
                put(at, turned_, own * sign * 6.0 * b * length)
    return found


def axes_of(start: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rotations (n, 3, 3), whose rows are the axes of the elements, and lengths (n,), mm; ValueError for one without length."""
    span = end - start
    length = np.linalg.norm(span, axis=-1)
    if not np.all(length > 1e-6):
        raise ValueError("frame: found a tube without length; give it two different ends")
    along = span / length[:, None]
    aside = cross(np.where(np.abs(along[:, 2:]) < 0.9, [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]), along)
    aside = aside / np.linalg.norm(aside, axis=-1, keepdims=True)
    return np.stack([along, aside, cross(along, aside)], axis=1), length


@lru_cache(maxsize=8)
def _of(frame: SpaceFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Local stiffnesses, rotations (n, 12, 12) into local axes, and degrees of freedom (n, 12) of the elements."""
    ends = np.array([(element.start, element.end) for element in frame.elements])
    rows, length = axes_of(frame.nodes[ends[:, 0]], frame.nodes[ends[:, 1]])
    axial, bending, twist = np.array([(item.axial, item.bending, item.twist) for item in frame.elements]).T
    own = local_stiffness(axial, bending, twist, length)
    rotation = np.zeros_like(own)
    for block in range(0, 12, 3):
        rotation[:, block:block + 3, block:block + 3] = rows
    return own, rotation, (6 * ends[:, :, None] + np.arange(6)).reshape(-1, 12)


def stiffness(frame: SpaceFrame) -> np.ndarray:
    """(6 n, 6 n) of the whole frame, nothing held."""
    own, rotation, places = _of(frame)
    whole = np.zeros((frame.size, frame.size))
    np.add.at(whole, (places[:, :, None], places[:, None, :]), rotation.swapaxes(1, 2) @ own @ rotation)
    return whole


def displacements(frame: SpaceFrame, loads: ArrayLike, held: ArrayLike | None = None) -> np.ndarray:
    """Movements and turns (..., n, 6) under forces and moments (..., n, 6) on the nodes. held: (k, n, 6) instead of what the frame holds,
    several ways of holding it; movements are then (k, ..., n, 6).

    Nodes between two others are taken out first, many at once; what is left where tubes meet is solved as a whole. ValueError where the
    frame can move without being bent, or a node hangs on nothing.
    """
    loads = np.asarray(loads, dtype=float)
    held_ = np.asarray(frame.held if held is None else held, dtype=bool).reshape(-1, frame.size)
    whole = stiffness(frame)
    stiff = np.where(held_, 1.0, np.diag(whole))
    if not np.all(stiff > 0.0):
        raise ValueError("frame: found a node that hangs on nothing; join every tube to another one or hold its end")
    scale = np.where(held_, 0.0, 1.0 / np.sqrt(stiff))
    # Six places more than there are: where a node has one neighbor only, its second one is this, which nothing hangs on.
    matrix, right = np.zeros((len(held_), frame.size + 6, frame.size + 6)), np.zeros((len(held_), frame.size + 6, loads.size // frame.size))
    np.multiply(whole * scale[:, :, None], scale[:, None, :], out=matrix[:, :-6, :-6])
    # What is held stays, whatever is asked of it.
    way, place = np.nonzero(held_)
    matrix[way, place, place] = 1.0
    np.multiply(scale[:, :, None], loads.reshape(-1, frame.size).T, out=right[:, :-6])
    rounds, rest = _order(tuple((element.start, element.end) for element in frame.elements), len(frame.nodes))
    gone = []
    for own, near in rounds:
        block, across = matrix[:, own[:, :, None], own[:, None, :]], matrix[:, own[:, :, None], near[:, None, :]]
        gain = _solved(block, np.concatenate([across, right[:, own]], axis=3))
        back = across.swapaxes(2, 3) @ gain
        matrix[:, near[:, :, None], near[:, None, :]] -= back[..., :12]
        right[:, near] -= back[..., 12:]
        gone.append((own, near, gain))
    found = np.zeros_like(right)
    found[:, rest] = _solved(matrix[:, rest[:, None], rest], right[:, rest])
    for own, near, gain in reversed(gone):
        found[:, own] = gain[..., 12:] - gain[..., :12] @ found[:, near]
    moved = (found[:, :-6] * scale[:, :, None]).swapaxes(1, 2)
    return moved.reshape(loads.shape if held is None else (len(held_), *loads.shape))


@lru_cache(maxsize=16)
def _order(links: tuple[tuple[int, int], ...], count: int) -> tuple[tuple[tuple[np.ndarray, np.ndarray], ...], np.ndarray]:
    """Degrees of freedom (m, 6) of nodes that are taken out together, and (m, 12) of the two that each of them hangs on then, round after
    round; and of the nodes that are left. No two of a round have a neighbor in common."""
    linked: dict[int, set[int]] = {place: set() for place in range(count)}
    for start, end in links:
        linked[start].add(end)
        linked[end].add(start)
    rounds = []
    while len(linked) > TOGETHER:
        near: dict[int, tuple[int, ...]] = {}
        touched: set[int] = set()
        for place, around in linked.items():
            if len(around) <= 2 and touched.isdisjoint({place, *around}):
                near[place] = (*sorted(around), count, count)[:2]
                touched |= {place, *around}
        if not near:
            break
        for place in near:
            around = linked.pop(place)
            for other in around:
                linked[other] = (linked[other] | around) - {place, other}
        rounds.append((_freedoms(list(near)), _freedoms(list(near.values())).reshape(-1, 12)))
    return tuple(rounds), _freedoms(list(linked)).reshape(-1)


def _freedoms(places: Sequence[int] | Sequence[Sequence[int]]) -> np.ndarray:
    """Degrees of freedom (..., 6) of nodes."""
    return 6 * np.array(places, dtype=int)[..., None] + np.arange(6)


def _solved(blocks: np.ndarray, right: np.ndarray) -> np.ndarray:
    """What solves (..., m, m) for each column of (..., m, r); ValueError where what holds these nodes, those beside them free to follow,
    does not hold them against every movement."""
    try:
        firm = np.linalg.cholesky(blocks).diagonal(axis1=-2, axis2=-1).min() ** 2 > FREE
    except np.linalg.LinAlgError:
        firm = False
    if not firm:
        raise ValueError("frame: found tubes that can move without being bent; join every tube to another one or hold its end")
    return np.linalg.solve(blocks, right)


def end_forces(frame: SpaceFrame, moved: ArrayLike) -> np.ndarray:
    """Forces and moments (..., elements, 2, 6) on both ends of each element in its own axes, x along it; displacements (..., n, 6)."""
    moved = np.asarray(moved, dtype=float)
    own, rotation, places = _of(frame)
    ends = moved.reshape(-1, frame.size)[:, places]
    found = ends.swapaxes(0, 1) @ (own @ rotation).swapaxes(1, 2)
    return found.swapaxes(0, 1).reshape(*moved.shape[:-2], len(frame.elements), 2, 6)
