"""Waivers: findings that somebody has decided to live with, and when that decision no longer holds."""
from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .. import model, schema
from ..rules.rule import REASON_LENGTH
from .comparing import margin_of
from .finding import Finding, State

WORSE = 1e-4
"""A margin that has fallen by no more than this, in the rule's unit, has not worsened: two versions of the host measure
the same shape to that."""


@dataclass(frozen=True)
class Unused:
    """A waiver that waives nothing, and why."""
    waiver: model.Waiver
    why: str

    def to_json(self) -> dict[str, Any]:
        """As it stands in the report."""
        return {**as_json(self.waiver), "why": self.why}


def as_json(waiver: model.Waiver) -> dict[str, Any]:
    """A waiver as it stands in the report; absent fields are left out."""
    entries = {name: getattr(waiver, name) for name in ("rule", "reason", "author", "date", "expires", "measured", "compared", "edition")
            if getattr(waiver, name, None) is not None}
    return {**entries, "subjects": list(waiver.subjects or ())}


def apply(findings: Iterable[Finding], waivers: Sequence[model.Waiver],
          event_date: datetime.date, today: datetime.date | None = None) -> tuple[list[Finding], list[Unused]]:
    """The findings with waivers applied, and the waivers that none of them used.

    A waiver speaks of a rule and of exactly its subjects; without subjects, of every subject of the rule. It is void
    when it has expired at the event, when it is dated in the future (today: absent, that is not looked at), when the margin is worse than
    the one it was given for, when another size or unit decides than the one it was given for, when the edition of the rule has changed,
    or when the rule protects people and cannot be waived.
    """
    findings = list(findings)
    used: set[int] = set()
    result = []
    for finding in findings:
        index = _match(finding, waivers, event_date, today) if finding.state == State.OPEN else None
        if index is None:
            result.append(finding)
            continue
        used.add(index)
        waiver = waivers[index]
        void = _void(finding, waiver, event_date, today)
        result.append(replace(finding, state=State.WAIVER_VOID if void else State.WAIVED, waiver=as_json(waiver),
                              reason=f"waiver is void: {void}" if void else f"waived by {waiver.author}, {waiver.date}: "
                                                                            f"{waiver.reason}"))
    unused = [Unused(waiver, _why_unused(waiver, findings)) for i, waiver in enumerate(waivers) if i not in used]
    return result, unused


def _match(finding: Finding, waivers: Sequence[model.Waiver], event_date: datetime.date | None = None,
           today: datetime.date | None = None) -> int | None:
    """The waiver that speaks of a finding; one that holds before one that is void, one that names the subjects before one that names
    none. event_date: absent, none is asked whether it holds."""
    def void(index: int) -> bool:
        return event_date is not None and bool(_void(finding, waivers[index], event_date, today))
    fitting = [i for i, waiver in enumerate(waivers) if waiver.rule == finding.rule
               and (not waiver.subjects or set(waiver.subjects) == set(finding.subjects))]
    return min(fitting, key=lambda i: (void(i), not waivers[i].subjects, i)) if fitting else None


def _void(finding: Finding, waiver: model.Waiver, event_date: datetime.date, today: datetime.date | None = None) -> str:
    """Why a waiver does not hold; empty where it does."""
    if not finding.waivable:
        return "this rule is about a protective part and cannot be waived"
    if len(waiver.reason.strip()) < REASON_LENGTH:
        return f"its reason has fewer than {REASON_LENGTH} characters; say why"
    if not waiver.author.strip():
        return "it has no name of who approved it"
    if not schema.is_date(waiver.date):
        return f"its date {waiver.date!r} is not a date; write YYYY-MM-DD"
    if today is not None and datetime.date.fromisoformat(waiver.date) > today:
        return f"it is dated {waiver.date}, which is still to come (today is {today})"
    if waiver.expires and not schema.is_date(waiver.expires):
        return f"its expiration date {waiver.expires!r} is not a date; write YYYY-MM-DD"
    if waiver.expires and datetime.date.fromisoformat(waiver.expires) < event_date:
        return f"it expired on {waiver.expires}"
    if waiver.edition is None:
        return f"it does not say which edition of the rule it is for; add edition: {finding.edition}"
    if waiver.edition != finding.edition:
        return f"it is for edition {waiver.edition} of the rule, which is now {finding.edition}"
    if finding.margin is None:
        given_for = None if waiver.measured is None else f"it was given for {waiver.measured:g} {waiver.compared or ''}".rstrip()
        return "" if given_for is None else f"{given_for}, and nothing is measured now"
    if waiver.measured is None:
        return f"it does not say what was measured; add measured: {finding.measured:g}"
    if waiver.compared is None and finding.component:
        return f"it does not say which dimension {waiver.measured:g} is; add compared: {finding.compared}, if that is the one"
    if waiver.compared is not None and waiver.compared != finding.compared:
        return (f"it was given for {waiver.measured:g} {waiver.compared}, and what decides now is "
                f"{finding.measured:g} {finding.compared}").rstrip()
    low, high = finding.limit if isinstance(finding.limit, tuple) else (finding.limit, finding.limit)
    then = margin_of(finding.comparison, waiver.measured, low, high)
    if finding.margin < then - WORSE:
        return (f"{finding.measured:g} {finding.unit} is worse than the {waiver.measured:g} {finding.unit} that it was "
                "given for").replace("  ", " ")
    return ""


