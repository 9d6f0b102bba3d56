"""Rules and rule sets as records: what a rule file holds once it is typed."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cached_property
from typing import Any

from ..record import choice, text
from .conditions import Condition


class Severity(StrEnum):
    """How grave an open finding is, from the worst."""
    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return SEVERITIES.index(self)


SEVERITIES = tuple(Severity)
"""From the worst."""

REASON_LENGTH = 10
"""The reason of a waiver, or of a rule that is switched off, has at least so many characters."""

COMPARISONS = ("<=", ">=", "within", "==")
SYSTEMS = ("in", "mm", "stricter")
SOURCES = ("seen", "seen_second_hand", "our_reading", "memory", "common practice", "computed", "invented", "program")
"""seen: read in the book itself; seen_second_hand: on a page that quotes it; our_reading: the book says it without the figure, or of other
cars than it is taken for here, as the note tells; memory: remembered, asks to be confirmed;
common practice: what the trade does; computed: follows from published mechanics; invented: for the demos; program: about
the document, not the car."""


@dataclass(frozen=True)
class Basis:
    """What a rule rests on."""
    document: str = text("document", required=True)
    edition: str = text("edition or date")
    clause: str = text("clause or page")
    address: str = text("where it was read")
    source: str = choice("how it is known", *SOURCES, required=True)
    note: str = text("what to keep in mind")

    def words(self, note: bool = False) -> str:
        """Where a rule comes from, in one line, with how it is known (seen, memory, common practice). note: with what to keep in mind."""
        fields = (self.document, self.edition, self.clause, *((self.note,) if note else ()))
        words, known = ", ".join(filter(None, fields)), (self.source or "").replace("_", " ")
        return f"{words} ({known})" if words and known and known != words else words or known

    def to_json(self) -> dict[str, str]:
        """The basis as it stands in the report; absent fields are left out."""
        return dict(self._row)

    @cached_property
    def _row(self) -> dict[str, str]:
        return {one.name: value for one in fields(self) if (value := getattr(self, one.name)) is not None}


@dataclass(frozen=True)
class Bound:
    """A limit in one printed unit: low and high in inside units, None where there is none on that side."""
    unit: str
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Limit:
    """A limit in every unit in which it is printed. binding: the bounds that decide. A limit by formula has none: it is
    computed with what was measured."""
    binding: tuple[Bound, ...]
    printed: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    formula: str = ""
    settings: tuple[tuple[str, Any], ...] = ()


@dataclass(frozen=True)
class Alternative:
    """One allowed make: words that must match (material, form) and limits of named components."""
    words: Mapping[str, tuple[str, ...]]
    sizes: Mapping[str, Limit]


@dataclass(frozen=True)
class Rule:
    """One rule. Either ``limit`` or ``alternatives`` is given. edition: of its set; a waiver is given for an edition."""
    id: str
    rule_set: str
    title: str
    quantity: str
    comparison: str
    limit: Limit | None
    alternatives: tuple[Alternative, ...]
    when: Condition
    severity: Severity
    basis: Basis
    hint: str
    waivable: bool
    settings: tuple[tuple[str, Any], ...]
    edition: str
    file: str
    line: int

    def __hash__(self) -> int:
        # What is equal has one id, and no two rules of a run share one.
        return hash(self.id)

    @property
    def to_confirm(self) -> bool:
        """Whether it rests on memory alone: it then asks to be confirmed and decides nothing."""
        return self.basis.source == "memory"


@dataclass(frozen=True)
class RuleSet:
    """One file. include: names of sets that apply with it; disabled: (rule id, reason, line) that it switches off in them. body: the
    sanctioning body whose book it holds; empty for practice and mechanics. not_covered: (what, clause) that books regulate and no rule
    looks at."""
    name: str
    title: str
    edition: str
    about: str
    include: tuple[str, ...]
    disabled: tuple[tuple[str, str, int], ...]
    rules: tuple[Rule, ...]
    file: str
    body: str = ""
    not_covered: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Disabled:
    """A rule that is switched off, by which set, why, and where that stands."""
    rule: Rule
    rule_set: str
    reason: str
    file: str
    line: int
