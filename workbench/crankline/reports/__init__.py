"""What a run tells: the report for programs, tables and pages for people, JUnit for servers. Imports without FreeCAD."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..checks import Outcome
from ..snapshot import Snapshot
from . import csv_table, html, json_report, junit

__all__ = ["csv_text", "html_text", "junit_text", "report"]


def report(outcome: Outcome, snapshot: Snapshot, host: Mapping[str, Any], files: Mapping[str, str] | None = None) -> dict[str, Any]:
    """The report as a dict (schema: catalog/report.schema.json); files: name to sha256 of what was written."""
    return json_report.report(outcome, snapshot, host, outcome.measurer, files)


def junit_text(outcome: Outcome, snapshot: Snapshot) -> str:
    """The findings as JUnit XML."""
    return junit.text(outcome.findings, [item.name for item in outcome.rule_sets], outcome.fail_on, snapshot.car.car.name,
                      snapshot.system)


def csv_text(report_: Mapping[str, Any]) -> str:
    """The findings of a report as a table that spreadsheets open without running anything in it."""
    return csv_table.text(report_)


def html_text(report_: Mapping[str, Any]) -> str:
    """The report as one HTML file that needs no other, each finding with a small side view of its place."""
    return html.text(report_)
