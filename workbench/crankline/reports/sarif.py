"""Findings as SARIF 2.1.0 (OASIS, Static Analysis Results Interchange Format), for servers that show them beside the car file: a run a car.

What has passed or does not apply is left out. An open finding is of kind ``fail`` with the level of its severity; one that is waived too,
with the waiver as its suppression; what asks to be confirmed is ``review``, what was not evaluated ``open``: neither is a pass.
"""
from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from ..checks.finding import Finding, State, from_row
from ..rules.rule import Severity
from . import junit, wording
from .suite import Suite

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.ADVICE: "note"}
"""Severity to level (SARIF 2.1.0, 3.27.10)."""


def text(suites: Sequence[Suite]) -> str:
    """The document as text, in the units of each car."""
    log = {"$schema": SCHEMA, "version": "2.1.0", "runs": [_run(suite) for suite in suites]}
    return json.dumps(log, indent=1, ensure_ascii=False) + "\n"


def _run(suite: Suite) -> dict[str, Any]:
    report = suite.report
    driver: dict[str, Any] = {"name": "Crankline"}
    run: dict[str, Any] = {"tool": {"driver": driver}, "automationDetails": {"id": f"{suite.name}/"}, "results": []}
    if report is None:
        run["invocations"] = [{"executionSuccessful": False,
                               "toolExecutionNotifications": [{"level": "error", "message": {"text": suite.sentence or "no report"}}]}]
        return run
    told = [one for one in map(from_row, report["findings"]) if one.state not in (State.PASSED, State.NOT_APPLICABLE)]
    first = {one.rule: one for one in reversed(told)}
    numbers = {rule: number for number, rule in enumerate(sorted(first))}
    driver.update(version=str(report["version"]), rules=[_rule(first[rule]) for rule in numbers])
    file = (report.get("input") or {}).get("file", "")
    system = report["car"]["units"] or "in"
    run["invocations"] = [{"executionSuccessful": True, "exitCode": report["exit"]}]
    run["results"] = [_result(one, numbers[one.rule], file, system) for one in told]
    return run


def _rule(finding: Finding) -> dict[str, Any]:
    return {"id": finding.rule, "shortDescription": {"text": finding.title}, "fullDescription": {"text": wording.basis(finding.basis)},
            "help": {"text": finding.hint or finding.title}, "defaultConfiguration": {"level": LEVELS[finding.severity]},
            "properties": {"set": finding.rule_set, "edition": str(finding.edition)}}


def _result(finding: Finding, number: int, file: str, system: str) -> dict[str, Any]:
    kind = ("open" if finding.state == State.NOT_EVALUATED else "review" if finding.to_confirm else "fail")
    found: dict[str, Any] = {
        "ruleId": finding.rule, "ruleIndex": number, "kind": kind, "level": LEVELS[finding.severity] if kind == "fail" else "none",
        "message": {"text": junit.sentence(finding, system)}, "partialFingerprints": {"finding/v1": finding.id},
        "locations": [_location(file, finding.subjects)]}
    if finding.state == State.WAIVED:
        found["suppressions"] = [{"kind": "external", "status": "accepted", "justification": finding.reason}]
    return found


def _location(file: str, subjects: Sequence[str]) -> Mapping[str, Any]:
    """The car file as a whole, and the parts that are meant by their keys."""
    found: dict[str, Any] = {"logicalLocations": [{"fullyQualifiedName": key, "kind": "object"} for key in subjects]} if subjects else {}
    if file:
        found["physicalLocation"] = {"artifactLocation": {"uri": quote(file)}, "region": {"startLine": 1}}
    return found
