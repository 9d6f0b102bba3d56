"""Rules of files that do not come with the program, where they ask for less than what comes with it: same id, weaker rule; or a limit on a
protective part that is weaker than that of every rule book that was read. What a newer edition of the same body's book prints is that
body's own word: it is told, and is no widening."""
from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from .conditions import All
from .rule import Alternative, Limit, Rule, RuleSet, Severity
from .rule_file import read
from .rule_sets import FOLDER, available


@dataclass(frozen=True)
class Widened:
    """A rule that asks for less: which, than which rule that comes with the program, in what, and how grave that is. newer: it is of a
    newer edition of the same body's book, which may."""
    rule: Rule
    shipped: Rule
    how: str
    severity: Severity
    newer: bool = False


@lru_cache(maxsize=1)
def _shipped() -> tuple[tuple[Rule, str], ...]:
    """Every rule on a protective part that comes with the program, and the sanctioning body of its set."""
    sets = [read(os.path.join(FOLDER, f"{name}.yaml")) for name in available()]
    return tuple((rule, item.body) for item in sets for rule in item.rules if not rule.waivable)


def widened(rules: Iterable[Rule], sets: Iterable[RuleSet] = (), latest: int | None = None) -> tuple[Widened, ...]:
    """The rules among these that ask for less of a protective part than those that come with the program. sets: theirs, which say whose
    books they hold; latest: year after which no edition is in force yet."""
    bodies = {item.name: item.body for item in sets}
    own = [rule for rule in rules if not _comes_with_us(rule.file)]
    return tuple(item for rule in own for item in _of(rule, bodies.get(rule.rule_set, ""), latest))


@lru_cache(maxsize=256)
def _comes_with_us(file: str) -> bool:
    return os.path.dirname(os.path.realpath(file)) == os.path.realpath(FOLDER)


def _of(rule: Rule, body: str, latest: int | None) -> Iterator[Widened]:
    same = next((item for item in _shipped() if item[0].id == rule.id), None)
    if same is not None:
        other, whose = same
        printed, own = list(_printed_less(rule, other)), list(_less(rule, other))
        newer = bool(body) and body == whose and not own and _newer(rule, other, latest)
        if how := "; ".join((*printed, *own)):
            yield Widened(rule, other, how, other.severity, newer)
        return
    books = [item for item in _shipped() if item[1] and item[0].quantity == rule.quantity and item[0].settings == rule.settings
             and item[0].comparison == rule.comparison and not item[0].to_confirm]
    if books and all(_weaker_limits(rule, other) for other, _whose in books):
        editions = [other for other, whose in books if whose == body]
        newer = bool(editions) and all(_newer(rule, other, latest) for other in editions)
        other = editions[-1] if newer else books[0][0]
        yield Widened(rule, other, _weaker_limits(rule, other), Severity.WARNING, newer)


def _newer(rule: Rule, other: Rule, latest: int | None) -> bool:
    """Whether a rule is of a later edition than another one, and of one that is printed by now."""
    mine, theirs = _year(rule), _year(other)
    return mine is not None and theirs is not None and theirs < mine <= (mine if latest is None else latest)


def _year(rule: Rule) -> int | None:
    """The (first) year that a rule's edition names."""
    found = re.search(r"\b(?:19|20)\d\d\b", rule.edition)
    return int(found.group()) if found else None


def _printed_less(rule: Rule, shipped: Rule) -> Iterator[str]:
    """In what a rule asks for less than another one, of what a book prints."""
    if rule.quantity != shipped.quantity or rule.comparison != shipped.comparison:
        yield f"it compares {rule.quantity} by {rule.comparison} instead of {shipped.quantity} by {shipped.comparison}"
    elif how := _weaker_limits(rule, shipped):
        yield how
    if rule.settings != shipped.settings:
        yield "it measures with other settings"
    if rule.when not in (shipped.when, All()):
        yield "it applies to other cars"


def _less(rule: Rule, shipped: Rule) -> Iterator[str]:
    """In what a rule asks for less than another one, of what whoever wrote the file chose."""
    if rule.severity.rank > shipped.severity.rank:
        yield f"its severity is {rule.severity} instead of {shipped.severity}"
    if rule.waivable:
        yield "it may be waived"
    if rule.to_confirm and not shipped.to_confirm:
        yield "it is from memory and decides nothing"


def _weaker_limits(rule: Rule, shipped: Rule) -> str:
    """What of a rule's limits is weaker than another one's; empty where nothing is. One comparison for both."""
    if rule.limit is not None and shipped.limit is not None:
        return "its limit is weaker" if _weaker(rule.limit, shipped.limit) else ""
    allowed = [item for item in rule.alternatives if not any(_no_less(item, other) for other in shipped.alternatives)]
    return "it allows what the other does not" if allowed else ""


def _no_less(mine: Alternative, theirs: Alternative) -> bool:
    """Whether what one alternative allows, another one allows too."""
    return _within(mine.words, theirs.words) and all(name in mine.sizes and not _weaker(mine.sizes[name], limit)
                                                    for name, limit in theirs.sizes.items())


def _within(mine: Mapping[str, Sequence[str]], theirs: Mapping[str, Sequence[str]]) -> bool:
    return all(name in mine and set(mine[name]) <= set(words) for name, words in theirs.items())


def _weaker(mine: Limit, theirs: Limit) -> bool:
    """Whether a limit lets through what another one does not."""
    if mine.formula or theirs.formula:
        return (mine.formula, mine.settings) != (theirs.formula, theirs.settings)
    return _low(mine) < _low(theirs) - _slack(theirs) or _high(mine) > _high(theirs) + _slack(theirs)


def _low(limit: Limit) -> float:
    return max((bound.low for bound in limit.binding if bound.low is not None), default=-math.inf)


def _high(limit: Limit) -> float:
    return min((bound.high for bound in limit.binding if bound.high is not None), default=math.inf)


def _slack(limit: Limit) -> float:
    """Rounding of a figure that is printed in two units: a hundredth of it."""
    return 0.01 * max((abs(value) for bound in limit.binding for value in (bound.low, bound.high) if value is not None), default=0.0)
