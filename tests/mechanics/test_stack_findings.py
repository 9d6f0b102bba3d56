"""Rules of the stack: gap, dowels, pilot and input shaft on the demos, with hand sums, limits, kinds of car, missing data."""
from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
import snapshot_fakes as fakes

from crankline import checks, model
from crankline.checks.finding import State

INCH = 25.4
DATE = datetime.date(2026, 5, 1)


WASHER = 0.065
"""Narrow washers of 3/8 and 7/16 in bolts, in."""


def found(car, rule):
    outcome = checks.run(fakes.snapshot(fakes.with_rules(car, sets=("stack",))), measurer=fakes.FakeMeasurer(), event_date=DATE)
    item, = [item for item in outcome.findings if item.rule == rule]
    return item


def transmission(car, **changes):
    return replace(car, transmission=replace(car.transmission, **changes))


def engine(car, **changes):
    return replace(car, engine=replace(car.engine, **changes))


def mid(car, thickness):
    return replace(car, plates=replace(car.plates, mid=replace(car.plates.mid, thickness=thickness)))


def test_gap_of_demo_a_by_hand():
    """.150 bare + .125 protector + .250 plate - .370 spacers = .155 in, within 1/8 and 3/16."""
    item = found(fakes.automatic(), "STK-GAP")
    assert item.state == State.PASSED and item.severity == "advice" and item.subjects == ("transmission",)
    assert (item.measured, item.unit, item.margin) == (pytest.approx(0.155), "in", pytest.approx(0.030))
    # .525 less 3/16 and less 1/8.
    assert "pad spacers of 0.338 in to 0.400 in" in item.how and item.basis["source"] == "common practice"


@pytest.mark.parametrize("spacers, state", [(0.3375, State.PASSED), (0.3374, State.OPEN), (0.400, State.PASSED),
                                            (0.4001, State.OPEN), (0.0, State.OPEN)])
def test_gap_at_its_limits(spacers, state):
    item = found(transmission(fakes.automatic(), pad_spacers=spacers * INCH), "STK-GAP")
    assert item.state == state and item.measured == pytest.approx(0.525 - spacers)


def test_plates_without_spacers_open_the_gap_and_the_hint_names_them():
    item = found(transmission(fakes.automatic(), pad_spacers=0.0), "STK-GAP")
    assert item.state == State.OPEN and "transmission.pad_spacers" in item.hint


def test_spacers_that_press_the_converter_into_the_pump_are_a_warning():
    pressed = transmission(fakes.automatic(), pad_spacers=0.530 * INCH)
    item = found(pressed, "STK-GAP-LEAST")
    assert (item.state, item.severity, item.margin) == (State.OPEN, "warning", pytest.approx(-0.005))
    assert found(transmission(fakes.automatic(), pad_spacers=0.525 * INCH), "STK-GAP-LEAST").state == State.PASSED


def test_a_gap_that_nobody_measured_is_not_evaluated():
    item = found(transmission(fakes.automatic(), gap_without_plates=None), "STK-GAP")
    assert item.state == State.NOT_EVALUATED and "transmission.gap_without_plates" in item.reason


@pytest.mark.parametrize("rule", ["STK-GAP", "STK-GAP-LEAST", "STK-PILOT"])
def test_rules_of_a_converter_do_not_apply_to_a_clutch(rule):
    assert found(fakes.clutch(), rule).state == State.NOT_APPLICABLE


@pytest.mark.parametrize("rule", ["STK-INPUT", "STK-PILOT-CLUTCH"])
def test_rules_of_a_clutch_do_not_apply_to_a_converter(rule):
    assert found(fakes.automatic(), rule).state == State.NOT_APPLICABLE


@pytest.mark.parametrize("car, left", [(fakes.automatic(), 0.75 - 0.375), (fakes.clutch(), 0.70 - 0.25)], ids=["automatic", "clutch"])
def test_dowels_by_hand(car, left):
    item = found(car, "STK-DOWEL")
    assert item.state == State.PASSED and item.measured == pytest.approx(left) and item.subjects == ("mid_plate",)


@pytest.mark.parametrize("length, usual, least", [(0.625, State.PASSED, State.PASSED), (0.62, State.OPEN, State.PASSED),
                                                  (0.375, State.OPEN, State.PASSED), (0.37, State.OPEN, State.OPEN)])
