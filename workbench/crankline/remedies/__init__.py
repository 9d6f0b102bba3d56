"""What would clear an open finding: asked for, never waited for. Imports without FreeCAD."""
from __future__ import annotations

from dataclasses import replace

from ..checks import Outcome
from ..snapshot import Snapshot
from . import search


def with_remedies(outcome: Outcome, snapshot: Snapshot) -> Outcome:
    """The outcome of a run with the remedies of its open findings, which their hints then name."""
    return replace(outcome, findings=tuple(search.for_all(outcome.findings, outcome.rules, snapshot, outcome.measurer)))
