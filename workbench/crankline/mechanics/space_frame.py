"""A space frame of straight round tubes: direct stiffness method, two nodes of six degrees of freedom each; mm, N, MPa, N.mm, rad.

Linear, small movements, Euler-Bernoulli bending (no shear flexibility), no load between nodes: the 12 x 12 element of any book on matrix
structural analysis. A round tube bends alike about every axis, so only the direction of an element matters.
"""
from __future__ import annotations

from collections.abc import Iterable
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
    """Local stiffnesses, rotations (n, 12, 12) into local axes, and end nodes (n, 2) of the elements."""
    ends = np.array([(element.start, element.end) for element in frame.elements])
    rows, length = axes_of(frame.nodes[ends[:, 0]], frame.nodes[ends[:, 1]])
    axial, bending, twist = np.array([(item.axial, item.bending, item.twist) for item in frame.elements]).T
    own = local_stiffness(axial, bending, twist, length)
    rotation = np.zeros_like(own)
    for block in range(0, 12, 3):
        rotation[:, block:block + 3, block:block + 3] = rows
    return own, rotation, ends


def displacements(frame: SpaceFrame, loads: ArrayLike, held: ArrayLike | None = None) -> np.ndarray:
    """Movements and turns (..., n, 6) under forces and moments (..., n, 6) on the nodes. held: (k, n, 6) instead of what the frame holds,
    several ways of holding it; movements are then (k, ..., n, 6).

    Nodes between two others are taken out first, many at once; what is left where tubes meet is solved as a whole. ValueError where the
    frame can move without being bent, or a node hangs on nothing.
    """
    loads, count = np.asarray(loads, dtype=float), len(frame.nodes)
    held_ = np.asarray(frame.held if held is None else held, dtype=bool).reshape(-1, count, 6)
    own, rotation, _ends = _of(frame)
    plan = _plan(tuple((element.start, element.end) for element in frame.elements), count)
    parts = (rotation.swapaxes(1, 2) @ own @ rotation).reshape(-1, 2, 6, 2, 6).swapaxes(2, 3).reshape(-1, 6, 6)
    whole = np.zeros((len(plan.rows), 6, 6))
    whole[plan.sums] = np.add.reduceat(parts[plan.parts], plan.first)
    stiff = np.where(held_, 1.0, whole[:count].diagonal(axis1=1, axis2=2))
    if not np.all(stiff > 0.0):
        raise ValueError("frame: found a node that hangs on nothing; join every tube to another one or hold its end")
    scale = np.zeros((len(held_), count + 1, 6))
    scale[:, :count] = np.where(held_, 0.0, 1.0 / np.sqrt(stiff))
    blocks = whole * scale[:, plan.rows, :, None] * scale[:, plan.columns, None, :]
    # What is held stays, whatever is asked of it.
    blocks[:, :count] += held_[..., None] * np.eye(6)
    right = np.zeros((*scale.shape, loads.size // (6 * count)))
    right[:, :count] = scale[:, :count, :, None] * loads.reshape(-1, count, 6).transpose(1, 2, 0)
    gone = []
    for nodes, near, across, between in plan.rounds:
        side = blocks[:, across].swapaxes(2, 3).reshape(len(held_), -1, 6, 12)
        gain = _solved(blocks[:, nodes], np.concatenate([side, right[:, nodes]], axis=3))
        back = (side.swapaxes(2, 3) @ gain).reshape(*side.shape[:2], 2, 6, -1)
        blocks[:, between] -= back[..., :12].reshape(*back.shape[:4], 2, 6).swapaxes(3, 4)
        right[:, near] -= back[..., 12:]
        gone.append((nodes, near, gain))
    left = blocks[:, plan.between].swapaxes(2, 3).reshape(len(held_), 6 * len(plan.left), -1)
    found = np.zeros_like(right)
    found[:, plan.left] = _solved(left, right[:, plan.left].reshape(*left.shape[:2], -1)).reshape(len(held_), -1, *right.shape[2:])
    for nodes, near, gain in reversed(gone):
        found[:, nodes] = gain[..., 12:] - gain[..., :12] @ found[:, near].reshape(*gain.shape[:2], 12, -1)
    moved = (found * scale[..., None])[:, :count].transpose(0, 3, 1, 2)
    return moved.reshape(loads.shape if held is None else (len(held_), *loads.shape))


@dataclass(frozen=True, eq=False)
class _Plan:
    """In which order the nodes of a frame are taken out, by what hangs on what alone.

    The stiffness of the whole is kept as blocks of 6 x 6, one for each two nodes that come to hang together, both ways round; rows,
    columns: nodes of each, (b,). The first are those of the nodes by themselves, the last one stays empty. parts: the elements' own
    blocks in the order of what they add up to; sums: numbers of that; first: where in the order each begins.

    rounds: nodes (m,) that are taken out together, no two of which have a neighbor in common; the two, (m, 2), that each hangs on then, one
    past the last node where there is none; blocks (m, 2) from each to those, and (m, 2, 2) of those among themselves. left: nodes that
    are left, (p,), and between: their blocks, (p, p).
    """
    rows: np.ndarray
    columns: np.ndarray
    parts: np.ndarray
    sums: np.ndarray
    first: np.ndarray
    rounds: tuple[tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray], ...]
    left: np.ndarray
    between: np.ndarray


@lru_cache(maxsize=16)
def _plan(links: tuple[tuple[int, int], ...], count: int) -> _Plan:
    linked: dict[int, set[int]] = {place: set() for place in range(count)}
    for start, end in links:
        linked[start].add(end)
        linked[end].add(start)
    blocks = {(place, place): place for place in range(count)}
    parts = [blocks.setdefault((row, column), len(blocks)) for ends in links for row in ends for column in ends]
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
                for third in around:
                    blocks.setdefault((other, third), len(blocks))
        rounds.append(near)
    empty = len(blocks)

    def of(rows: Iterable[int], columns: Iterable[int]) -> list[list[int]]:
        return [[blocks.get((row, column), empty) for column in columns] for row in rows]
    rows, columns = np.array([*blocks, (count, count)]).T
    order = np.argsort(parts, kind="stable")
    sums, first = np.unique(np.array(parts)[order], return_index=True)
    return _Plan(rows, columns, order, sums, first, tuple(
        (np.array(list(near)), np.array(list(near.values())), np.array([of([place], two)[0] for place, two in near.items()]),
         np.array([of(two, two) for two in near.values()])) for near in rounds), np.array(list(linked)), np.array(of(linked, linked)))


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
    own, rotation, ends = _of(frame)
    along = moved.reshape(-1, len(frame.nodes), 6)[:, ends].reshape(-1, len(ends), 12)
    found = along.swapaxes(0, 1) @ (own @ rotation).swapaxes(1, 2)
    return found.swapaxes(0, 1).reshape(*moved.shape[:-2], len(ends), 2, 6)
