"""What a run prints of its findings: one line each, worst first, and a line of counts."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from ..checks.finding import Finding, State
from . import wording

TO_CONFIRM = "to confirm"
"""What is said of a finding that neither passes nor fails: of a rule from memory, or of one that may not be about this car."""
NAMED = 5
"""So many rules that wait for the same thing are named; of the others the number."""


def lines(findings: Sequence[Finding], system: str, notes: Iterable[str] = (),
          not_covered: Sequence[Mapping[str, str]] = ()) -> list[str]:
    """What is open and what could not be evaluated, in the units of the car (system); many rules that wait for one thing share a line."""
    shown = [item for item in findings if item.unresolved or item.state == State.NOT_EVALUATED]
    shown.sort(key=lambda item: (item.severity.rank, item.state, item.rule, item.subjects))
    waiting: dict[str, list[Finding]] = {}
    for item in shown:
        if item.state == State.NOT_EVALUATED:
            waiting.setdefault(item.reason, []).append(item)
    found = []
    for item in shown:
        group = waiting.get(item.reason, ()) if item.state == State.NOT_EVALUATED else ()
        if len(group) < 2:
            found.append(_line(item, system))
        elif item is group[0]:
            found.append(_together(group))
    found += [f"note: {note}" for note in notes]
    if not_covered:
        found.append(f"not checked by any rule here: {'; '.join(item['about'] for item in not_covered)}. The report names the clauses")
    counts = Counter(TO_CONFIRM if item.unresolved and item.to_confirm else str(item.state) for item in findings)
    return [*found, ", ".join(f"{number} {state}" for state, number in sorted(counts.items())) or "nothing was checked"]


def _line(item: Finding, system: str) -> str:
    # Of a document's own trouble the object's message is what helps; of all else the number and the way out.
    health = item.rule_set == "document_health"
    measured = "" if health else wording.measured(item.measured, item.comparison, item.limit, item.unit, system)
    value = f" [{measured}]" if measured else ""
    told = item.reason or (item.how if health or item.rule_set == "protection" else "") or item.hint
    tail = f": {told}" if told else ""
    what = TO_CONFIRM if item.unresolved and item.to_confirm else item.severity if item.unresolved else "not evaluated"
    where = wording.about(item.subjects, item.discriminator) or "car"
    return f"{what}: {item.title} ({where}){value}{tail}"


def _together(group: list[Finding]) -> str:
    rules = list(dict.fromkeys(item.rule for item in group))
    more = f" and {len(rules) - NAMED} more" if len(rules) > NAMED else ""
    wait = "1 rule waits" if len(rules) == 1 else f"{len(rules)} rules wait"
    return f"not evaluated: {group[0].reason.rstrip('.')}; {wait} for it: {', '.join(rules[:NAMED])}{more}"
