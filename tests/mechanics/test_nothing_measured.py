"""Nothing measured is never a pass: every quantity, with each part that it looks at in error or gone, and without a host."""
from __future__ import annotations

import pytest
import snapshot_fakes as fakes

from crankline.checks import evaluate
from crankline.checks.context import Context
from crankline.checks.finding import State
from crankline.rules import rule_sets
from crankline.rules.quantity import QUANTITIES, Doubt, Measurement, Part, Unmeasured, no_part, vouched
from crankline.rules.rule import Rule

CARS = {"automatic": fakes.automatic(), "clutch": fakes.clutch()}
RULES = tuple({(rule.quantity, rule.settings): rule for name in rule_sets.available()
               for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules}.values())
"""One rule for each quantity and its settings, of every set that comes with the program."""


def looks(rule: Rule, part, *asks: str) -> bool:
    """Whether a rule's quantity declares a part in one of these ways."""
    return any(getattr(QUANTITIES[rule.quantity], name)(Part(part.kind, part.key, dict(rule.settings))) for name in asks)


def told(rule, snapshot, measurer):
    return [item for item in evaluate.evaluate([rule], snapshot, measurer) if item.state != State.NOT_APPLICABLE]


def test_every_quantity_says_which_parts_it_measures():
    """One that takes effort measures shapes; a rule of each is tried here."""
    assert {name for name, item in QUANTITIES.items() if item.effort} <= {rule.quantity for rule in RULES} | {"released_shaft_drop"}
    for item in QUANTITIES.values():
        assert not item.effort or item.looks_at is not no_part or item.each is not no_part, item.name


@pytest.mark.parametrize("name", CARS)
def test_no_quantity_passes_on_a_part_in_error(name):
    """With any part that it looks at in error, or gone with its object in error, no value stands that the part counts for."""
    whole = fakes.snapshot(CARS[name])
    tried = set()
    for rule in RULES:
        for part in whole.parts:
            if not looks(rule, part, "looks_at", "each"):
                continue
            for without in ((), (part.key,)):
                shot = fakes.snapshot(CARS[name], unsound=[fakes.unsound(part.key)], without=without)
                found = told(rule, shot, fakes.FakeMeasurer())
                spoils = looks(rule, part, "looks_at")
                stands = [item for item in found if item.state != State.NOT_EVALUATED and (spoils or part.key in item.subjects)]
                assert not stands, (rule.id, part.key, stands[0].state)
                applies = evaluate.evaluate([rule], shot, fakes.FakeMeasurer())[0].state != State.NOT_APPLICABLE
                assert not applies or any(item.state == State.NOT_EVALUATED for item in found), (rule.id, part.key)
                tried.add((rule.quantity, part.kind))
    assert {("enclosure_supports", "enclosure_mount"), ("interference", "engine"), ("plate_corners", "rail_tab"),
            ("released_shaft_over_track", "transmission")} <= tried


def test_a_quantity_is_handed_no_part_that_it_does_not_declare():
    """What it does not declare it cannot overlook."""
    context = Context(fakes.snapshot(fakes.automatic()), fakes.FakeMeasurer())
    seen = context.shown(QUANTITIES["enclosure_length"])
    assert [part.kind for part in seen.parts] == ["enclosure"]
    with pytest.raises(TypeError, match="enclosure_length does not declare that it looks at loop/front"):
        context.part("loop/front")


def test_a_value_that_hangs_on_a_doubtful_part_is_taken_back():
    both = (Measurement(1.0, ("a",)), Measurement(2.0, ("b",), "pose"))
    assert vouched(both, ()) == both
    assert vouched(both, [Doubt("x", "why", alone=False)]) == (Unmeasured(("a",), "why"), Unmeasured(("b",), "why", "pose"))
    assert vouched(both, [Doubt("b", "why", alone=True)]) == (both[0], Unmeasured(("b",), "why", "pose"))
    assert vouched(both[:1], [Doubt("b", "why", alone=True)]) == (both[0], Unmeasured(("b",), "why"))
    assert vouched((), [Doubt("b", "why", alone=False)]) == (Unmeasured(("b",), "why"),)


@pytest.mark.parametrize("name", CARS)
def test_without_a_host_what_is_measured_on_shapes_is_not_evaluated(name, monkeypatch):
    """Every quantity, whatever it imports: nothing ends in a traceback."""
    for module in ("FreeCAD", "Part"):
        monkeypatch.setitem(__import__("sys").modules, module, None)
    shot = fakes.snapshot(CARS[name])
    for item in evaluate.evaluate(RULES, shot, None):
        if QUANTITIES[next(rule for rule in RULES if rule.id == item.rule).quantity].effort:
            assert item.state in (State.NOT_EVALUATED, State.NOT_APPLICABLE), (item.rule, item.state)
            assert item.state == State.NOT_APPLICABLE or "FreeCAD" in item.reason or "not known" in item.reason, item.reason
