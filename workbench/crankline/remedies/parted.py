"""What has parted two parts that overlap: where it is tried first for others, and for the same two the other way round."""
from __future__ import annotations

import math

from ..checks.finding import Finding
from .parameters import Parameter


class Parted:
    """Changes that parted parts in one run."""

    def __init__(self) -> None:
        self._changes: dict[str, list[float]] = {}
        """By parameter."""
        self._apart: dict[tuple[str, ...], float] = {}
        """By the two parts, of a length."""

    def has_parted(self, parameter: Parameter) -> bool:
        """Whether a parameter has parted any two."""
        return parameter.name in self._changes

    def note(self, finding: Finding, parameter: Parameter, change: float) -> None:
        """A change has parted the two parts of a finding: their neighbors are parted by it too, mostly."""
        known = self._changes.setdefault(parameter.name, [])
        if change not in known:
            known.append(change)
        if parameter.kind == "length":
            self._apart.setdefault(finding.subjects, change)

    def likely(self, finding: Finding, parameter: Parameter) -> tuple[float, ...]:
        """Changes that may be the least: what parts two parts by moving one does so by moving the other as far the other way. Where that
        is known, what parted others is not asked."""
        apart = self._apart.get(finding.subjects) if parameter.kind == "length" else None
        if apart is None:
            return tuple(self._changes.get(parameter.name, ()))
        ways = [math.copysign(apart, way) for way in parameter.ways]
        return tuple(sorted((change for change in ways if abs(change) <= parameter.reach), key=lambda change: change * apart))
