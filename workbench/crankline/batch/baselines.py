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


class BaselineError(ValueError):
    """A baseline that cannot be read or taken. One sentence."""


def read(folder: Path, name: str) -> dict[str, Any] | None:
    """The baseline of a car; nothing where there is none. BaselineError where it is damaged."""
    place = folder / f"{name}.json"
    if not place.is_file():
        return None
    try:
        held = json.loads(place.read_text(encoding="utf-8"))
        if not compare.is_report(held):
            raise ValueError
        return dict(held)
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
        text = _text(compare.slim(report))
        place = folder / f"{name}.json"
        if place.is_file() and place.read_text(encoding="utf-8") == text:
            continue
        with replacing(place) as beside:
            beside.write_text(text, encoding="utf-8")
        taken.append(name)
    if taken:
        _noted(folder / LOG, [[today.isoformat(), name, reason.strip()] for name in taken])
    return taken


def _text(held: Mapping[str, Any]) -> str:
    """As JSON with a line for each entry of a section, so that a change of it is a line to whoever reads the difference."""
    return "{\n" + ",\n".join(f"{json.dumps(name)}: {_section(held[name])}" for name in held) + "\n}\n"


def _section(value: Any) -> str:
    if isinstance(value, Mapping) and value:
        return "{\n " + ",\n ".join(f"{json.dumps(key)}: {_line(below)}" for key, below in value.items()) + "}"
    if isinstance(value, list) and value:
        return "[\n " + ",\n ".join(map(_line, value)) + "]"
    return _line(value)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _noted(place: Path, rows: Sequence[Sequence[str]]) -> None:
    before = place.read_text(encoding="utf-8") if place.is_file() else "date,car,reason\n"
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    with replacing(place) as beside:
        beside.write_text(before + out.getvalue(), encoding="utf-8")
