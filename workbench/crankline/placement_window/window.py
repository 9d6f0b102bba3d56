"""The window itself: placements over axle-to-block, crank height and pitch, which of them are allowed, and why the others are not."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from ..checks import SEVERITIES
from . import region
from .cells import Cells, Claim, Judge, State, own_pitch
from .point import Point, point_of

MOST = 2_000_000
"""Placements of one window."""
LEVEL = "warning"
"""Least severity of an open rule that closes a placement, where none is asked for."""
SPAN_X, SPAN_Z = 76.2, 38.1
"""How far each way from where the car stands a window reaches where nothing is asked for, mm: 3 in along, 1 1/2 in up and down."""


class WindowError(ValueError):
    """A window that cannot be made. One sentence."""


@dataclass(frozen=True, eq=False)
class Window:
    """Placements (nx, nz, np). x: axle-to-block, z: crank height at the station of the car's placement, mm; pitches: rad, or the mode that
    solves them. level, ignored: what closes a placement (``grid``). cells: what was found, flat in the order of the axes."""
    judge: Judge
    x: np.ndarray
    z: np.ndarray
    pitches: tuple[float, ...] | str
    level: str
    ignored: frozenset[str]
    cells: Cells

    @property
    def shape(self) -> tuple[int, int, int]:
        """(nx, nz, np)."""
        return len(self.x), len(self.z), 1 if isinstance(self.pitches, str) else len(self.pitches)

    @property
    def car(self) -> model.Car:
        """The car, as it was given."""
        return self.judge.given

    @property
    def claims(self) -> tuple[Claim, ...]:
        """The rules that are read at every placement."""
        return self.judge.claims

    @property
    def unclaimed(self) -> tuple[tuple[str, str], ...]:
        """(id, why not) of the rules that are not looked at here; never shown as holding."""
        return tuple((rule.id, why) for rule, why in self.judge.unclaimed)

    def figure(self, name: str) -> np.ndarray:
        """A figure (``figures.FIGURES``) at every placement; KeyError where this car has none."""
        return self.cells.figures[name].reshape(self.shape)

    @property
    def solved(self) -> np.ndarray:
        """Where there is a placement at all."""
        return self.cells.solved.reshape(self.shape)

    def states(self, claim: int) -> np.ndarray:
        """What a claimed rule, by its number, says at every placement (``State``)."""
        return self.cells.states[claim].reshape(self.shape)

    def margins(self, claim: int) -> np.ndarray:
        """By how much it holds, in the inside unit."""
        return self.cells.margins[claim].reshape(self.shape)

    def layer_name(self, layer: int) -> str:
        """A pitch in words."""
        return self.pitches.replace("_", " ") if isinstance(self.pitches, str) else f"{np.degrees(self.pitches[layer]):.2f} deg"

    # --- what closes a placement ----------------------------------------------------------------------------------------

    @cached_property
    def counting(self) -> tuple[int, ...]:
        """Numbers of the claimed rules that close a placement where they are open or could not be told: of the level asked for, not
        ignored, decided at all, and met somewhere in the window (``nowhere`` has the others)."""
        return tuple(row for row in self.asked if not self._never(row))

    @cached_property
    def nowhere(self) -> tuple[int, ...]:
        """Numbers of the rules that no placement in the window meets: they would close all of it, so they are told by themselves."""
        return tuple(row for row in self.asked if self._never(row))

    @cached_property
    def asked(self) -> tuple[int, ...]:
        """Numbers of the claimed rules of the level asked for that are not ignored and are decided at all."""
        least = SEVERITIES.index(self.level)
        return tuple(row for row, claim in enumerate(self.claims) if claim.rule.id not in self.ignored
                     and SEVERITIES.index(claim.rule.severity) <= least and not claim.rule.to_confirm)

    def why_nowhere(self, row: int) -> str:
        """What is so of one of the rules that are met nowhere: open at each placement, or not evaluated at any or some."""
        unknown = self.cells.states[row][self.cells.solved] == State.NOT_EVALUATED
        return ("not evaluated at any placement" if unknown.all() else "met by no placement" if not unknown.any() else
                "met by no placement where it is evaluated")

    def unknown(self, row: int) -> bool:
        """Whether a rule could not be evaluated at some placement."""
        return bool((self.cells.states[row][self.cells.solved] == State.NOT_EVALUATED).any())

    def _never(self, row: int) -> bool:
        states = self.cells.states[row][self.cells.solved]
        return states.size > 0 and bool(np.isin(states, (State.OPEN, State.NOT_EVALUATED)).all())

    @cached_property
    def allowed(self) -> np.ndarray:
        """Where every rule that was asked for holds or does not apply, (nx, nz, np): nothing where one of them is met nowhere."""
        return self.inside & (not self.nowhere)

    @cached_property
    def inside(self) -> np.ndarray:
        """Where every rule that closes a part of the window holds or does not apply, (nx, nz, np): what the border goes around."""
        good = self.cells.solved.copy()
        for row in self.counting:
            good &= ~np.isin(self.cells.states[row], (State.OPEN, State.NOT_EVALUATED))
        return good.reshape(self.shape)

    # --- what is asked of it --------------------------------------------------------------------------------------------

    def point(self, i: int, j: int, k: int) -> Point:
        """The placement of a cell."""
        flat = int(np.ravel_multi_index((i, j, k), self.shape))
        pitch = self.pitches if isinstance(self.pitches, str) else self.pitches[k]
        return point_of(self.judge, self.cells, flat, float(self.x[i]), float(self.z[j]), pitch)

    def edges(self, layer: int = 0) -> tuple[region.Edge, ...]:
        """What binds on each edge of the allowed region of a pitch."""
        return region.edges(self, layer)

    def best(self, weights: Mapping[str, float] | None = None, front_share: float | None = None) -> Point | None:
        """The allowed placement with the best score by weights (``region.WEIGHTS``), None where none is allowed."""
        place = region.best(self, weights or region.DEFAULT, front_share)
        return None if place is None else self.point(*place)

    def reach(self, layer: int = 0) -> str:
        """How far the allowed region of a pitch reaches, in words."""
        return region.words(self, layer)

    def borders(self, layer: int = 0, tolerance: float = 0.01) -> tuple[region.Crossing, ...]:
        """Where the border of the allowed region of a pitch is, by bisection between cells, to a tolerance in mm."""
        return region.borders(self, layer, tolerance)


def grid(car: model.Car, axle_to_block: ArrayLike | None = None, crank_heights: ArrayLike | None = None,
         pitches: Sequence[float] | str | None = None, level: str = LEVEL, ignored: Iterable[str] = (),
         rule_files: Iterable[str] = ()) -> Window:
    """The window of a car over every combination; see the package. WindowError, SceneError or RuleError with one sentence."""
    judge = Judge(car, rule_files)
    place = judge.car.placement
    x = _axis(axle_to_block, place.axle_to_block, SPAN_X, "axle-to-block")
    z = _axis(crank_heights, place.crank_height, SPAN_Z, "crank height")
    if level not in SEVERITIES:
        raise WindowError(f"level: found {level!r}; use one of {', '.join(SEVERITIES)}")
    known = {claim.rule.id for claim in judge.claims}
    if wrong := sorted(set(ignored) - known):
        raise WindowError(f"ignored: {wrong[0]} is not a rule that is read over placements of this car; use one of "
                          f"{', '.join(sorted(known))}")
    asked = own_pitch(car) if pitches is None else pitches
    if isinstance(asked, float):
        asked = (asked,)
    layers: tuple[float, ...] | str = asked if isinstance(asked, str) else tuple(float(value) for value in asked)
    if not layers:
        raise WindowError("pitch: none was given; give angles such as 1.9,2.0,2.1deg, or parallel, in_line or balanced")
    count = len(x) * len(z) * (1 if isinstance(layers, str) else len(layers))
    if count > MOST:
        raise WindowError(f"these are {count} placements; at most {MOST} are allowed, so take larger steps")
    grids = np.meshgrid(x, z, 0.0 if isinstance(layers, str) else np.array(layers), indexing="ij")
    flat_x, flat_z, flat_pitch = (part.ravel() for part in grids)
    cells = judge.cells(flat_x, flat_z, layers if isinstance(layers, str) else flat_pitch)
    return Window(judge, x, z, layers, level, frozenset(ignored), cells)


def _axis(given: ArrayLike | None, own: float, span: float, what: str) -> np.ndarray:
    """The values of an axis, rising, each once."""
    if given is None:
        return own + np.linspace(-span, span, 121)
    values = np.unique(np.atleast_1d(np.asarray(given, dtype=float)))
    if not values.size or not np.isfinite(values).all() or values[0] <= 0.0:
        raise WindowError(f"{what}: values that are not lengths above 0 were found; give a range such as 80..85in/0.05in")
    return values
