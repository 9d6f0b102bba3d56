"""Findings as a table for spreadsheets."""
from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..units import rounded
from . import wording

COLUMNS = ("state", "severity", "rule", "title", "subjects", "discriminator", "measured", "comparison", "limit", "unit", "margin",
           "basis", "reason", "hint", "id", "rule_limit")
"""Numbers are in the units of the car; rule_limit is the limit as the rule prints it, where that is in other units."""


def text(report: Mapping[str, Any]) -> str:
    """The findings of a report as comma-separated text, one line a finding, with a line of names."""
    system = report["car"]["units"]
    return lines([COLUMNS, *([_value(finding, name, system) for name in COLUMNS] for finding in report["findings"])])


def lines(rows: Iterable[Sequence[Any]]) -> str:
    """Rows as comma-separated text (RFC 4180), in which no text is taken for a formula."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _value(finding: Mapping[str, Any], name: str, system: str) -> Any:
    if name == "subjects":
        return " ".join(finding["subjects"])
    if name == "limit" and isinstance(finding["limit"], list):
        return " to ".join(f"{_in_car_units(edge, finding, system):g}" for edge in finding["limit"])
    if name in ("measured", "limit", "margin"):
        return _in_car_units(finding[name], finding, system)
    if name == "unit":
        return wording.in_car_units(0.0, finding["unit"], system)[1]
    if name == "rule_limit":
        return wording.in_its_own_units(finding["limit"], finding["unit"], system)
    if name == "basis":
        return wording.basis(finding["basis"])
    return finding[name]


def _in_car_units(value: float | None, finding: Mapping[str, Any], system: str) -> float | None:
    if value is None:
        return None
    read, unit = wording.in_car_units(value, finding["unit"], system)
    return value if unit == finding["unit"] else rounded(read)


def _cell(value: Any) -> Any:
    """Numbers as they are; text that a spreadsheet would take for a formula begins with an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, (int, float)):
        return value
    value = str(value)
    # A comparison such as <= is no formula to any spreadsheet; = + - @ and white space at the start are.
    return f"'{value}" if value[:1] in ("=", "+", "-", "@", "\t", "\r", "\n") else value
