"""The allowed region of a window: how far it reaches, which rule binds on each of its edges, and its best placement by stated weights."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from ..units import INCH
from .cells import Cells, Claim, Judge, State, length_of


class Window(Protocol):
    """What is asked here of a window (``window.Window``)."""
    @property
    def judge(self) -> Judge: ...

    @property
    def x(self) -> np.ndarray: ...

    @property
    def z(self) -> np.ndarray: ...

    @property
    def pitches(self) -> tuple[float, ...] | str: ...

    @property
    def cells(self) -> Cells: ...

    @property
    def shape(self) -> tuple[int, int, int]: ...

    @property
    def claims(self) -> tuple[Claim, ...]: ...

    @property
    def counting(self) -> tuple[int, ...]: ...

    @property
    def inside(self) -> np.ndarray: ...

    def figure(self, name: str) -> np.ndarray: ...

    def states(self, claim: int) -> np.ndarray: ...


SIDES = {"rear": (-1, 0), "front": (1, 0), "low": (0, -1), "high": (0, 1)}
"""Edge of a region to the step, in cells along and up, that leads out of it there."""

LIMIT = ""
"""In place of a rule's id: the window ends here, and what is beyond was not looked at."""

WEIGHTS = {
    "border": "away from the border of the region, up to 1 in of it",
    "residual": "little uncancelled joint angle, standing or at launch, per degree",
    "joint_angle": "small joint angles, standing or at launch, per degree",
    "split": "weight on the front wheels as asked for (front_share, else as the car is), per percent of the weight",
    "wheelstand": "wheelstand margin at launch, per 0.1 g",
    "room": "room for rail tabs and transmission pan to the tubes beside them, up to 1/4 in, per 1/4 in",
    "low": "a low crank, per inch",
    "move": "near where the car file has it, per inch",
}
"""What a best placement may be asked to have: name to meaning."""

ROOM = 0.25 * INCH
"""Room beside rail tabs and pan beyond which more is no better, mm: common practice, no source."""

DEFAULT = {"border": 1.0, "residual": 1.0, "joint_angle": 0.5, "room": 1.0}
"""Weights where none are given: common practice, no source."""


@dataclass(frozen=True)
class Edge:
    """What binds on one edge of the allowed region of a pitch. side: rear, front, low, high; rule: id of the rule that is open beyond,
    ``LIMIT`` where the window ends; share: of the edge's length; first, last: along the edge, mm (crank heights of the rear and the front
    edge, axle-to-block of the low and the high one)."""
    side: str
    rule: str
    share: float
    first: float
    last: float


@dataclass(frozen=True)
class Crossing:
    """A place of the border: axle-to-block and crank height, mm, on the allowed side of it; which way is out, and what is open there."""
    side: str
    x: float
    z: float
    rules: tuple[str, ...]


def _beyond(window: Window, layer: int, side: str) -> tuple[np.ndarray, np.ndarray]:
    """(inside cells at the border of a side, (n, 2); whether the window ends beyond each)."""
    allowed = window.inside[:, :, layer]
    dx, dz = SIDES[side]
    padded = np.zeros((allowed.shape[0] + 2, allowed.shape[1] + 2), dtype=bool)
    padded[1:-1, 1:-1] = allowed
    out = padded[1 + dx:padded.shape[0] - 1 + dx, 1 + dz:padded.shape[1] - 1 + dz]
    inside = np.argwhere(allowed & ~out)
    ends = inside + (dx, dz)
    return inside, ((ends < 0) | (ends >= allowed.shape)).any(axis=1)


def edges(window: Window, layer: int) -> tuple[Edge, ...]:
    """What binds on each edge, the longest share of each side first. A stretch at which several rules are open counts for each."""
    found = []
    for side, step in SIDES.items():
        inside, ended = _beyond(window, layer, side)
        if not len(inside):
            continue
        along = window.z[inside[:, 1]] if side in ("rear", "front") else window.x[inside[:, 0]]
        binding: dict[str, np.ndarray] = {LIMIT: ended} if ended.any() else {}
        outside = inside[~ended] + step
        for row in window.counting:
            closed = np.zeros(len(inside), dtype=bool)
            states = window.states(row)[outside[:, 0], outside[:, 1], layer]
            closed[~ended] = np.isin(states, (State.OPEN, State.NOT_EVALUATED))
            if closed.any():
                binding[window.claims[row].rule.id] = closed
        rows = [Edge(side, rule, float(where.mean()), float(along[where].min()), float(along[where].max()))
                for rule, where in binding.items()]
        found += sorted(rows, key=lambda edge: (-edge.share, edge.rule))
    return tuple(found)


