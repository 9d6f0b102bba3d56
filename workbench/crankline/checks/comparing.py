"""A measured value against the limit of a rule: by how much it holds or does not, in the unit in which the limit binds."""
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache, reduce
from typing import Any, NamedTuple

import numpy as np

from .. import spelling, units
from ..rules.quantity import FORMULAS, PLAIN, QUANTITIES, Measurement, Reading
from ..rules.rule import Bound, Limit, Rule

NOISE = 1e-9
"""A value within this share of its limit (and within as much of the inside unit) counts as equal to it, and equal
passes: a tube sold as 0.875 in is not refused for a float that reads 22.224999999999998 mm."""


class Verdict(NamedTuple):
    """A value against a limit. measured, limit, margin, tolerance in ``unit``; inside_margin in the inside unit."""
    measured: float | None
    inside_margin: float | None
    limit: float | tuple[float, float] | None
    unit: str
    margin: float | None
    tolerance: float
    good: bool


def margin_of(comparison: str, value: Any, low: Any, high: Any) -> Any:
    """Signed distance of a value to its limit, positive = good, in whatever unit all three are; numbers or arrays."""
    if comparison == "<=" and high is not None:
        return high - value
    if comparison == ">=" and low is not None:
        return value - low
    if comparison == "within" and low is not None and high is not None:
        return _least(value - low, high - value)
    if comparison == "==" and low is not None:
        return -abs(value - low)
    raise ValueError(f"comparison {comparison!r}")


def _least(*values: Any) -> Any:
    """The least of numbers or arrays. Of plain numbers numpy's own takes ten times as long, and a check compares hundreds."""
    return min(values) if all(isinstance(value, (int, float)) for value in values) else reduce(np.minimum, values)


def _left(verdict: Verdict) -> float:
    """The margin that verdicts are put in order by; nothing measured comes last."""
    return math.inf if verdict.inside_margin is None else verdict.inside_margin


def compared(comparison: str, limit: Limit, kind: str, value: float, result: Measurement) -> Verdict:
    """The verdict in the unit that binds; of several that bind, the strictest. NotEvaluated where a limit's formula lacks something."""
    verdicts = [_against(_scale(comparison, bound, kind), float(value), result.accuracy) for bound in _bounds(limit, result.given)]
    return verdicts[0] if len(verdicts) == 1 else min(verdicts, key=_left)


def _bounds(limit: Limit, given: Mapping[str, Any]) -> tuple[Bound, ...]:
    if not limit.formula:
        return limit.binding
    formula = FORMULAS[limit.formula]
    value = formula.function(given, dict(limit.settings))
    return (Bound(limit.unit, value, value),)


@dataclass(frozen=True, eq=False)
class Margins:
    """How a rule's value stands at many placements: margin in the quantity's inside unit, positive = good; whether it holds; whether it
    could be told at all. Arrays over the placements."""
    margin: np.ndarray
    good: np.ndarray
    known: np.ndarray


def margins(rule: Rule, reading: Reading) -> Margins:
    """A reading against a rule with a limit: as for one measurement, of several limits that bind the strictest. NotEvaluated where a
    limit's formula lacks something."""
    assert rule.limit is not None
    value = np.asarray(reading.value, dtype=float)
    known = np.isfinite(value)
    if not known.any():
        return Margins(np.full(value.shape, np.nan), known, known)
    least: Any = None
    for bound in _bounds(rule.limit, reading.given):
        margin = margin_of(rule.comparison, value, bound.low, bound.high)
        good = margin >= -_noise(bound)
        if least is None:
            least = margin, good
        else:
            closer = margin < least[0]
            least = np.where(closer, margin, least[0]), np.where(closer, good, least[1])
    return Margins(np.where(known, least[0], np.nan), least[1] & known, known)


def _noise(bound: Bound) -> Any:
    """How near a bound counts as equal to it, in the inside unit; a number or an array."""
    return -_least(-NOISE, *(-NOISE * abs(edge) for edge in (bound.low, bound.high) if edge is not None))


