"""Rule files: YAML typed into rules, refused with file, line and key path where it is wrong."""
from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from .. import schema, source, spelling, units
from ..catalog import FAMILIES
from ..source import Node
from .conditions import TIME_TESTS, WORDS, All, AnyOf, Condition, OneOf, Time, Unless
from .quantity import FORMULAS, PLAIN, QUANTITIES, Quantity, Setting
from .rule import COMPARISONS, REASON_LENGTH, SEVERITIES, SYSTEMS, Alternative, Basis, Bound, Limit, Rule, RuleSet, Severity
from .specification import normal

VOCABULARY = {"form": ("tube", "strap"), "material": FAMILIES}
"""Component to the words that measuring functions find."""

_SET_KEYS = ("rule_set", "title", "edition", "about", "sanctioning_body", "not_covered", "include", "disable", "binds", "basis", "rules")
_RULE_KEYS = ("id", "title", "quantity", "comparison", "limit", "alternatives", "when", "severity", "basis", "hint",
              "waivable", "settings", "binds")


def read(path: str) -> RuleSet:
    """The rule set of a file; SourceError with file, line and key path where it is refused. A file is read again when it has changed."""
    try:
        stamp = os.stat(path)
    except OSError:
        return typed(source.read(path), name_of(path))      # which says what is wrong with it
    return _read(path, stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=64)
def _read(path: str, _changed: int, _size: int) -> RuleSet:
    return typed(source.read(path), name_of(path))


def name_of(path: str) -> str:
    """The name of the rule set that a file holds."""
    return os.path.splitext(os.path.basename(path))[0]


def parse(data: str, name: str = "rules") -> RuleSet:
    """The rule set of a text."""
    return typed(source.parse(data, name), name)


def typed(root: Node, name: str) -> RuleSet:
    """The rule set of a file's top mapping."""
    _known(root, _SET_KEYS)
    if root.at("rule_set").value != "1":
        raise root.at("rule_set").error("a rule set begins with 'rule_set: 1'")
    binds = _choice(root, "binds", SYSTEMS, "in")
    edition = _text(root, "edition")
    shared = _section(root, "basis")
    rules = []
    for node in _list(root, "rules"):
        rules.append(_rule(node, name, binds, shared, edition))
    ids = [rule.id for rule in rules]
    for rule in rules:
        if ids.count(rule.id) > 1:
            raise root.at("rules").error(f"the rule id {rule.id} is duplicated; give each rule its own id")
    return RuleSet(name, _text(root, "title"), edition, _text(root, "about", ""),
                   tuple(_word(node) for node in _list(root, "include")),
                   tuple(_disabled(node) for node in _list(root, "disable")), tuple(rules), root.file,
                   _text(root, "sanctioning_body", ""), tuple(_not_covered(node) for node in _list(root, "not_covered")))


def _not_covered(node: Node) -> tuple[str, str]:
    """What books regulate and no rule looks at, and where that stands."""
    _known(node, ("about", "clause"))
    return _text(node, "about"), _text(node, "clause")


def _disabled(node: Node) -> tuple[str, str, int]:
    """A rule that the set switches off, and why."""
    _known(node, ("rule", "reason"))
    reason = _text(node, "reason")
    if len(reason.strip()) < REASON_LENGTH:
        raise node.at("reason").error(f"{source.quoted(reason)} is not a reason; say in {REASON_LENGTH} characters or more why the rule "
                                      "is disabled")
    return _text(node, "rule"), reason, node.line