def borders(window: Window, layer: int, tolerance: float) -> tuple[Crossing, ...]:
    """The border by bisection between each pair of cells across it, to a tolerance in mm; where the window ends there is none."""
    starts, stops, sides = [], [], []
    for side, step in SIDES.items():
        inside, ended = _beyond(window, layer, side)
        for i, j in inside[~ended]:
            starts.append((window.x[i], window.z[j]))
            stops.append((window.x[i + step[0]], window.z[j + step[1]]))
            sides.append(side)
    if not starts:
        return ()
    good, bad = np.array(starts), np.array(stops)
    pitch: Any = window.pitches if isinstance(window.pitches, str) else window.pitches[layer]
    rows = list(window.counting)
    rounds = int(np.ceil(np.log2(max(np.abs(good - bad).max() / tolerance, 1.0))))
    beyond = window.judge.cells(bad[:, 0], bad[:, 1], pitch, with_figures=False)
    for _round in range(rounds):
        middle = 0.5 * (good + bad)
        cells = window.judge.cells(middle[:, 0], middle[:, 1], pitch, with_figures=False)
        closed = ~cells.solved | np.isin(cells.states[rows], (State.OPEN, State.NOT_EVALUATED)).any(axis=0)
        good, bad = np.where(closed[:, None], good, middle), np.where(closed[:, None], middle, bad)
    beyond = window.judge.cells(bad[:, 0], bad[:, 1], pitch, with_figures=False)
    shut = np.isin(beyond.states, (State.OPEN, State.NOT_EVALUATED))
    return tuple(Crossing(side, float(x), float(z), tuple(window.claims[row].rule.id for row in rows if shut[row, n]))
                 for n, (side, (x, z)) in enumerate(zip(sides, good)))


def to_border(window: Window, layer: int) -> np.ndarray:
    """From each allowed cell of a pitch to the nearest one that is not, or to the end of the window, mm, (nx, nz); 0 elsewhere."""
    allowed = window.inside[:, :, layer]
    x, z = window.x, window.z
    distance = np.minimum(np.minimum(x - x[0], x[-1] - x)[:, None], np.minimum(z - z[0], z[-1] - z)[None, :])
    rim = [inside + step for side, step in SIDES.items() for inside, ended in zip(*_beyond(window, layer, side)) if not ended]
    inside = np.argwhere(allowed)
    if rim and len(inside):
        outer = np.unique(np.array(rim), axis=0)
        points = np.column_stack([x[outer[:, 0]], z[outer[:, 1]]])
        for start in range(0, len(inside), 4096):
            some = inside[start:start + 4096]
            here = np.column_stack([x[some[:, 0]], z[some[:, 1]]])
            near = np.sqrt(((here[:, None, :] - points[None, :, :]) ** 2).sum(axis=-1)).min(axis=1)
            distance[some[:, 0], some[:, 1]] = np.minimum(distance[some[:, 0], some[:, 1]], near)
    return np.where(allowed, distance, 0.0)


def costs(window: Window, front_share: float | None) -> dict[str, np.ndarray]:
    """What each weight counts, at every placement: less is better. Of a car that has no such figure it is left out."""
    figures = window.cells.figures

    def worst(*names: str) -> np.ndarray | None:
        known = [figures[name] for name in names if name in figures]
        return np.degrees(np.maximum.reduce(known)).reshape(window.shape) if known else None

    place, x, z = window.judge.car.placement, window.x[:, None, None], window.z[None, :, None]
    found: dict[str, np.ndarray | None] = {
        "border": -np.stack([np.minimum(to_border(window, k) / INCH, 1.0) for k in range(window.shape[2])], axis=-1),
        "residual": worst("residual_static", "residual_launch"),
        "joint_angle": worst("front_joint_static", "rear_joint_static", "front_joint_launch", "rear_joint_launch"),
        "low": np.broadcast_to(z / INCH, window.shape),
        "move": np.broadcast_to(np.hypot(x - place.axle_to_block, z - place.crank_height) / INCH, window.shape)}
    rooms = [figures[name] for name in ("rail_tab_room", "cross_member_room") if name in figures]
    if rooms:
        found["room"] = -np.minimum(np.fmin.reduce(rooms) / ROOM, 1.0).reshape(window.shape)
    if "front_share" in figures:
        own = front_share
        if own is None:
            own = float(window.judge.cells([place.axle_to_block], [place.crank_height], place.pitch if place.pitch_mode == "fixed"
                                           else place.pitch_mode).figures["front_share"][0])
        found["split"] = 100.0 * np.abs(window.figure("front_share") - own)
        found["wheelstand"] = -window.figure("wheelstand_margin") / 0.1
    return {name: value for name, value in found.items() if value is not None}


def best(window: Window, weights: Mapping[str, float], front_share: float | None) -> tuple[int, int, int] | None:
    """The allowed cell with the least sum of weight times cost; of equal ones the first along, up, pitch."""
    if not window.inside.any():
        return None
    known = costs(window, front_share)
    total = sum((weight * known[name] for name, weight in weights.items() if name in known), np.zeros(window.shape))
    # Sums of equal cells differ in their last digits with the machine.
    place = np.argmin(np.where(window.inside, np.round(total, 9), np.inf))
    i, j, k = np.unravel_index(place, window.shape)
    return int(i), int(j), int(k)


def words(window: Window, layer: int) -> str:
    """How far the allowed region of a pitch reaches."""
    unit, size = length_of(window.judge.car)
    allowed = window.inside[:, :, layer]
    if not allowed.any():
        return "no placement is allowed"
    i, j = np.nonzero(allowed)
    digits = 1 if unit == "mm" else 2
    return (f"axle-to-block {window.x[i.min()] / size:.{digits}f} to {window.x[i.max()] / size:.{digits}f} {unit}, crank height "
            f"{window.z[j.min()] / size:.{digits}f} to {window.z[j.max()] / size:.{digits}f} {unit}; "
            f"{100.0 * allowed.mean():.0f}% of the window")
