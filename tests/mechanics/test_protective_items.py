"""Parts with a specification and a date: missing, wrong, expired; and the list of rules that says which apply and why."""
from __future__ import annotations

import datetime
import json
from dataclasses import replace

import pytest
import snapshot_fakes as fakes

from crankline import checks, model
from crankline.checks.finding import State
from crankline.rules import rule_list, rule_sets
from crankline.rules.specification import normal

EVENT = datetime.date(2026, 5, 1)


def judged(car, *items, rule="NHRA-SFI-FLEXPLATE", date=EVENT):
    car = replace(fakes.with_rules(car, sets=("nhra_chart_protective",)), protective_items=tuple(items))
    outcome = checks.run(fakes.snapshot(car), event_date=date, measurer=fakes.FakeMeasurer())
    found, = [item for item in outcome.findings if item.rule == rule]
    return found


def item(name="flexplate", specification="SFI 29.1", **more):
    return model.ProtectiveItem(item=name, specification=specification, **more)


@pytest.mark.parametrize("expires, state, margin", [("2026-05-01", State.PASSED, 0.0), ("2026-04-30", State.OPEN, -1.0),
                                                    ("2027-05-01", State.PASSED, 365.0)])
def test_a_certificate_must_be_good_on_the_day(expires, state, margin):
    found = judged(fakes.automatic(), item(expires=expires))
    assert (found.state, found.margin, found.subjects) == (state, margin, ("protective_item/flexplate",))


def test_a_part_that_is_not_listed_is_missing():
    found = judged(fakes.automatic())
    assert found.state == State.OPEN and "no flexplate is listed" in found.reason and not found.waivable


@pytest.mark.parametrize("specification, good", [("SFI 29.1", True), ("29.2", True), ("sfi-29.3", True), ("SFI 30.1", False),
                                                 ("2.91", False)])
def test_the_specification_must_cover_the_part(specification, good):
    found = judged(fakes.automatic(), item(specification=specification, expires="2027-01-01"))
    assert (found.state == State.PASSED) is good
    assert good or "the rule allows SFI 29.1 or SFI 29.2 or SFI 29.3" in found.reason


def test_a_part_without_a_date_is_not_evaluated_unless_it_does_not_run_out():
    found = judged(fakes.automatic(), item())
    assert found.state == State.NOT_EVALUATED and "has no expiration date" in found.reason
    damper = judged(fakes.automatic(), item("Damper", "SFI 18.1"), rule="NHRA-SFI-DAMPER")
    assert damper.state == State.PASSED


def test_names_are_read_as_people_write_them():
    for name in ("transmission shield", "Transmission_Shield", "transmission-shield"):
        found = judged(fakes.automatic(), item(name, "4.1", expires="2027-01-01"), rule="NHRA-SFI-TRANSMISSION")
        assert found.state == State.PASSED
    assert normal("sfi 6.1w") == "SFI 6.1W" and normal("spec a") == "SPEC A" and normal("SFI spec 4.1") == "SFI 4.1"
    for words in ("not certified to SFI 18.1", "FIA 18.1", "SFI 18.1 pending"):
        assert normal(words) == words.upper()
        assert judged(fakes.automatic(), item("damper", words), rule="NHRA-SFI-DAMPER").state == State.OPEN


def test_a_blanket_is_a_shield_and_an_unknown_name_is_told():
    assert judged(fakes.automatic(), item("transmission blanket", "SFI 4.1", expires="2027-01-01"),
                  rule="NHRA-SFI-TRANSMISSION").state == State.PASSED
    found = judged(fakes.automatic(), item("gearbox cover", "SFI 4.1", expires="2027-01-01"), rule="NHRA-SFI-TRANSMISSION")
    assert found.state == State.OPEN and "'gearbox cover'" in found.reason and "transmission_shield" in found.reason


def test_a_certificate_of_a_day_that_is_still_to_come_is_none():
    found = judged(fakes.automatic(), item(issued="2026-05-03", expires="2027-01-01"))
    assert (found.state, found.margin) == (State.OPEN, -2.0) and "after the event" in found.how


def test_ids_stay_when_the_list_is_put_in_another_order():
    items = [item(expires="2027-01-01"), item("damper", "SFI 18.1"), item(specification="SFI 29.2", expires="2027-02-01")]
    ids = []
    for order in (items, items[::-1]):
        car = replace(fakes.with_rules(fakes.automatic(), sets=("nhra_chart_protective",)), protective_items=tuple(order))
        found = checks.run(fakes.snapshot(car), event_date=EVENT, measurer=fakes.FakeMeasurer()).findings
        ids.append({one.id: (one.rule, one.how) for one in found if one.rule.startswith("NHRA-SFI")})
    assert ids[0] == ids[1] and len(ids[0]) > 3


