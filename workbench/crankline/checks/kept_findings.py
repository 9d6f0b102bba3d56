"""Findings as a document keeps them: what was found, when, and of which state of the car. Pure: without host."""
from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from typing import Any

from ..rules.rule import Severity
from .finding import Finding, Looked, State

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
        return KeptFindings(tuple(map(_finding, held["findings"])), str(held["when"]), str(held["mark"]))
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


def _finding(row: dict[str, Any]) -> Finding:
    known = {one.name for one in fields(Finding)}
    given = {name: value for name, value in row.items() if name in known}
    limit = given.get("limit")
    return Finding(**{**given, "severity": Severity(given["severity"]), "state": State(given["state"]),
                      "looked_for": Looked(given.get("looked_for", Looked.NO)), "subjects": _texts(given["subjects"]),
                      "limit": tuple(map(float, limit)) if isinstance(limit, list) else limit,
                      "points": tuple(tuple(map(float, point)) for point in given.get("points", ())),
                      "remedies": tuple(dict(one) for one in given.get("remedies", ()))})


def _texts(values: Iterable[Any]) -> tuple[str, ...]:
    return tuple(map(str, values))