def _rule(node: Node, rule_set: str, set_binds: str, shared: dict[str, Node], edition: str) -> Rule:
    _known(node, _RULE_KEYS)
    rule_id = _text(node, "id")
    name = _choice(node, "quantity", tuple(QUANTITIES))
    quantity = QUANTITIES[name]
    comparison = _choice(node, "comparison", COMPARISONS)
    binds = _choice(node, "binds", SYSTEMS, set_binds)
    if ("limit" in node.mapping) == ("alternatives" in node.mapping):
        raise node.blame("either limit or alternatives is needed, and not both", "limit")
    if bool(quantity.components) != ("alternatives" in node.mapping):
        wanted = "alternatives" if quantity.components else "limit"
        raise node.blame(f"the quantity {name} is compared by {wanted}; give {wanted}", wanted)
    limit: Limit | None = None
    alternatives: tuple[Alternative, ...] = ()
    if "limit" in node.mapping:
        limit = _limit(node.mapping["limit"], quantity.kind, comparison, binds, quantity)
    else:
        if comparison not in ("<=", ">="):
            raise node.at("comparison").error(f"'{comparison}' was found; alternatives are compared by one of <=, >=")
        alternatives = tuple(_alternative(item, quantity, comparison, binds)
                             for item in _list(node, "alternatives"))
        if not alternatives:
            raise node.at("alternatives").error("the list is empty; give at least one alternative")
    if "binds" in node.mapping:
        limits = [limit] if limit is not None else [size for one in alternatives for size in one.sizes.values()]
        if not any(binds in dict(one.printed) or (binds == "stricter" and len(one.printed) > 1) for one in limits):
            raise node.at("binds").error(f"{source.quoted(binds)} was found, but no limit of this rule is printed so; give it as "
                                         "{in: ..., mm: ...}, or leave binds out")
    severity = Severity(_choice(node, "severity", SEVERITIES))
    basis = _basis(node, shared)
    if basis.source in ("common practice", "memory") and severity != "advice":
        raise node.at("severity").error(f"'{severity}' was found; a rule from {basis.source} is advice")
    return Rule(rule_id, rule_set, _text(node, "title"), name, comparison, limit, alternatives,
                _condition(node.mapping["when"]) if "when" in node.mapping else All(), severity, basis, _text(node, "hint"),
                _choice(node, "waivable", ("true", "false"), "true") == "true",
                _settings(_section(node, "settings"), quantity.settings, node, "settings"), basis.edition or edition, node.file, node.line)


def _basis(node: Node, shared: dict[str, Node]) -> Basis:
    """The rule's own basis over the one that the set gives for all its rules."""
    both = {**shared, **_section(node, "basis")}
    merged = Node("mapping", both, node.file, node.at("basis").line, source.joined(node.path, "basis"))
    basis: Basis = schema.Typing().record(merged, Basis)
    return basis


# --- limits -----------------------------------------------------------------------------------------------------------


def _limit(node: Node, kind: str, comparison: str, binds: str, quantity: Quantity) -> Limit:
    if node.kind == "mapping" and "formula" in node.mapping:
        return _formula(node, kind, quantity)
    if comparison == "within":
        if node.kind != "mapping" or set(node.mapping) != {"low", "high"}:
            raise node.error(f"{node.noun} was found; a limit of 'within' is {{low: ..., high: ...}}")
        low, high = (_printed(node.mapping[side], kind) for side in ("low", "high"))
        if set(low) != set(high):
            raise node.error("low and high are printed in different units; give both in the same units")
        bounds = {system: Bound(low[system][1], low[system][0], high[system][0]) for system in low}
        for system in bounds:
            if low[system][0] > high[system][0]:
                raise node.error(f"low {low[system][2]} lies above high {high[system][2]}; exchange them")
        texts = {system: f"{low[system][2]} to {high[system][2]}" for system in low}
    else:
        values = _printed(node, kind)
        bounds = {system: Bound(unit, value if comparison in (">=", "==") else None,
                                value if comparison in ("<=", "==") else None)
                  for system, (value, unit, _text_) in values.items()}
        texts = {system: shown for system, (_value, _unit, shown) in values.items()}
    chosen = tuple(bounds.values()) if binds == "stricter" else (bounds.get(binds, next(iter(bounds.values()))),)
    return Limit(chosen, tuple(texts.items()), chosen[0].unit)