def test_clutch_parts_are_asked_of_clutch_cars_and_only_in_their_band():
    assert judged(fakes.automatic(), rule="NHRA-SFI-CLUTCH").state == State.NOT_APPLICABLE
    assert judged(fakes.clutch(), rule="NHRA-SFI-CLUTCH").state == State.OPEN
    slow = replace(fakes.clutch(), car=replace(fakes.clutch().car, elapsed_time=11.50))
    assert judged(slow, rule="NHRA-SFI-CLUTCH").state == State.NOT_APPLICABLE
    eighth = replace(fakes.automatic(), car=replace(fakes.automatic().car, track="eighth", elapsed_time=4.5))
    assert judged(eighth).state == State.NOT_EVALUATED


def test_the_list_of_rules_says_what_each_measures_and_whether_it_applies():
    listed = rule_list.listing(rule_sets.select(["invented_demo", "nhra_chart_protective"]).rules, fakes.snapshot(fakes.automatic()))
    by_id = {entry.rule.id: entry for entry in listed}
    assert by_id["NHRA-SFI-CLUTCH"].applies is False and "transmission is automatic" in by_id["NHRA-SFI-CLUTCH"].why
    assert by_id["NHRA-LOOP-PLACE"].applies is True and "13.99" in by_id["NHRA-LOOP-PLACE"].why
    assert "6 in" in by_id["NHRA-LOOP-PLACE"].limit and "152 mm" in by_id["NHRA-LOOP-PLACE"].limit
    assert "7/8 in" in by_id["NHRA-LOOP-SECTION"].limit and "strap" in by_id["NHRA-LOOP-SECTION"].limit
    assert by_id["NHRA-LOOP-PLACE"].limit == "<= 6 in (printed with 152 mm; the inch figure decides)"
    text = rule_list.text(listed)
    assert "settings: at: highest" in text and "settings: to: loops; whip: counted" in text
    assert "cannot be waived]" in text
    for name in {entry.rule.rule_set for entry in listed}:
        mine = [entry for entry in listed if entry.rule.rule_set == name]
        block = text.split(f"set {name}: {len(mine)} rule", 1)[1].split("\nset ", 1)[0]
        assert all(f"\n{entry.rule.id}  " in block for entry in mine)
    few = rule_list.text(listed, only_applying=True)
    assert "NHRA-SFI-CLUTCH  " not in few and few.splitlines()[-1] == text.splitlines()[-1]
    assert [row["rule"] for row in json.loads(rule_list.json_text(listed, True))] == [entry.rule.id for entry in listed
                                                                                      if entry.applies is not False]
    applying = sum(entry.applies is True for entry in listed)
    assert text.splitlines()[-1].startswith(f"{len(listed)} rules: {applying} apply to this car, ") and "    applies: to every car" in text
    remembered = rule_list.text(rule_list.listing(rule_sets.select(["setback_memory"]).rules))
    assert remembered.count("from memory: it neither passes nor fails") == 2
    assert all(entry.rule.id in text and entry.measures in text for entry in listed)
    assert all(entry.applies is None for entry in rule_list.listing(rule_sets.select([]).rules))
    assert all(entry.to_json()["basis"]["source"] for entry in listed)


def test_without_a_day_the_report_says_what_hangs_on_it():
    car = fakes.with_rules(fakes.automatic(), sets=("practice", "nhra_chart_protective"), event_date=None)
    car = replace(car, protective_items=(item(expires="2027-01-01"),))
    outcome = checks.run(fakes.snapshot(car), measurer=fakes.FakeMeasurer(), today=EVENT)
    note, = (note for note in outcome.notes if "no event date was given" in note)
    hanging = {one.rule for one in outcome.findings if one.rule in note}
    assert f"{sum(one.rule in hanging and one.state != State.NOT_APPLICABLE for one in outcome.findings)} finding" in note and hanging
    given = checks.run(fakes.snapshot(car), event_date=EVENT, measurer=fakes.FakeMeasurer(), today=EVENT)
    assert not any("no event date" in note for note in given.notes)
    # What is not named in the note is the same on another day.
    later = checks.run(fakes.snapshot(car), event_date=EVENT.replace(year=2031), measurer=fakes.FakeMeasurer(), today=EVENT)
    assert {one.rule for one, other in zip(given.findings, later.findings) if one != other} <= hanging
