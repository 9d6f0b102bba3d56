"""What is open of a car's findings, as sheets list it: what has to be mended by its title, advice and what to confirm by how many."""
from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from ..reports import wording
from ..rules.rule import Severity


def rows(findings: Iterable[Any], told: Callable[[Any], str]) -> list[tuple[str, str]]:
    """(severity, text) of a check's findings; told: what is written of one. What was not evaluated is no pass and is counted."""
    given = tuple(findings)
    standing = [one for one in given if one.unresolved and not one.to_confirm]
    advice = sum(one.severity == Severity.ADVICE for one in standing)
    confirm = sum(one.unresolved and one.to_confirm for one in given)
    blind = sum(one.state == "not-evaluated" for one in given)
    return [*((str(one.severity), told(one)) for one in standing if one.severity != Severity.ADVICE),
            *[("advice", f"{advice} in the list of findings")] * bool(advice),
            *[("to confirm", f"{confirm} to be confirmed in the current rule book, see the list of findings")] * bool(confirm),
            *[("unknown", f"{blind} not evaluated, which is not a pass; see the list of findings")] * bool(blind)]


def title(finding: Any) -> str:
    """What a finding is about, without its numbers."""
    about = wording.about(finding.subjects, finding.discriminator)
    return str(finding.title) + (f" ({about})" if about else "")