def _printed(node: Node, kind: str) -> dict[str, tuple[float, str, str]]:
    """System (in, mm or the unit itself) to (inside value, unit, text as printed)."""
    if node.kind == "mapping":
        if kind != "length":
            raise node.error(f"{node.noun} was found; only lengths are printed in two units, give one {kind}")
        _known(node, ("in", "mm"))
        if not node.mapping:
            raise node.error("nothing was found; give {in: ..., mm: ...}")
        if len(node.mapping) == 1:
            (system, only), = node.mapping.items()
            raise node.error(f"only the figure in {system} was found; give {{in: ..., mm: ...}} as the book prints them, or "
                             f"{source.quoted(only.text)} alone where it prints one")
        found = {}
        for system, item in node.mapping.items():
            value, unit = _value(item, kind)
            if unit != system:
                raise item.error(f"{source.quoted(item.text)} was found; the figure printed in {system} is given in {system}")
            found[system] = (value, unit, item.text)
        return found
    value, unit = _value(node, kind)
    return {unit: (value, unit, node.text)}


MOST = 1e9
"""No limit is larger than this in inside units (mm, rad, MPa, ...): nothing would ever break it."""


def _value(node: Node, kind: str) -> tuple[float, str]:
    node.expect("scalar")
    try:
        value, unit = (units.number(node.text), "") if kind in PLAIN else (lambda one: (one.value, one.unit))(units.read(node.text, kind))
    except units.QuantityError as error:
        raise node.error(str(error)) from None
    if abs(value) > MOST:
        raise node.error(f"{source.quoted(node.text)} was found; no car comes near it, so that the rule would hold whatever is built; give "
                         "the figure that the book prints")
    return value, unit


def _formula(node: Node, kind: str, quantity: Quantity) -> Limit:
    name = _choice(node, "formula", tuple(FORMULAS))
    formula = FORMULAS[name]
    if formula.kind != kind:
        raise node.at("formula").error(f"{name} gives a limit of kind {formula.kind}; a {kind} is measured here")
    missing = [need for need in formula.needs if need not in quantity.gives]
    if missing:
        able = [one.name for one in FORMULAS.values() if one.kind == kind and set(one.needs) <= set(quantity.gives)]
        way_out = f"use {schema.listed(able)}, or give the limit as a figure" if able else "give the limit as a figure"
        raise node.at("formula").error(f"{name} needs the {' and '.join(missing).replace('_', ' ')}, which {quantity.name} does not give; "
                                       f"{way_out}")
    unit = ""
    if kind not in PLAIN:
        unit = _choice(node, "unit", tuple(units.UNITS[kind]))
    rest = {key: value for key, value in node.mapping.items() if key not in ("formula", "unit")}
    return Limit((), ((unit, name),), unit, name, _settings(rest, formula.settings, node))


def _of_component(name: str, node: Node) -> tuple[str, ...]:
    """Words that a component may be, checked where only some are ever found."""
    found = _words(node)
    if name == "specification":
        return tuple(map(normal, found))
    for word in found:
        if word not in VOCABULARY.get(name, (word,)):
            raise node.error(f"{source.quoted(word)} was found; {schema.listed(VOCABULARY[name])} is allowed"
                             f"{schema.closest(word, VOCABULARY[name])}")
    return found


def _alternative(node: Node, quantity: Quantity, comparison: str, binds: str) -> Alternative:
    components = quantity.components
    _known(node, tuple(components))
    words, sizes = {}, {}
    for key, value in node.mapping.items():
        if components[key] == "word":
            words[key] = _of_component(key, value)
        else:
            sizes[key] = _limit(value, components[key], comparison, binds, quantity)
    if not sizes:
        raise node.error("an alternative needs at least one size; add one of "
                         f"{', '.join(key for key, kind in components.items() if kind != 'word')}")
    return Alternative(words, sizes)


def _settings(given: dict[str, Node], described: Mapping[str, Setting], node: Node,
              *section: str) -> tuple[tuple[str, Any], ...]:
    """Every setting of a quantity or formula, stated or by default; a missing one is blamed on the node's section."""
    for key, value in given.items():
        if key not in described:
            if not described:
                raise value.error("the key is unknown; this quantity has no settings")
            raise schema.unknown(value, key, tuple(described))
    found = {}
    for name, setting in described.items():
        if name in given:
            found[name] = _setting(given[name], setting)
        elif setting.default is None:
            raise node.blame(f"the setting is missing; give {setting.doc}", *section, name)
        else:
            found[name] = setting.default
    return tuple(sorted(found.items()))


