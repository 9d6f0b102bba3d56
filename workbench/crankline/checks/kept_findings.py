"""Findings as a document keeps them: what was found, when, and of which state of the car. Pure: without host."""
from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from .finding import Finding, from_row

FORMAT = 1


@dataclass(frozen=True)
class KeptFindings:
    """What a check found. when: day and minute; mark: digest of what the findings rest on."""
    findings: tuple[Finding, ...]
    when: str
    mark: str


def write(kept: KeptFindings) -> str:
    """As text to be kept in a document."""
    return json.dumps({"format": FORMAT, "when": kept.when, "mark": kept.mark, "findings": [asdict(one) for one in kept.findings]},
                      separators=(",", ":"))


def read(text: str) -> KeptFindings | None:
    """What was written; None where nothing was, or where it was damaged or another Crankline wrote it: then the car is checked again."""
    try:
        held = json.loads(text)
        if held["format"] != FORMAT:
            return None
        return KeptFindings(tuple(map(from_row, held["findings"])), str(held["when"]), str(held["mark"]))
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
