"""Cars that are not finished, by themselves: each is a car file, has its rows, and is judged: what needs what is not there yet is not
evaluated, and says so in the words of the trade."""
from __future__ import annotations

import pathlib
from dataclasses import replace
from functools import cache

import every_kind_of_part
import pytest
from unfinished_cars import CARS, demo, placed, taken_out

from crankline import carfile, sections
from crankline.checks.evaluate import evaluate
from crankline.checks.finding import State
from crankline.features.plan import described, plan, waiting
from crankline.record import equal
from crankline.reports import numbers
from crankline.rules.rule_sets import select
from crankline.snapshot import Snapshot

HELD_BY = {("chassis.uprights", "mounts.support_tube"), ("chassis.footwell_tube", "mounts.cross_member"),
           ("mounts.cross_member", "mounts.transmission"), ("plates.front", "mounts.limiter_strut")}
"""(what is taken out, what cannot be without it): such a car file is refused."""


@pytest.mark.parametrize("name", CARS)
def test_it_is_a_car_file_and_a_plan(name):
    car = CARS[name]
    refused = [f"{lost} is what {holds} stands on" for lost, holds in HELD_BY
               if sections.get(car, holds) and not sections.get(car, lost)]
    text = carfile.write_text(car)
    if refused:
        with pytest.raises(carfile.CarFileError):
            carfile.read_text(text)
        return
    assert equal(carfile.read_text(text), carfile.read_text(carfile.write_text(carfile.read_text(text))))
    scene = placed(car)
    rows = {row.key: row for row in plan(car, scene)}
    for row in rows.values():
        for keys in row.links.values():
            assert keys is None or set(keys if isinstance(keys, tuple) else (keys,)) <= rows.keys(), row
    made, in_error = described(car, scene), set()
    for key, one in made.items():
        try:
            one.spec(scene)
        except ValueError:
            in_error.add(key.partition("/")[0])
    # Mounts of an enclosure stand on loops.
    assert in_error <= ({"enclosure_mount"} if not sections.get(car, "containment.loops") else set())
    for role in waiting(car):
        assert not [key for key in made if key.partition("/")[0] == role], role


@pytest.mark.parametrize("path", sections.FINISHED)
def test_what_a_car_has_not_for_want_of_a_section_waits_for_it(path):
    """No part is missing in silence: ``plan.WAITS`` says what it needs beside its own section."""
    for car in every_kind_of_part.cars().values():
        less = replace(car, rear_end=replace(car.rear_end, suspension=None)) if path == sections.SUSPENSION else taken_out(car, path)
        gone = roles(car) - roles(less)
        assert gone and gone - set(waiting(less)) == set(), "features/plan.py, WAITS: say what these wait for"


def roles(car):
    return {item.feature.declaration(key).role for key, item in described(car, placed(car)).items()}


@cache
def judged(name: str) -> dict[str, set[tuple[str, str]]]:
    """Rule to the states and reasons of its findings, of every rule there is; shapes are not measured here."""
    books = select(tuple(path.stem for path in (pathlib.Path(carfile.__file__).parents[1] / "catalog" / "rules").glob("*.yaml")))
    car = CARS.get(name) or demo(name)
    found: dict[str, set[tuple[str, str]]] = {}
    for finding in evaluate(books.rules, Snapshot(car, placed(car), ()), selection=books):
        found.setdefault(finding.rule, set()).add((finding.state, finding.reason))
    return found


@pytest.mark.parametrize("path", [*sections.FINISHED, "begun"])
def test_what_needs_it_is_not_evaluated(path):
    """No rule that a finished car is measured by falls silent or passes for want of a part."""
    whole, words = judged("full_bodied_automatic"), {sections.not_yet(one) for one in sections.FINISHED}
    begun_only = path == "begun"
    if not begun_only:
        words = {sections.not_yet(path)}
    lacking = judged("full_bodied_automatic begun" if begun_only else f"full_bodied_automatic without {path}")
    silent = [rule for rule, found in lacking.items() if {State.NOT_APPLICABLE} == {state for state, _reason in found}
              and {State.NOT_APPLICABLE} != {state for state, _reason in whole[rule]}]
    waits = {rule: reason for rule, found in lacking.items() for state, reason in found
             if state == State.NOT_EVALUATED and any(word in reason for word in words)}
    assert begun_only or silent == []
    assert {reason for state, reason in lacking["DOC-FINISHED"]} == words
    assert len(waits) >= 5
    assert {state for state, _reason in whole["DOC-FINISHED"]} == {State.PASSED}


def test_numbers_that_do_not_hang_on_it_are_told():
    """Joint angles need neither a mid plate nor a driveshaft; what the tube carries does."""
    for name in ("full_bodied_automatic begun", "open_clutch begun"):
        car = CARS[name]
        told, notes = numbers.of(Snapshot(car, placed(car), ()))
        assert told["driveline"]["front_joint_deg"] is not None and told["driveline"]["critical_rpm"] is None
        assert [pose["name"] for pose in told["poses"]] == ["static"]
        assert {"driveshaft_order: no driveshaft yet", "suspension: no rear suspension yet", "strength: no mid plate yet"} <= set(notes)
    found = judged("full_bodied_automatic begun")["DRV-ANGLE-LEAST"]
    assert {state for state, _reason in found} & {State.PASSED, State.OPEN}
