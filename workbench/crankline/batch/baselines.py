"""Results that are taken for good, a file a car, kept beside the cars; what differs from them; and taking new ones with a reason."""
from __future__ import annotations

import csv
import datetime
import io
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ..replacing import replacing
from ..reports import compare
from ..reports.compare import Comparison
from .summary import Summary, report_in

LOG = "accepted.csv"
"""Which cars were taken when, and why; a line is only ever added."""
REASON = 10
"""A reason has at least so many characters."""
NOT_KEPT = ("run", "files", "notes")
"""What a baseline leaves out of a report: it is of the run, not of the car."""


class BaselineError(ValueError):
    """A baseline that cannot be read or taken. One sentence."""


def read(folder: Path, name: str) -> dict[str, Any] | None:
    """The baseline of a car; nothing where there is none. BaselineError where it is damaged."""
    place = folder / f"{name}.json"
    if not place.is_file():
        return None
    try:
        held = json.loads(place.read_text(encoding="utf-8"))
        if not isinstance(held, dict):
            raise ValueError
        return held
    except (OSError, ValueError):
        raise BaselineError(f"{place}: it is damaged; restore it, or take a new one with 'baseline accept'") from None


def compared(found: Summary, results: Path, folder: Path, tolerance: float) -> tuple[list[Comparison], list[str]]:
    """What differs of every car that has a report and a baseline, and the names of cars with a report and without a baseline."""
    pairs, new = [], []
    for row in found.rows:
        report = report_in(results / row.folder)
        if report is None:
            continue
        before = read(folder, row.name)
        if before is None:
            new.append(row.name)
        else:
            pairs.append(compare.compare(row.name, before, report, tolerance))
    return pairs, new


def accept(reports: Mapping[str, Mapping[str, Any]], folder: Path, reason: str, today: datetime.date) -> list[str]:
    """Take reports as baselines where they differ from those there are; their names. BaselineError without a reason."""
    if len(reason.strip()) < REASON:
        raise BaselineError(f"--reason: {reason!r} was found; say in {REASON} characters or more why the results may be others")
    folder.mkdir(parents=True, exist_ok=True)
    taken = []
    for name, report in sorted(reports.items()):
        text = json.dumps({key: value for key, value in report.items() if key not in NOT_KEPT}, indent=1, sort_keys=True) + "\n"
        place = folder / f"{name}.json"
        if place.is_file() and place.read_text(encoding="utf-8") == text:
            continue
        with replacing(place) as beside:
            beside.write_text(text, encoding="utf-8")
        taken.append(name)
    if taken:
        _noted(folder / LOG, [[today.isoformat(), name, reason.strip()] for name in taken])
    return taken


def _noted(place: Path, rows: Sequence[Sequence[str]]) -> None:
    before = place.read_text(encoding="utf-8") if place.is_file() else "date,car,reason\n"
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    with replacing(place) as beside:
        beside.write_text(before + out.getvalue(), encoding="utf-8")
