"""A check that goes step by step: the same findings as at one go, numbers first, and nothing passed that no step has reached."""
from __future__ import annotations

import datetime

import pytest
import snapshot_fakes as fakes

from crankline import checks
from crankline.checks.evaluate import Evaluation
from crankline.checks.finding import State
from crankline.progress import Progress, drained
from crankline.rules import rule_sets
from crankline.rules.quantity import QUANTITIES

DATE = datetime.date(2026, 5, 1)
CARS = {"automatic": fakes.automatic, "clutch": fakes.clutch}


class Untouchable:
    """A measurer that nothing may be asked of; it is told what there is to be measured."""

    def sees(self, _snapshot):
        pass

    def __getattr__(self, name):
        raise AssertionError(f"a quantity of numbers asks for {name}")


def started(car, **options):
    return checks.Check(fakes.snapshot(car), event_date=DATE, **{"measurer": fakes.FakeMeasurer(), **options})


@pytest.mark.parametrize("car", CARS.values(), ids=CARS)
def test_step_by_step_finds_what_one_go_finds(car):
    check = started(car())
    steps = list(check.steps())
    whole = checks.run(fakes.snapshot(car()), event_date=DATE, measurer=fakes.FakeMeasurer())
    assert check.outcome().findings == whole.findings and check.outcome().exit_code == whole.exit_code
    assert all(isinstance(step, Progress) and step.about and 0.0 <= step.share <= 1.0 for step in steps)
    assert [step.share for step in steps] == sorted(step.share for step in steps) and steps[-1].share > 0.5


def test_numbers_are_done_before_any_shape_is_measured():
    measurer = fakes.FakeMeasurer()
    check = started(fakes.automatic(), measurer=measurer)
    for _step in check.steps():
        if measurer.calls:
            break
        early = check.findings()
    assert check.numbers_done and measurer.calls
    rules = {rule.id: rule for rule in check.outcome().rules}
    known = {item.rule for item in early}
    assert known >= {name for name, rule in rules.items() if not QUANTITIES[rule.quantity].effort}
    assert not known >= set(rules)


@pytest.mark.parametrize("car", CARS.values(), ids=CARS)
def test_what_follows_from_numbers_measures_no_shape(car):
    rules = [rule for name in rule_sets.available() for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules
             if not QUANTITIES[rule.quantity].effort]
    shot = fakes.snapshot(car())
    without, found = (Evaluation(rules, shot, measurer, DATE) for measurer in (None, Untouchable()))
    drained(without.steps())
    drained(found.steps())
    assert found.findings() == without.findings() and len(found.findings()) > 20


@pytest.mark.parametrize("reached", [0, 1, 5, 40])
def test_what_a_canceled_check_did_not_reach_is_not_evaluated(reached):
    check = started(fakes.automatic())
    work = check.steps()
    for _ in range(reached):
        next(work)
    work.close()
    outcome = check.outcome()
    everything = checks.run(fakes.snapshot(fakes.automatic()), event_date=DATE, measurer=fakes.FakeMeasurer())
    whole = {item.id: item for item in everything.findings}
    unreached = [item for item in outcome.findings if item.reason == checks.CANCELED]
    assert unreached and all(item.state == State.NOT_EVALUATED and item.measured is None and not item.subjects for item in unreached)
    assert all(whole[item.id] == item for item in outcome.findings if item not in unreached)
    assert {item.rule for item in outcome.findings} == {rule.id for rule in outcome.rules}
    assert outcome.exit_code == 4


def test_the_longest_slice_of_work_is_told():
    check = started(fakes.automatic())
    assert check.outcome().longest.about == ""
    drained(check.steps())
    longest = check.outcome().longest
    assert longest.about and 0.0 < longest.seconds < 60.0
