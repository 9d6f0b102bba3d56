"""One placement of a window: its figures, what every claimed rule says of it, and what an inch of move does there."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import model
from .cells import Cells, Claim, Judge, State, own_pitch, placed

STEP = 0.5
"""Half of the step over which a slope is taken, mm."""


@dataclass(frozen=True)
class Verdict:
    """What a claimed rule says of one placement; margin in the claim's unit, None where none was read."""
    claim: Claim
    state: State
    margin: float | None


@dataclass(frozen=True, eq=False)
class Point:
    """One placement: axle-to-block and crank height, mm, at the station of the car's placement; pitch: as it was asked for, rad or a mode;
    angle: the pitch that this is, rad. figures: name to value; nan where there is none. verdicts: of every claimed rule."""
    judge: Judge
    x: float
    z: float
    pitch: float | str
    angle: float
    solved: bool
    figures: dict[str, float]
    verdicts: tuple[Verdict, ...]

    @property
    def car(self) -> model.Car:
        """The car as it would stand here."""
        return placed(self.judge.given, self.x, self.z, self.pitch)

    @property
    def placement(self) -> model.Placement:
        """The placement record of it."""
        return self.car.placement

    def open(self) -> tuple[Verdict, ...]:
        """The claimed rules that are open here, the gravest first."""
        return tuple(sorted((one for one in self.verdicts if one.state == State.OPEN),
                            key=lambda one: (one.claim.rule.severity.rank, one.claim.rule.id)))

    def nearest(self, count: int = 3) -> tuple[Verdict, ...]:
        """The rules that hold here and that the least move of the powertrain, along or up and down, would open, the nearest first."""
        moves = []
        for row, one in enumerate(self.verdicts):
            if one.state != State.HOLDS or one.margin is None:
                continue
            steepest = float(np.hypot(self._margin_slopes[0][row], self._margin_slopes[1][row]))
            if steepest > 0.0:
                moves.append((self._inside[row] / steepest, one.claim.rule.id, one))
        return tuple(one for _move, _name, one in sorted(moves, key=lambda item: item[:2])[:count])

    def slopes(self) -> dict[str, tuple[float, float]]:
        """Change of each figure for one mm forward and one mm up, pitch held as it was asked for: first order, by a step of 1 mm."""
        ahead, behind, above, below = (self._around[name] for name in range(4))
        return {name: (_slope(ahead, behind, name), _slope(above, below, name)) for name in self.figures}

    # Four placements around this one, judged at once, when somebody asks.

    @property
    def _cells(self) -> Cells:
        if "_four" not in self.__dict__:
            x, z = np.array([STEP, -STEP, 0.0, 0.0]), np.array([0.0, 0.0, STEP, -STEP])
            object.__setattr__(self, "_four", self.judge.cells(self.x + x, self.z + z, self.pitch))
        found: Cells = self.__dict__["_four"]
        return found

    @property
    def _around(self) -> list[dict[str, float]]:
        return [{name: float(value[i]) for name, value in self._cells.figures.items()} for i in range(4)]

    @property
    def _inside(self) -> np.ndarray:
        return self._cells.margins.mean(axis=1)

    @property
    def _margin_slopes(self) -> tuple[np.ndarray, np.ndarray]:
        margins = self._cells.margins
        return (margins[:, 0] - margins[:, 1]) / (2.0 * STEP), (margins[:, 2] - margins[:, 3]) / (2.0 * STEP)


def _slope(more: dict[str, float], less: dict[str, float], name: str) -> float:
    return (more.get(name, np.nan) - less.get(name, np.nan)) / (2.0 * STEP)


def point_of(judge: Judge, cells: Cells, i: int, x: float, z: float, pitch: float | str) -> Point:
    """The point of a cell."""
    verdicts = []
    for row, claim in enumerate(judge.claims):
        margin = float(cells.margins[row, i])
        verdicts.append(Verdict(claim, State(int(cells.states[row, i])), float(claim.shown(margin)) if np.isfinite(margin) else None))
    return Point(judge, x, z, pitch, float(np.broadcast_to(cells.pitch, cells.solved.shape)[i]), bool(cells.solved[i]),
                 {name: float(value[i]) for name, value in cells.figures.items()}, tuple(verdicts))


def at(car: model.Car | Judge, x: float, z: float, pitch: Any = None, rule_files: Iterable[str] = ()) -> Point:
    """One placement of a car: axle-to-block and crank height in mm, pitch in rad or a mode, None for the car's own. A ``Judge`` in place
    of the car, such as a window's, reads the rule sets once for many points."""
    judge = car if isinstance(car, Judge) else Judge(car, rule_files)
    asked = own_pitch(judge.given) if pitch is None else pitch if isinstance(pitch, str) else float(pitch)
    return point_of(judge, judge.cells([x], [z], asked), 0, float(x), float(z), asked)