def _why_unused(waiver: model.Waiver, findings: Sequence[Finding]) -> str:
    of_rule = [finding for finding in findings if finding.rule == waiver.rule]
    if not of_rule:
        return f"no rule {waiver.rule} in the car's rule sets"
    same = [finding for finding in of_rule if not waiver.subjects or set(waiver.subjects) == set(finding.subjects)]
    if not same:
        return "the rule has no finding on these subjects"
    # Where one of them still stands, another waiver was taken for it.
    if any(finding.state in (State.OPEN, State.WAIVED, State.WAIVER_VOID) for finding in same):
        return "another waiver covers its finding"
    return f"its finding is {', '.join(sorted({finding.state for finding in same}))}"


# --- giving and taking back -------------------------------------------------------------------------------------------


class WaiverError(ValueError):
    """A waiver that cannot be given as asked. One sentence."""


def speaking(finding: Finding, waivers: Sequence[model.Waiver]) -> int | None:
    """Place of the waiver that speaks of a finding; None where none does."""
    return _match(finding, waivers)


def refusal(finding: Finding) -> str:
    """Why a finding cannot be waived, one sentence; empty where it can."""
    if not finding.waivable:
        return f"{finding.rule} is about a protective part and cannot be waived; fix the car instead."
    if not finding.unresolved:
        return f"This finding is {finding.state.replace('-', ' ')}; only an open finding can be waived."
    return ""


def new_waiver(finding: Finding, reason: str, author: str, date: datetime.date, expires: str = "",
          event_date: datetime.date | None = None) -> model.Waiver:
    """The waiver of a finding as it is now: its measured value and the edition of its rule go in, so that it is void when they
    worsen or change, and the size that decided. expires: YYYY-MM-DD or empty. WaiverError says what is wrong with what was written."""
    why_not = refusal(finding)
    if why_not:
        raise WaiverError(why_not)
    reason, author, expires = " ".join(reason.split()), " ".join(author.split()), expires.strip()
    if len(reason) < REASON_LENGTH:
        raise WaiverError(f"Reason: {len(reason)} characters are not enough; write at least {REASON_LENGTH}.")
    if not author:
        raise WaiverError("Approved by: it is empty; write who approves this.")
    if expires and not schema.is_date(expires):
        raise WaiverError(f"Expires: {expires!r} is not a date; write YYYY-MM-DD, or leave it blank.")
    latest = max(date, event_date or date)
    if expires and datetime.date.fromisoformat(expires) < latest:
        raise WaiverError(f"Expires: {expires} lies before {latest.isoformat()}, so the waiver would be void at once; write a later date, "
                          "or leave it blank.")
    # What is empty is left out of the record: absent, not an empty text.
    stated: dict[str, Any] = {"subjects": finding.subjects or None, "expires": expires or None, "edition": finding.edition or None,
                              "measured": finding.measured, "compared": finding.compared or None}
    return model.Waiver(rule=finding.rule, reason=reason, author=author, date=date.isoformat(), **stated)


def with_waiver(waivers: Sequence[model.Waiver], finding: Finding, new: model.Waiver) -> tuple[model.Waiver, ...]:
    """The waivers with a new one, in the place of the one that spoke of the finding; one that spoke of other subjects too stays."""
    index = speaking(finding, waivers)
    if index is None or (finding.subjects and not waivers[index].subjects):
        return (*waivers, new)
    return (*waivers[:index], new, *waivers[index + 1:])


def without(waivers: Sequence[model.Waiver], index: int) -> tuple[model.Waiver, ...]:
    """The waivers without the one at a place."""
    return (*waivers[:index], *waivers[index + 1:])
