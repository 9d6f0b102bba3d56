"""Findings that a document keeps come back as they were; what is damaged is no findings."""
from __future__ import annotations

import json

import pytest

from crankline.checks import kept_findings
from crankline.checks.finding import Finding, Looked, State
from crankline.checks.kept_findings import KeptFindings
from crankline.rules.rule import Severity

FINDINGS = (
    Finding(id="a", rule="PRA-PITCH", rule_set="practice", title="Pitch", severity=Severity.ADVICE, state=State.OPEN,
            basis={"document": "shop practice", "source": "common practice"}, subjects=("engine",), measured=3.0, comparison="within",
            limit=(1.9, 2.2), unit="deg", margin=-0.8, points=((0.0, 1.0, 2.5),), digests={"engine": "0"}, looked_for=Looked.YES,
            remedies=({"words": "lower the pitch", "change": -0.8, "unit": "deg"},)),
    Finding(id="b", rule="CLR", rule_set="clearance", title="Gap", severity=Severity.ERROR, state=State.NOT_EVALUATED,
            basis={"document": "", "source": "program"}, subjects=(), reason="no mid plate yet", waiver={"author": "A", "expires": None}))
KEPT = KeptFindings(FINDINGS, "2026-11-29 07:30", "mark")


def test_findings_come_back_as_they_were():
    assert kept_findings.read(kept_findings.write(KEPT)) == KEPT


@pytest.mark.parametrize("text", ["", "null", "[]", "{}", '{"format": 1}', '{"format": 1, "findings": 3, "when": "", "mark": ""}',
                                  json.dumps({**json.loads(kept_findings.write(KEPT)), "format": 2}),
                                  kept_findings.write(KEPT).replace('"open"', '"ajar"'), kept_findings.write(KEPT)[:-9]])
def test_what_is_damaged_is_no_findings(text):
    assert kept_findings.read(text) is None