def _setting(node: Node, setting: Setting) -> Any:
    if setting.kind == "choices":
        found = _words(node)
        for word in found:
            if word not in setting.choices:
                raise node.error(f"{source.quoted(word)} was found; {schema.listed(setting.choices)} is allowed"
                                 f"{schema.closest(word, setting.choices)}")
            if found.count(word) > 1:
                raise node.error(f"{source.quoted(word)} was found {found.count(word)} times; name each once")
        return found
    if setting.kind == "choice":
        word = spelling.stored(_word(node))
        if word not in setting.choices:
            raise node.error(f"{source.quoted(word)} was found; {schema.listed(setting.choices)} is allowed"
                             f"{schema.closest(word, setting.choices)}")
        return word
    value, _unit = _value(node, setting.kind)
    if value <= 0.0:
        raise node.error(f"{source.quoted(node.text)} was found; a value above 0 is allowed ({setting.doc})")
    return value


# --- triggers ---------------------------------------------------------------------------------------------------------


def condition(text_: str) -> Condition:
    """A condition from text, as it stands under ``when``."""
    return _condition(source.parse(text_, "when"))


def _condition(node: Node) -> Condition:
    facts = (*WORDS, "elapsed_time", "any", "all", "unless")
    parts: list[Condition] = []
    for key, value in node.mapping.items():
        if key == "elapsed_time":
            parts += _times(value)
        elif key in ("any", "all"):
            if not value.items:
                raise value.error(f"the list is empty; '{key}' needs at least one condition")
            inner = tuple(_condition(item) for item in value.items)
            parts.append(AnyOf(inner) if key == "any" else All(inner))
        elif key == "unless":
            parts.append(Unless(_condition(value)))
        elif key in WORDS:
            words = _words(value)
            for word in words:
                if word not in WORDS[key]:
                    raise value.error(f"{source.quoted(word)} was found; {schema.listed(WORDS[key])} is allowed"
                                      f"{schema.closest(word, WORDS[key])}")
            parts.append(OneOf(key, words))
        else:
            raise schema.unknown(value, key, facts)
    return parts[0] if len(parts) == 1 else All(tuple(parts))


def _times(node: Node) -> list[Time]:
    _known(node, TIME_TESTS)
    if not node.mapping:
        raise node.error(f"nothing was found; {schema.listed(TIME_TESTS)} is allowed")
    found = []
    for test, pair in node.mapping.items():
        _known(pair, ("quarter", "eighth"))
        if not pair.mapping:
            raise pair.error("nothing was found; give {quarter: 13.99 s, eighth: 8.59 s}")
        times = {track: _value(value, "time")[0] for track, value in pair.mapping.items()}
        found.append(Time(test, times.get("quarter"), times.get("eighth")))
    return found


# --- small readers ----------------------------------------------------------------------------------------------------


def _known(node: Node, keys: Sequence[str]) -> bool:
    for key, value in node.mapping.items():
        if key not in keys:
            raise schema.unknown(value, key, keys)
    return True


def _text(node: Node, key: str, default: str | None = None) -> str:
    if key not in node.mapping:
        if default is None:
            raise node.blame("the key is missing; add a text", key)
        return default
    return _word(node.mapping[key])


def _word(node: Node) -> str:
    if not node.text.strip():
        raise node.error("nothing was found; a text is allowed")
    return node.text


def _words(node: Node) -> tuple[str, ...]:
    """One word or a list of words."""
    items = node.items if node.kind == "list" else (node,)
    if not items:
        raise node.error("the list is empty; give at least one word")
    return tuple(spelling.stored(_word(item)) for item in items)


def _list(node: Node, key: str) -> tuple[Node, ...]:
    return node.mapping[key].items if key in node.mapping else ()


def _section(node: Node, key: str) -> dict[str, Node]:
    return dict(node.mapping[key].mapping) if key in node.mapping else {}


def _choice(node: Node, key: str, words: Sequence[str], default: str | None = None) -> str:
    if key not in node.mapping:
        if default is None:
            raise node.blame(f"the key is missing; {schema.listed(words)} is allowed", key)
        return default
    word = _word(node.mapping[key])
    if word not in words:
        raise node.mapping[key].error(f"{source.quoted(word)} was found; {schema.listed(words)} is allowed"
                                    f"{schema.closest(word, words)}")
    return word
