"""What a run tells: the report for programs, tables and pages for people, JUnit and SARIF for servers. Imports without FreeCAD."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..checks import Outcome
from ..measure.part_marks import Marked
from ..snapshot import Snapshot
from . import csv_table, html, json_report, junit, sarif
from .suite import Suite

__all__ = ["csv_text", "html_text", "junit_text", "report", "report_text", "sarif_text"]


def report(outcome: Outcome, snapshot: Snapshot, host: Mapping[str, Any], files: Mapping[str, str] | None = None,
           run: Mapping[str, Any] | None = None, marked: Sequence[Marked] | None = None) -> dict[str, Any]:
    """The report as a dict (schema: catalog/report.schema.json); files: name to sha256 of what was written; run, marked: as of
    ``json_report``."""
    return json_report.report(outcome, snapshot, host, outcome.measurer, files, run, marked)


def report_text(report_: Mapping[str, Any]) -> str:
    """A report as JSON, as it is written."""
    return json_report.text(report_)


def junit_text(report_: Mapping[str, Any]) -> str:
    """The findings of a report as JUnit XML."""
    return junit.text([_suite(report_)])


def sarif_text(report_: Mapping[str, Any]) -> str:
    """The findings of a report as SARIF."""
    return sarif.text([_suite(report_)])


def _suite(report_: Mapping[str, Any]) -> Suite:
    return Suite(str(report_["car"]["name"]), report_, seconds=(report_.get("run") or {}).get("seconds", 0.0))


def csv_text(report_: Mapping[str, Any]) -> str:
    """The findings of a report as a table that spreadsheets open without running anything in it."""
    return csv_table.text(report_)


def html_text(report_: Mapping[str, Any]) -> str:
    """The report as one HTML file that needs no other, each finding with a small side view of its place."""
    return html.text(report_)