def test_dowels_at_their_limits(length, usual, least):
    car = engine(fakes.automatic(), dowel_length=length * INCH)
    assert found(car, "STK-DOWEL").state == usual and found(car, "STK-DOWEL-LEAST").state == least


def test_a_thick_stack_takes_the_pilot_away():
    assert found(fakes.automatic(), "STK-PILOT").measured == pytest.approx(0.370)
    assert found(transmission(fakes.automatic(), pad_spacers=0.376 * INCH), "STK-PILOT").state == State.OPEN
    assert found(fakes.clutch(), "STK-PILOT-CLUTCH").measured == pytest.approx(0.25)
    assert found(mid(fakes.clutch(), 0.3125 * INCH), "STK-PILOT-CLUTCH").state == State.OPEN


def test_input_shaft_of_demo_b_by_hand():
    """.60 beyond the bell's face, .25 of plate: .35 in ahead of the block's rear face."""
    item = found(fakes.clutch(), "STK-INPUT")
    assert item.state == State.PASSED and item.measured == pytest.approx(0.35)
    assert found(transmission(fakes.clutch(), input_beyond_bell_face=0.24 * INCH), "STK-INPUT").state == State.OPEN


def test_a_clutch_transmission_without_its_input_shaft_is_not_evaluated():
    item = found(transmission(fakes.clutch(), input_beyond_bell_face=None), "STK-INPUT")
    assert item.state == State.NOT_EVALUATED and "transmission.input_beyond_bell_face" in item.reason


def bolts(car, length, flange):
    return transmission(car, bell_bolts=model.BellBolts(length=length * INCH, flange=flange * INCH))


@pytest.mark.parametrize("car, rule, left, diameter, limit", [
    (fakes.automatic(), "STK-BELL-BOLTS-ALUMINIUM", 1.75 - 0.50 - 0.125 - 0.250, 0.4375, 1.5),
    (fakes.clutch(), "STK-BELL-BOLTS-IRON", 1.50 - 0.45 - 0.250, 0.375, 1.0)], ids=["automatic", "clutch"])
def test_bolts_of_the_bell_by_hand(car, rule, left, diameter, limit):
    """Length less the washer under the head (0.065 in, ASME B18.21.1 narrow), flange, protector and mid plate; the
    bolt is the one that clears the block's bolt holes, not the dowels'."""
    item, left = found(car, rule), left - WASHER
    assert (item.state, item.severity, item.limit, item.unit) == (State.PASSED, "advice", limit, "")
    assert item.measured == pytest.approx(left / diameter) and f"{left:.3f} in of a {diameter:.3f} in bolt" in item.how
    assert item.basis["source"] == "common practice"
    used = car.transmission.bell_bolts.length / INCH - left
    flange = car.transmission.bell_bolts.flange / INCH
    for engaged, state in ((limit * diameter, State.PASSED), (limit * diameter - 0.001, State.OPEN), (-0.1, State.OPEN)):
        assert found(bolts(car, used + engaged, flange), rule).state == state


def test_bolts_of_the_bell_are_judged_by_the_metal_of_the_block():
    other = {"cast_iron": "STK-BELL-BOLTS-ALUMINIUM", "aluminium": "STK-BELL-BOLTS-IRON"}
    for car in (fakes.automatic(), fakes.clutch()):
        assert found(car, other[car.engine.material]).state == State.NOT_APPLICABLE
        for rule in other.values():
            assert found(transmission(car, bell_bolts=None), rule).state == State.NOT_APPLICABLE
            assert found(transmission(engine(car, material=None), bell_bolts=None), rule).state == State.NOT_APPLICABLE
            assert found(engine(car, material=None), rule).state == State.NOT_EVALUATED


def test_the_smallest_bolt_hole_that_is_no_dowel_gives_the_bolt():
    car = fakes.automatic()
    mixed = engine(car, rear_holes=(*car.engine.rear_holes, (0.0, 7.0 * INCH, 0.406 * INCH), (0.0, 8.0 * INCH, 0.531 * INCH)))
    assert found(mixed, "STK-BELL-BOLTS-ALUMINIUM").measured == pytest.approx((0.875 - WASHER) / 0.375)
    small = engine(mixed, dowel_diameter=0.406 * INCH)
    assert found(small, "STK-BELL-BOLTS-ALUMINIUM").measured == pytest.approx((0.875 - WASHER) / 0.4375)
