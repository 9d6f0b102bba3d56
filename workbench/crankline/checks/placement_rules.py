"""The rules that the placement decides, on a car that is only thought of: joint angles, critical speed, heights, the pans over the track.

They follow from numbers, or from the shapes of engine and transmission, which a placement moves and does not change.
"""
from __future__ import annotations

from collections.abc import Iterable

from .. import model
from ..measure.measurer import Measurer
from ..mechanics.scene import Scene
from ..record import filled
from ..rules import rule_sets
from ..rules.quantity import QUANTITIES
from ..rules.rule import Rule
from ..snapshot import PartView, Snapshot
from .evaluate import evaluate
from .finding import Finding, State

MEASURED = ("engine", "transmission")
"""Keys of the parts whose shapes are measured."""

_PANS = ("oil_pan", "transmission_pan")
_ORDER = (State.OPEN, State.NOT_EVALUATED, State.PASSED)


class PlacementRules:
    """Rules of a car's sets that its placement decides. measurer: what measures the pans; without one they are not evaluated. RuleError or
    SourceError (a rule file) with one sentence."""

    def __init__(self, car: model.Car, measurer: Measurer | None = None):
        asked = filled(car).rules
        self._selection = rule_sets.select(asked.sets if asked else ())
        self._measurer = measurer
        self.rules = tuple(rule for rule in self._selection.rules if decided(rule))

    def findings(self, car: model.Car, scene: Scene, parts: Iterable[PartView] = ()) -> tuple[Finding, ...]:
        """One finding a rule, the one with the least margin; what is open first, the gravest first. parts: those of ``MEASURED`` that there
        are, where the scene has them. Waivers are left out: they speak of the car as it is."""
        found: dict[str, Finding] = {}
        for one in evaluate(self.rules, Snapshot(car, scene, tuple(parts)), self._measurer, None, self._selection):
            if one.state in _ORDER and (one.rule not in found or _rank(one) < _rank(found[one.rule])):
                found[one.rule] = one
        return tuple(sorted(found.values(), key=lambda one: (_ORDER.index(one.state), one.severity.rank, one.rule)))


def decided(rule: Rule) -> bool:
    """Whether a placement decides a rule, and parts that are not made do not."""
    quantity = QUANTITIES[rule.quantity]
    if rule.quantity == "ground_clearance":
        return dict(rule.settings)["of"] in _PANS
    paths = quantity.clears
    return not quantity.effort and not callable(paths) and any(path.lstrip("+-~").startswith("placement.") for path in paths or ())


def _rank(one: Finding) -> tuple[int, float]:
    return _ORDER.index(one.state), one.margin if one.margin is not None else 0.0
