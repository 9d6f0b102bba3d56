"""A finding in words, for the findings dock, in the units of its car (system ``in`` or ``mm``). Pure: without host and Qt."""
from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from .. import model
from ..checks.finding import Finding, State
from ..record import entries
from ..reports import wording
from ..reports.wording import basis, number, sentence
from ..rules.rule import SEVERITIES

ORDER = (State.OPEN, State.WAIVER_VOID, State.NOT_EVALUATED, State.WAIVED, State.PASSED, State.NOT_APPLICABLE)
"""States in the order in which they are listed."""


def rank(finding: Finding) -> tuple:
    """What findings are sorted by: what stands against the car first, the gravest first."""
    return ORDER.index(finding.state), finding.severity.rank, finding.rule, finding.subjects, finding.discriminator


def counts(findings: Iterable[Finding]) -> str:
    """How many of each stand against the car, in one line."""
    findings = tuple(findings)
    still = [finding for finding in findings if finding.unresolved and not finding.to_confirm]
    words = [f"{sum(finding.severity == severity for finding in still)} {severity}" for severity in SEVERITIES]
    told = [f"open: {', '.join(words)}"]
    if unsure := sum(finding.unresolved and finding.to_confirm for finding in findings):
        told.append(f"to confirm: {unsure}")
    for state, word in ((State.NOT_EVALUATED, "not evaluated"), (State.WAIVED, "waived"), (State.PASSED, "passed")):
        number = sum(finding.state == state for finding in findings)
        if number or state != State.WAIVED:
            told.append(f"{word}: {number}")
    return "; ".join(told)


def summary(car: str, findings: Iterable[Finding], unused: int, when: str, stale: bool) -> str:
    """What was found in a car, in one line. unused: waivers that waive nothing; when: it was kept in the document."""
    told = f"{f'As of {when}: ' if when else ''}{car}: {counts(findings)}"
    if unused:
        told += f"; {unused} unused waiver{'s' if unused > 1 else ''}"
    return f"Stale, the car has changed since this check. {told}" if stale else told


def measured(finding: Finding, system: str, margin: bool = True) -> str:
    """What was measured, what is required and, where wanted, the margin; empty where nothing was measured."""
    return wording.measured(finding.measured, finding.comparison, finding.limit, finding.unit, system, finding.margin if margin else None)


def title(finding: Finding) -> str:
    """A finding's title with what tells it from its neighbors (the pose, the joint)."""
    return f"{finding.title} ({finding.discriminator})" if finding.discriminator else finding.title


def state(finding: Finding, stale: bool = False) -> str:
    """The state in words; a stale one says so."""
    return finding.state.replace("-", " ") + (", stale" if stale else "")


def cells(finding: Finding, labels: Sequence[str], system: str, stale: bool = False) -> tuple[str, ...]:
    """A finding as one row: state, severity, rule, part, measured, limit, margin, basis."""
    return (state(finding, stale), finding.severity, title(finding), "; ".join(labels), number(finding.measured, finding.unit, system),
            wording.limit(finding.comparison, finding.limit, finding.unit, system),
            number(finding.margin, finding.unit, system, sign=True), basis(finding.basis))


def details(finding: Finding, labels: Sequence[str], system: str, stale: Sequence[str] | None = None,
            known: Mapping[str, str] | None = None) -> str:
    """Everything about a finding in sentences, what to do first. stale: labels of the parts that have changed since, None where nothing
    has; known: key to label of the parts that the sentences may name."""
    lines, hint, how, reason = [title(finding)], *(labeled(text, known or {}) for text in (finding.hint, finding.how, finding.reason))
    if finding.unresolved and hint:
        lines.append(sentence(f"What to do: {hint}"))
    elif finding.state == State.NOT_EVALUATED:
        lines.append(sentence(f"What to do: {reason}"))
    if stale is not None:
        have = "has" if len(stale) == 1 else "have"
        what = f"since then {'; '.join(stale)} {have} changed" if stale else "the car has changed since then"
        lines.append(f"Stale: this was measured before the last change; {what}. Check again.")
    lines.append(f"{finding.state.replace('-', ' ').capitalize()}, {finding.severity}.")
    reason = "" if finding.state == State.NOT_EVALUATED else reason
    lines += [sentence(text) for text in (measured(finding, system), how, reason) if text]
    if labels:
        lines.append(f"Parts: {'; '.join(labels)}.")
    lines.append(f"Rule {finding.rule} of {finding.rule_set}. Basis: {basis(finding.basis)}.")
    if finding.waiver:
        lines.append(waiver(finding.waiver))
    elif finding.unresolved and not finding.waivable:
        lines.append("This rule is about a protective part and cannot be waived.")
    lines.append("The current rule book, the chassis inspector and a qualified welder decide; this is only an aid.")
    return "\n\n".join(lines)


_PATH = re.compile(rf"\b((?:{'|'.join(entries(model.Car))})\.(?:[a-z_]+\.)*)([a-z_]+)\b")
"""A path of the car file: its section, and the field."""


def labeled(text: str, known: Mapping[str, str]) -> str:
    """A text with the keys of parts as their labels, and paths of the car file in words (``placement.crank_height`` is crank height of
    placement); a key that is an ordinary word too (``engine``) stays."""
    text = _PATH.sub(lambda match: f"{match[2].replace('_', ' ')} of {match[1].rstrip('.').rpartition('.')[2].replace('_', ' ')}", text)
    keys = [key for key in known if "_" in key or "/" in key]
    if not keys:
        return text
    pattern = "|".join(re.escape(key) for key in sorted(keys, key=len, reverse=True))
    return re.sub(rf"(?<![\w/.])(?:{pattern})(?![\w/])", lambda match: known[match[0]], text)


def waiver(given: dict) -> str:
    """A waiver in one sentence."""
    told = f"Waiver by {given['author']}, {given['date']}: {given['reason'].rstrip('.')}"
    more = [f"{word} {given[name]:g}" if isinstance(given[name], float) else f"{word} {given[name]}"
            for name, word in (("expires", "until"), ("measured", "measured then"), ("compared", "of"), ("edition", "edition"))
            if given.get(name) is not None]
    return f"{told} ({', '.join(more)})." if more else f"{told}."


def unused(rule: str, why: str, given: dict) -> str:
    """A waiver that waives nothing, in sentences."""
    return f"Unused waiver of {rule}.\n\n{sentence(why)}\n\n{waiver(given)}"


def waiver_scope(finding: Finding, labels: Sequence[str], findings: Iterable[Finding], system: str) -> str:
    """What a waiver of a finding will be about: a waiver speaks of a rule and its parts, so of every pose and joint at once."""
    told = f"{title(finding)}: {'; '.join(labels) or 'the car'}"
    told += f"; {measured(finding, system, margin=False)}" if finding.measured is not None else ""
    others = [other.discriminator for other in findings if other.id != finding.id and other.rule == finding.rule
              and other.subjects == finding.subjects and other.state in (State.OPEN, State.WAIVED, State.WAIVER_VOID)]
    if others:
        told += (f". The waiver will also cover the same rule and parts elsewhere ({'; '.join(others)}); it is void there where "
                 "the value is worse")
    return f"{told}."