@dataclass(frozen=True)
class Scale:
    """One bound as values are read against it. low, high, noise and size (of the unit) in inside units; limit: as it is shown."""
    comparison: str
    low: float | None
    high: float | None
    noise: float
    limit: float | tuple[float, float]
    unit: str
    size: float

    def rounded(self, value: float) -> float:
        """A value in the unit, to 12 digits."""
        return units.rounded(value / self.size) if self.unit else value / self.size

    def digits(self, value: float) -> float:
        """As ``rounded``, of what is never rounded to 0: what is open has a margin below 0, and a tolerance is one."""
        return float(f"{value / self.size:.12g}")


# Of all that is measured against it, and of the next check: a rule's limit is read once.
@lru_cache(maxsize=2048)
def _scale(comparison: str, bound: Bound, kind: str) -> Scale:
    size = 1.0 if kind in PLAIN or not bound.unit else units.of(1.0, kind, bound.unit)
    scale = Scale(comparison, bound.low, bound.high, float(_noise(bound)), 0.0, bound.unit, size)
    edges = [scale.rounded(float(edge)) for edge in (bound.low, bound.high) if edge is not None]
    return replace(scale, limit=(edges[0], edges[1]) if comparison == "within" else edges[0])


def _against(scale: Scale, value: float, accuracy: float) -> Verdict:
    margin, tolerance = float(margin_of(scale.comparison, value, scale.low, scale.high)), max(scale.noise, float(accuracy))
    shown = 0.0 if abs(margin) <= tolerance else margin
    return Verdict(scale.rounded(value), margin, scale.limit, scale.unit, scale.digits(shown), scale.digits(tolerance),
                   margin >= -tolerance)


def not_measured(limit: Limit | None, comparison: str, kind: str) -> Verdict:
    """The verdict where there is nothing to measure, with the limit in the unit that binds; without one that hangs on what is measured."""
    shown = _scale(comparison, limit.binding[0], kind).limit if limit is not None and not limit.formula else None
    return Verdict(None, None, shown, limit.unit if limit is not None else "", None, 0.0, False)


def best_alternative(rule: Rule, result: Measurement) -> tuple[Verdict, str, str]:
    """The verdict on the alternative that the part comes nearest to, judged by its worst component, that component, and the reason.

    A component that the part does not have (the wall of a strap) leaves its alternative out.
    """
    components = QUANTITIES[rule.quantity].components
    best: tuple[Verdict, str] | None = None
    if not result.parts:
        return Verdict(None, None, None, "", None, 0.0, False), "", result.how
    for alternative in rule.alternatives:
        if any(result.parts.get(name) not in words for name, words in alternative.words.items()):
            continue
        worst: tuple[Verdict, str] | None = None
        for name, limit in alternative.sizes.items():
            value = result.parts.get(name)
            if value is None:
                worst = None
                break
            verdict = compared(rule.comparison, limit, components[name], value, result)
            if worst is None or _left(verdict) < _left(worst[0]):
                worst = (verdict, name)
        if worst is not None and (best is None or _left(worst[0]) > _left(best[0])):
            best = worst
    if best is None:
        allowed: dict[str, set[str]] = {}
        for alternative in rule.alternatives:
            for name, words in alternative.words.items():
                allowed.setdefault(name, set()).update(words)
        # What no alternative allows is to blame; where each word is allowed somewhere, it is their combination.
        names = [name for name, words in allowed.items() if result.parts.get(name) not in words] or list(allowed)
        wanted = " and ".join(" or ".join(sorted(map(spelling.read, allowed[name]))) for name in names)
        found = ", ".join(spelling.read(str(result.parts[name])) for name in names if name in result.parts) or "nothing of the kind"
        return Verdict(None, None, None, "", None, 0.0, False), "", f"{found} was found; the rule allows {wanted}"
    return *best, "" if best[0].good else f"{best[1].replace('_', ' ')} governs"
