"""Findings as JUnit XML: one suite a rule set, one case a rule and subject, passes listed too."""
from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from collections.abc import Sequence

from ..checks.finding import Finding, State
from . import wording


def text(findings: Sequence[Finding], suites: Sequence[str], fail_on: str, car: str, system: str) -> str:
    """The document as text, in the units of the car (system). An open finding at or above the level is a failure, below it a passed case
    with the finding in its output; not evaluated is an error; waived and not applicable are skipped with the reason."""
    root = ElementTree.Element("testsuites", name=f"Crankline: {_plain(car)}")
    totals = {"tests": 0, "failures": 0, "errors": 0, "skipped": 0}
    for suite in suites:
        mine = [finding for finding in findings if finding.rule_set == suite]
        element = ElementTree.SubElement(root, "testsuite", name=suite)
        counts = dict.fromkeys(totals, 0)
        for finding in mine:
            counts["tests"] += 1
            kind = _case(element, finding, fail_on, system)
            if kind:
                counts[kind] += 1
        for name, count in counts.items():
            element.set(name, str(count))
            totals[name] += count
        element.set("time", "0")
    for name, count in totals.items():
        root.set(name, str(count))
    root.set("time", "0")
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _case(suite: ElementTree.Element, finding: Finding, fail_on: str, system: str) -> str:
    about = ", ".join(filter(None, [*finding.subjects, finding.discriminator]))
    case = ElementTree.SubElement(suite, "testcase", classname=_plain(f"{finding.rule_set}.{finding.rule}"), time="0",
                                  name=_plain(f"{finding.title} [{about}]" if about else finding.title))
    line = sentence(finding, system)
    if finding.state == State.NOT_EVALUATED:
        ElementTree.SubElement(case, "error", type=State.NOT_EVALUATED, message=_plain(finding.reason)).text = _plain(line)
        return "errors"
    if finding.state in (State.WAIVED, State.NOT_APPLICABLE):
        ElementTree.SubElement(case, "skipped", type=finding.state, message=_plain(f"{finding.state}: {finding.reason}"))
        return "skipped"
    if finding.counts(fail_on):
        ElementTree.SubElement(case, "failure", type=finding.severity, message=_plain(line)).text = _plain(
            f"{line} {finding.hint}.")
        return "failures"
    if finding.to_confirm:
        ElementTree.SubElement(case, "skipped", type="to-confirm", message=_plain(finding.reason))
        return "skipped"
    ElementTree.SubElement(case, "system-out").text = _plain(line)
    return ""


def sentence(finding: Finding, system: str) -> str:
    """A finding in one sentence: severity, state, title, what was measured, the limit, the margin, the basis."""
    grave = f"{finding.severity}, " if finding.unresolved else ""
    parts = [f"{grave}{finding.state}: {finding.title}"]
    about = wording.about(finding.subjects, finding.discriminator)
    if about:
        parts[0] += f" ({about})"
    measured = wording.measured(finding.measured, finding.comparison, finding.limit, finding.unit, system, finding.margin)
    parts += filter(None, [measured, finding.reason])
    parts.append(wording.basis(finding.basis))
    return "; ".join(parts) + "."


def _plain(value: str) -> str:
    """The text without what XML 1.0 cannot hold."""
    return "".join(c if c in "\t\n\r" or "\x20" <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c >= "\U00010000"
                   else "\ufffd" for c in value)
