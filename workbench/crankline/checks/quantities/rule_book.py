"""Quantities of the rule sets themselves: whether a sanctioning body's book is among them, and what is switched off in them."""
from __future__ import annotations

from ...rules import conditions, widening
from ...rules.quantity import NO_DIMENSION, Found, Measurement, Setting, quantity
from ...rules.rule import SEVERITIES
from ...rules.rule_sets import Selection
from ...snapshot import Snapshot
from ..context import Context

CAR = ("car",)

CONTAINMENT = ("loop_", "enclosure_", "open_shaft_", "joint_shield")
"""How the quantities are named that say whether a broken driveshaft is contained. A book that was only asked about papers, wheelbase or
bolts has judged no loop."""


@quantity("rule_books", "count", no_remedy=NO_DIMENSION)
def rule_books(snapshot: Snapshot, context: Context) -> Found:
    """Rules on what contains the driveshaft, in the books of sanctioning bodies, that apply to the car."""
    selection = context.selection
    bodies = {item.name: item.body for item in selection.sets if item.body}
    held = [rule for rule in selection.rules if rule.rule_set in bodies and not rule.waivable and not rule.to_confirm
            and rule.quantity.startswith(CONTAINMENT)]
    apply = [rule for rule in held if conditions.holds(rule.when, context.facts)[0]]
    books = ", ".join(dict.fromkeys(f"{bodies[rule.rule_set]} ({rule.rule_set})" for rule in apply))
    if apply:
        how = f"{len(apply)} rules of {books}"
    elif held:
        sets = ", ".join(dict.fromkeys(rule.rule_set for rule in held))
        how = f"none of the {len(held)} rules on loops, shields and enclosure in {sets} applies"
    else:
        how = "no sanctioning body's rule book checked the loops, shields and enclosure of this car"
    return (Measurement(float(len(apply)), CAR, how=how),)


@quantity("disabled_rules", "count", no_remedy=NO_DIMENSION,
          severity=Setting("choice", None, "severity of the rules that are counted", SEVERITIES))
def disabled_rules(snapshot: Snapshot, context: Context) -> Found:
    """Rules on protective parts that apply to the car and that a rule set switches off, one finding a rule; none is one value of 0."""
    off = [item for item in context.selection.disabled
           if not item.rule.waivable and item.rule.severity == context.settings["severity"]
           and conditions.holds(item.rule.when, context.facts)[0] is not False]
    if not off:
        return (Measurement(0.0, CAR, how="none is disabled"),)
    return tuple(Measurement(1.0, CAR, item.rule.id, how=f"{item.rule.id} ({item.rule.title}) is disabled by {item.file}, "
                             f"line {item.line}: {item.reason}") for item in off)


@quantity("widened_rules", "count", no_remedy=NO_DIMENSION,
          severity=Setting("choice", None, "severity of the rules that are counted", SEVERITIES))
def widened_rules(snapshot: Snapshot, context: Context) -> Found:
    """Rules of added files that ask for less of a protective part than the rule of that id, or than every rule book that comes with the
    program, one finding a rule; none is one value of 0. A newer edition of the same body's book is noted instead (``edition_notes``)."""
    selection = context.selection
    # Only where a rule asks for less does the day tell whether its edition may.
    any_less = widening.widened(selection.rules, selection.sets)
    found = [item for item in (widening.widened(selection.rules, selection.sets, context.event_date.year + 1) if any_less else ())
             if not item.newer and item.severity == context.settings["severity"]
             and conditions.holds(item.shipped.when, context.facts)[0] is not False]
    if not found:
        return (Measurement(0.0, CAR, how="none asks for less"),)
    return tuple(Measurement(1.0, CAR, item.rule.id, how=f"{item.rule.id} ({item.rule.title}) in {item.rule.file}, line {item.rule.line}, "
                             f"asks for less than {item.shipped.id} of {item.shipped.rule_set}: {item.how}") for item in found)


def edition_notes(selection: Selection, latest: int) -> tuple[str, ...]:
    """One sentence for each rule that asks for less than an older edition of the same body's book, which comes with the program."""
    return tuple(f"{item.rule.id} ({item.rule.title}) in {item.rule.file}, line {item.rule.line}, asks for less than {item.shipped.id} of "
                 f"the {item.shipped.edition} edition ({item.how}); it says that it is of the {item.rule.edition} edition of the same "
                 "body's book: confirm its page with the inspector"
                 for item in widening.widened(selection.rules, selection.sets, latest) if item.newer)


SCREENS = ("containment", "clearance", "driveline", "strength")
"""Sets that come with the program and look at what no sanctioning body's book does: whether a car that is not screened by one holds
together is not known."""


@quantity("screens_missing", "count", no_remedy=NO_DIMENSION)
def screens_missing(snapshot: Snapshot, context: Context) -> Found:
    """Sets of containment, clearance, driveline and strength that the car does not use, so that nobody looked at what they are about."""
    used = {item.name for item in context.selection.sets}
    lacking = [name for name in SCREENS if name not in used]
    return (Measurement(float(len(lacking)), CAR, how=f"not used: {', '.join(lacking)}" if lacking else "all are used"),)
