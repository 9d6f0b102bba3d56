"""Findings as a table for spreadsheets."""
from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from . import wording

COLUMNS = ("state", "severity", "rule", "title", "subjects", "discriminator", "measured", "comparison", "limit", "unit", "margin",
           "basis", "reason", "hint", "id")


def text(report: Mapping[str, Any]) -> str:
    """The findings of a report as comma-separated text, one line a finding, with a line of names."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for finding in report["findings"]:
        writer.writerow([_cell(_value(finding, name)) for name in COLUMNS])
    return out.getvalue()


def _value(finding: Mapping[str, Any], name: str) -> Any:
    if name == "subjects":
        return " ".join(finding["subjects"])
    if name == "limit" and isinstance(finding["limit"], list):
        return f"{finding['limit'][0]:g} to {finding['limit'][1]:g}"
    if name == "basis":
        return wording.basis(finding["basis"])
    return finding[name]


def _cell(value: Any) -> Any:
    """Numbers as they are; text that a spreadsheet would take for a formula begins with an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, (int, float)):
        return value
    value = str(value)
    # A comparison such as <= is no formula to any spreadsheet; = + - @ and white space at the start are.
    return f"'{value}" if value[:1] in ("=", "+", "-", "@", "\t", "\r", "\n") else value
