"""Findings as JUnit XML: one suite a car, one case a rule and subject, passes listed too. Made from reports, of one car or of many."""
from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..checks.finding import Finding, State, from_row
from . import wording
from .suite import Suite

KINDS = ("tests", "failures", "errors", "skipped")


def text(suites: Sequence[Suite]) -> str:
    """The document as text, in the units of each car. An open finding at or above the level of its report is a failure, below it a passed
    case with the finding in its output, and the property ``open_below_fail_on`` counts those; not evaluated is an error; waived, not
    applicable and what asks to be confirmed are skipped with the reason. A car without a report is one case in error."""
    root = ElementTree.Element("testsuites", name="Crankline" + (f": {_plain(suites[0].name)}" if len(suites) == 1 else ""))
    totals = dict.fromkeys(KINDS, 0)
    for suite in suites:
        for name, count in _suite(root, suite).items():
            totals[name] += count
    _counted(root, totals, sum(suite.seconds for suite in suites))
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _suite(root: ElementTree.Element, suite: Suite) -> dict[str, int]:
    """One car's suite; its counts."""
    element, counts, report = ElementTree.SubElement(root, "testsuite", name=_plain(suite.name)), dict.fromkeys(KINDS, 0), suite.report
    # A dot would make a package of its own of what comes after it.
    package = suite.name.replace(".", "_")
    if report is None:
        case = ElementTree.SubElement(element, "testcase", classname=_plain(f"{package}.run"), name="the car was run",
                                      time=f"{suite.seconds:.3f}")
        ElementTree.SubElement(case, "error", type="no report", message=_plain(suite.sentence))
        counts.update(tests=1, errors=1)
    else:
        if (report.get("run") or {}).get("started"):
            element.set("timestamp", report["run"]["started"])
        findings, fail_on = [from_row(row) for row in report["findings"]], report["fail_on"]
        below = sum(one.unresolved and not one.to_confirm and not one.counts(fail_on) for one in findings)
        properties = ElementTree.SubElement(element, "properties")
        for name, value in _properties(report, below):
            ElementTree.SubElement(properties, "property", name=name, value=_plain(value))
        for one in findings:
            counts["tests"] += 1
            if kind := _case(element, package, one, fail_on, report["car"]["units"] or "in"):
                counts[kind] += 1
    _counted(element, counts, suite.seconds)
    return counts


def _counted(element: ElementTree.Element, counts: Mapping[str, int], seconds: float) -> None:
    for name, count in counts.items():
        element.set(name, str(count))
    element.set("time", f"{seconds:.3f}")


def _properties(report: Mapping[str, Any], below: int) -> Iterable[tuple[str, str]]:
    """What a server may want to know of a run: names and values."""
    yield "car", str(report["car"]["name"])
    yield "crankline", str(report["version"])
    yield from ((name, str(value)) for name, value in report["host"].items())
    yield from ((f"rule set {item['name']}", str(item["edition"])) for item in report["rule_sets"])
    yield "event_date", str(report.get("event_date", ""))
    yield "fail_on", str(report["fail_on"])
    yield "exit", str(report["exit"])
    if report.get("input"):
        yield "input", report["input"]["file"]
        yield "input_sha256", report["input"]["sha256"]
    yield "open_below_fail_on", str(below)


def _case(suite: ElementTree.Element, package: str, finding: Finding, fail_on: str, system: str) -> str:
    about = ", ".join(filter(None, [*finding.subjects, finding.discriminator]))
    case = ElementTree.SubElement(suite, "testcase", classname=_plain(f"{package}.{finding.rule_set}.{finding.rule}"), time="0",
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
