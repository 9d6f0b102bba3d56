"""Giving a finding a waiver, as a user asks for it: refused with a sentence, or asked for, and written as one undo step."""
from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from typing import Any

from ..checks import waivers
from ..checks.finding import Finding
from . import actions, waiver_dialog
from . import finding_words as words
from .messages import attempt, show_message


def waive(parent: Any, layout: Any, finding: Finding, labels: Sequence[str], findings: Iterable[Finding], system: str,
          event_date: datetime.date, stale: bool) -> bool:
    """Ask for a waiver of a finding and write it; whether one was given. labels: of its parts; findings: of the same check."""
    refused = waivers.refusal(finding)
    if not refused and stale:
        refused = "The car has changed since this check; check again, then waive what is still open."
    if refused:
        show_message("Waive Finding", refused)
        return False
    name = "Renew waiver" if finding.waiver else "Waive finding"
    given = waiver_dialog.ask(parent, finding, words.waiver_scope(finding, labels, findings, system), event_date, finding.waiver)
    if given is None:
        return False
    attempt(name, lambda: actions.set_waivers(layout, waivers.with_waiver(actions.waivers_of(layout), finding, given), name))
    return True
