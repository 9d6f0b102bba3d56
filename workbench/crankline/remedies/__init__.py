"""What would clear an open finding: asked for, never waited for. Imports without FreeCAD."""
from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import replace

from ..checks import Outcome
from ..progress import Progress
from ..snapshot import Snapshot
from . import search
from .applied import car_with
from .search import EFFORT, Search, Solver, in_order, may_be_cleared, with_remedies

__all__ = ["ALL", "EFFORT", "Search", "Solver", "car_with", "in_order", "may_be_cleared", "steps", "with_remedies"]

ALL = math.inf
"""Effort without a bound."""


def steps(outcome: Outcome, snapshot: Snapshot, effort: float = EFFORT, most: int | None = None) -> Generator[Progress, None, Outcome]:
    """Step by step, the outcome of a check with the remedies of its open findings, which their hints then name: the gravest first, as
    far as the effort goes, and of no more than so many findings. What that is not enough for is told as not looked for yet."""
    findings = yield from search.for_all_steps(outcome.findings, outcome.rules, snapshot, outcome.measurer, effort, most)
    return replace(outcome, findings=tuple(findings))
