"""Findings: the first ten rules on both demos, limits by the smallest step, states, waivers, unsound documents, exit codes."""
from __future__ import annotations

import datetime
import math
import random
from dataclasses import replace

import numpy as np
import pytest
import snapshot_fakes as fakes

from crankline import checks, model, source
from crankline.checks import evaluate, poses, waivers
from crankline.checks.finding import Finding, State, exit_code, finding_id
from crankline.checks.strength import load_model
from crankline.mechanics import scene
from crankline.record import filled
from crankline.reports import numbers
from crankline.rules import quantity as registered
from crankline.rules import rule_sets
from crankline.rules.rule import Severity
from crankline.snapshot import Snapshot

INCH = 25.4
DEG = math.pi / 180.0
DATE = datetime.date(2026, 5, 1)


def run(snapshot, **options):
    options.setdefault("measurer", fakes.FakeMeasurer())
    options.setdefault("event_date", DATE)
    options.setdefault("today", DATE)
    return checks.run(snapshot, **options)


def one(outcome, rule, subject=None, discriminator=None) -> Finding:
    found, = [item for item in outcome.findings if item.rule == rule
              and (subject is None or item.subjects == (subject,))
              and (discriminator is None or item.discriminator == discriminator)]
    return found


def judge(quantity, comparison, limit, value, accuracy=0.0, **more):
    """The finding of a rule with this limit on one measured value, through the engine."""
    settings = "settings: {kinds: [invalid]}, " if quantity == "unsound_objects" else ""
    text = (f'rule_set: 1\ntitle: t\nedition: "1"\nrules:\n  - {{id: T, title: t, {settings}quantity: {quantity}, '
            f'comparison: "{comparison}", limit: {limit}, severity: error, hint: h, basis: {{document: d, source: seen}}}}\n')
    rule, = rule_sets.parse(text).rules
    measured = registered.Measurement(value, ("engine",), accuracy=accuracy, **more)
    return evaluate._Judge(rule).findings((measured,), "", {})[0]


def placed(car, **changes):
    return replace(car, placement=replace(car.placement, **changes))


def loops(car, **changes):
    """The car with every loop changed."""
    kept = tuple(replace(loop, **changes) for loop in car.containment.loops)
    return replace(car, containment=replace(car.containment, loops=kept))


# --- demos ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("car", [fakes.automatic(), fakes.clutch()], ids=["automatic", "clutch"])
def test_the_demos_break_no_rule_but_advice(car):
    outcome = run(fakes.snapshot(car))
    assert outcome.exit_code == 0
    # The clearances are measured on shapes, so that the car is run without that set, and is told so.
    assert {item.severity for item in outcome.findings if item.unresolved and item.rule != "PRO-SCREENED"} <= {"advice"}
    assert not [item for item in outcome.findings if item.state == State.NOT_EVALUATED]
    assert run(fakes.snapshot(car), fail_on="advice").exit_code == 1


def test_the_first_ten_are_there():
    measured = {rule.quantity for rule in rule_sets.select(["invented_demo"]).rules}
    assert measured >= {"crank_height", "pitch", "axle_to_block", "joint_angle", "joint_angle_difference", "critical_speed",
                        "loop_behind_front_joint", "loop_closed_angle", "loop_section", "enclosure_length"}


def test_joint_angles_are_judged_at_static_launch_and_top_end():
    outcome = run(fakes.snapshot(fakes.automatic()))
    told = {item.discriminator for item in outcome.findings if item.rule == "DRV-ANGLE-SPEED"}
    assert told == {f"{joint} joint, {pose}" for joint in ("front", "rear")
                    for pose in ("static", "launch", "top_end")}


# --- limits -----------------------------------------------------------------------------------------------------------

CASES = [("crank_height", "<=", "{in: 24 in, mm: 610 mm}", 24 * INCH, -1), ("crank_height", ">=", "5 in", 5 * INCH, 1),
         ("pitch", "within", "{low: 1.9 deg, high: 2.2 deg}", 1.9 * DEG, 1),
         ("pitch", "within", "{low: 1.9 deg, high: 2.2 deg}", 2.2 * DEG, -1), ("setback_share", "<=", "0.10", 0.10, -1),
         ("loop_closed_angle", ">=", "360 deg", 2 * math.pi, 1), ("unsound_objects", "<=", "0", 0.0, -1),
         ("joint_angle_difference", "<=", "1 deg", DEG, -1), ("loop_behind_front_joint", "<=", "152 mm", 152.0, -1)]


@pytest.mark.parametrize("quantity, comparison, limit, edge, good", CASES)
def test_the_limit_itself_passes_and_the_smallest_step_beyond_fails(quantity, comparison, limit, edge, good):
    """Equal passes, floats at the limit's own rounding included; a step of a millionth beyond does not."""
    step = max(abs(edge), 1.0) * 1e-6
    assert judge(quantity, comparison, limit, edge).state == State.PASSED
    assert judge(quantity, comparison, limit, np.nextafter(edge, -good * np.inf)).state == State.PASSED
    assert judge(quantity, comparison, limit, edge + good * step).state == State.PASSED
    wrong = judge(quantity, comparison, limit, edge - good * step)
    assert wrong.state == State.OPEN and wrong.margin < 0.0


@pytest.mark.parametrize("share, state", [(0.9e-9, State.PASSED), (1.1e-9, State.OPEN)])
def test_noise_is_a_thousand_millionth_of_the_limit(share, state):
    edge = 24 * INCH
    assert judge("crank_height", "<=", "24 in", edge * (1.0 + share)).state == state


def test_a_measurement_no_better_than_its_accuracy_is_not_held_against_the_part():
    assert judge("crank_height", "<=", "24 in", 24 * INCH + 0.004, accuracy=0.005).state == State.PASSED
    assert judge("crank_height", "<=", "24 in", 24 * INCH + 0.006, accuracy=0.005).state == State.OPEN


def test_margin_is_signed_and_in_the_unit_of_the_rule():
    found = judge("crank_height", "<=", "{in: 24 in, mm: 600 mm}", 26 * INCH)
    assert (found.unit, found.measured, found.limit, found.margin) == ("in", 26.0, 24.0, -2.0)
    found = judge("crank_height", "within", "{low: 216 mm, high: 305 mm}", 300.0)
    assert (found.unit, found.limit, found.margin) == ("mm", (216.0, 305.0), 5.0)
    assert judge("pitch", "==", "2 deg", 2 * DEG).state == State.PASSED
    assert judge("pitch", "==", "2 deg", 2.1 * DEG).margin == pytest.approx(-0.1, abs=1e-9)


def test_the_stricter_of_two_printed_figures_can_bind():
    text = """
rule_set: 1
title: t
edition: "1"
binds: stricter
rules:
  - {id: T, title: t, quantity: crank_height, comparison: "<=", limit: {in: 24 in, mm: 600 mm}, severity: error, hint: h,
     basis: {document: d, source: seen}}
"""
    rule, = rule_sets.parse(text).rules
    found = evaluate._Judge(rule).findings((registered.Measurement(605.0, ("engine",)),), "", {})[0]
    assert (found.state, found.unit, found.limit, found.margin) == (State.OPEN, "mm", 600.0, -5.0)


def test_what_is_found_hangs_on_no_check_before_it():
    """A finding of which nothing has changed is that of the last check; of what has, it is a new one."""
    car = fakes.automatic()
    shots = [fakes.snapshot(one) for one in (car, placed(car, pitch=3.5 * DEG), car)]
    evaluate._judge.cache_clear()
    one_by_one = [run(shot).findings for shot in shots]
    alone = []
    for shot in shots:
        evaluate._judge.cache_clear()
        alone.append(run(shot).findings)
    assert one_by_one == alone and alone[0] != alone[1]
    again = run(shots[2]).findings
    assert sum(a is b for a, b in zip(alone[2], again)) > 50


def test_published_height_is_measured_at_the_highest_point_of_the_block():
    """A6.1: every point between front and rear main. Pitched rear down, the front is the highest."""
    car = placed(fakes.automatic(), pitch=-3.0 * DEG, crank_height=23.5 * INCH)
    found = one(run(fakes.snapshot(car)), "NHRA-CRANK-HEIGHT")
    length = car.engine.block_length
    assert found.state == State.OPEN
    assert found.measured == pytest.approx((23.5 * INCH + length * math.sin(3.0 * DEG)) / INCH, rel=1e-9)
    level = placed(fakes.automatic(), pitch=0.0, crank_height=24.0 * INCH)
    assert one(run(fakes.snapshot(level)), "NHRA-CRANK-HEIGHT").state == State.PASSED


def test_practice_values_are_advice():
    car = placed(fakes.automatic(), crank_height=13.0 * INCH, pitch=1.0 * DEG, axle_to_block=86.0 * INCH)
    outcome = run(fakes.snapshot(car))
    for rule in ("PRA-HEIGHT", "PRA-PITCH", "PRA-AXLE"):
        found = one(outcome, rule)
        assert (found.state, found.severity) == (State.OPEN, "advice")


# --- driveline --------------------------------------------------------------------------------------------------------


def test_the_angle_limit_falls_with_shaft_speed():
    """B2.9: 1000 rad/s2 at 5000, 4500, 4000 rpm is 3.46, 3.84, 4.33 deg."""
    formula = registered.FORMULAS["joint_angle_at_excitation"]
    for rpm, angle in ((5000, 3.46), (4500, 3.84), (4000, 4.33)):
        given = {"shaft_speed": rpm * math.pi / 30.0}
        assert math.degrees(formula.function(given, {"peak_acceleration": 1000.0})) == pytest.approx(angle, abs=0.006)


def test_the_workshop_limit_by_length():
    """B2.5: 15 in -> 3 deg, 30 in -> 6 deg with parallel ends; 30 in -> 3 deg with intersecting ones."""
    formula = registered.FORMULAS["joint_angle_by_length"]
    for inches, ends, angle in ((15, "false", 3.0), (30, "false", 6.0), (30, "true", 3.0)):
        given = {"joint_distance": inches * INCH}
        assert math.degrees(formula.function(given, {"intersecting": ends})) == pytest.approx(angle, rel=1e-12)


def test_static_is_judged_at_the_highest_shaft_speed_and_launch_in_first_gear():
    car = fakes.automatic()
    outcome = run(fakes.snapshot(car))
    top = car.engine.rpm_limit / car.transmission.top_gear
    first = car.engine.rpm_limit / car.transmission.first_gear
    for pose, speed in (("static", top), ("launch", first)):
        found = one(outcome, "DRV-ANGLE-SPEED", discriminator=f"front joint, {pose}")
        assert found.limit == pytest.approx(math.degrees(math.sqrt(1000.0) / speed), rel=1e-9)


def test_critical_speed_of_a_steel_tube_is_compared_at_seven_tenths():
    """B3.1: 3.0 x .083 x 48 in steel: 8533 rpm, of which 0.70 is 5973 rpm (handbook form; E 207 GPa, 7850 kg/m3 is nearest)."""
    car = fakes.automatic()
    distance = float(scene.of(car).driveline.length)
    shaft = replace(car.driveshaft, material="4130N", axial_modulus=207_000.0, density=7850e-9, outer_diameter=3.0 * INCH,
                    wall=0.083 * INCH)
    steel = replace(car, driveshaft=shaft)
    found = one(run(fakes.snapshot(steel)), "DRV-CRITICAL")
    assert found.measured == pytest.approx(0.95 * 8533.0 * (48 * INCH / distance) ** 2, rel=1e-3)
    assert found.limit == pytest.approx(8200.0 / 0.70, rel=1e-9)
    assert (found.state, found.severity) == (State.OPEN, "warning")
    assert run(fakes.snapshot(steel), fail_on="warning").exit_code == 1


def test_a_missing_link_leaves_joint_angles_unevaluated_and_nothing_else():
    car = fakes.automatic()
    suspension = replace(car.rear_end.suspension, lower=None)
    shot = fakes.snapshot(replace(car, rear_end=replace(car.rear_end, suspension=suspension)))
    outcome, (figures, notes) = run(shot), numbers.of(shot)
    states = {item.rule: item.state for item in outcome.findings}
    assert states["DRV-ANGLE-SPEED"] == State.NOT_EVALUATED and states["DRV-CRITICAL"] == State.PASSED
    assert "suspension.lower" in one(outcome, "DRV-ANGLE-SPEED").reason
    assert outcome.exit_code == 4 and figures.get("poses") is None and notes


def test_numbers_that_mechanics_refuse_are_not_evaluated_and_noted():
    """A document may hold what a car file may not: a wall that leaves no bore, a link without length."""
    car = fakes.automatic()
    solid = replace(car, driveshaft=replace(car.driveshaft, wall=60.0))
    outcome, (figures, notes) = run(fakes.snapshot(solid)), numbers.of(fakes.snapshot(solid))
    assert one(outcome, "DRV-CRITICAL").state == State.NOT_EVALUATED and outcome.exit_code == 4
    assert any(note.startswith("driveline: ") for note in notes) and "driveline" not in figures
    lower = car.rear_end.suspension.lower
    nothing = replace(car.rear_end.suspension, lower=replace(lower, chassis=lower.axle))
    shot = fakes.snapshot(replace(car, rear_end=replace(car.rear_end, suspension=nothing)))
    outcome = run(shot)
    assert one(outcome, "DRV-ANGLE-SPEED").state == State.NOT_EVALUATED
    assert any(note.startswith("poses: ") for note in numbers.of(shot)[1])


# --- containment ------------------------------------------------------------------------------------------------------


def loop_at(inches_behind: float, **shape):
    """The automatic with its front loop's center so far behind the front joint along the shaft, the others far off."""
    car = fakes.automatic()
    place = scene.of(car)
    x = float(place.front_joint[0] - inches_behind * INCH * place.driveline.shaft_axis[0])
    return fakes.snapshot(car, change={"loop/front": {"shape": fakes.FakeLoop(x, **shape)},
                                       "loop/second": {"shape": fakes.FakeLoop(700.0)}})


@pytest.mark.parametrize("inches, state", [(6.0 - 1e-4, State.PASSED), (6.0, State.PASSED), (6.0 + 1e-4, State.OPEN)])
def test_one_loop_within_six_inches_is_enough(inches, state):
    outcome = run(loop_at(inches))
    found = one(outcome, "NHRA-LOOP-PLACE")
    assert found.state == state and found.subjects == ("loop/front",)
    assert found.margin == pytest.approx(6.0 - inches, abs=1e-6)


def test_inch_and_mm_bind_apart():
    """6 in are 152.4 mm: at 152.2 mm the loop is good for the inch figure and too far for the mm figure."""
    snapshot = loop_at(152.2 / INCH)
    car = fakes.with_rules(snapshot.car, sets=("nhra_general_2008", "andra_2019"))
    outcome = run(replace(snapshot, car=car))
    assert one(outcome, "NHRA-LOOP-PLACE").state == State.PASSED
    metric = one(outcome, "ANDRA-LOOP-PLACE")
    assert metric.state == State.OPEN and metric.unit == "mm" and metric.margin == pytest.approx(-0.2, abs=1e-5)


def test_a_loop_ahead_of_the_joint_counts_where_the_book_does_not_say_behind():
    car = fakes.with_rules(fakes.automatic(), sets=("nhra_general_2008", "andra_2019"))
    place = scene.of(car)
    ahead = fakes.FakeLoop(float(place.front_joint[0]) + 50.0)
    snapshot = fakes.snapshot(car, change={"loop/front": {"shape": ahead}}, without=("loop/second", "loop/rear"))
    found = one(run(snapshot), "ANDRA-LOOP-PLACE")
    assert (found.state, found.measured, found.subjects) == (State.OPEN, None, ("driveshaft",))
    assert "no loop behind" in found.reason
    found = one(run(snapshot), "NHRA-LOOP-PLACE")
    lean = float(place.driveline.shaft_axis[0])
    assert found.state == State.PASSED and found.measured == pytest.approx(50.0 / INCH / lean) and "ahead of the joint" in found.how


def test_centre_and_nearest_edge_are_both_told_and_the_setting_chooses():
    snapshot = loop_at(6.2)
    assert one(run(snapshot), "NHRA-LOOP-PLACE").state == State.OPEN
    text = ('rule_set: 1\ntitle: t\nedition: "1"\nrules:\n  - {id: T, title: t, quantity: loop_behind_front_joint, '
            'settings: {measured_to: nearest_edge}, comparison: "<=", limit: 6 in, severity: error, hint: h, '
            'basis: {document: d, source: seen}}\n')
    found, = evaluate.evaluate(rule_sets.parse(text).rules, snapshot, fakes.FakeMeasurer())
    axis = float(snapshot.scene.driveline.shaft_axis[0])
    assert found.state == State.PASSED and found.measured == pytest.approx(6.2 - 0.4375 / axis, abs=1e-6)
    assert "6.200 in" in found.how and "5.762 in" in found.how


def test_no_loop_at_all_breaks_every_loop_rule():
    snapshot = fakes.snapshot(fakes.automatic(), without=("loop/front", "loop/second", "loop/rear"))
    outcome = run(snapshot)
    for rule in ("NHRA-LOOP-PLACE", "NHRA-LOOP-CLOSED", "NHRA-LOOP-SECTION"):
        assert one(outcome, rule).state == State.OPEN
    assert outcome.exit_code == 1


@pytest.mark.parametrize("missing, state", [(0.0, State.PASSED), (1e-12, State.PASSED), (1e-4, State.OPEN)])
def test_every_loop_is_closed_all_around(missing, state):
    outcome = run(loop_at(3.0, closed=2 * math.pi - missing))
    assert one(outcome, "NHRA-LOOP-CLOSED", "loop/front").state == state
    assert one(outcome, "NHRA-LOOP-CLOSED", "loop/second").state == State.PASSED


SECTIONS = [
    (dict(), True), (dict(outer_diameter=0.874 * INCH), False), (dict(wall=0.0649 * INCH), False),
    (dict(outer_diameter=1.0 * INCH, wall=0.058 * INCH), False), (dict(outer_diameter=1.0 * INCH, wall=0.083 * INCH), True),
    (dict(form="strap", thickness=0.25 * INCH, width=2.0 * INCH), True),
    (dict(form="strap", thickness=0.249 * INCH, width=2.0 * INCH), False),
    (dict(form="strap", thickness=0.25 * INCH, width=1.99 * INCH), False), (dict(form="box", thickness=50.0, width=50.0), False)]


@pytest.mark.parametrize("shape, good", SECTIONS)
def test_section_is_tube_or_strap_of_at_least_the_printed_size(shape, good):
    found = one(run(loop_at(3.0, **shape)), "NHRA-LOOP-SECTION", "loop/front")
    assert (found.state == State.PASSED) is good, found
    if not good and shape.get("form") != "box":
        assert found.margin < 0.0 and found.measured is not None
    if shape.get("form") == "box":
        assert "box was found" in found.reason and "strap or tube" in found.reason


def test_a_strap_of_three_millimetres_pleases_one_book_and_not_the_other():
    snapshot = loop_at(3.0, form="strap", thickness=3.0, width=50.0)
    car = fakes.with_rules(snapshot.car, sets=("nhra_general_2008", "andra_2019"))
    outcome = run(replace(snapshot, car=car))
    assert one(outcome, "ANDRA-LOOP-SECTION", "loop/front").state == State.PASSED
    assert one(outcome, "NHRA-LOOP-SECTION", "loop/front").state == State.OPEN


@pytest.mark.parametrize("inches, state", [(12.0, State.PASSED), (12.0 - 1e-4, State.OPEN), (12.0 + 1e-4, State.PASSED)])
def test_enclosure_of_a_composite_shaft_is_a_foot_long(inches, state):
    snapshot = fakes.snapshot(fakes.automatic(), change={"enclosure": {"shape": fakes.FakeTube(inches * INCH, 1.651)}})
    assert one(run(snapshot), "DEMO-ENCLOSURE").state == state


def behind(car):
    """The car with its driver behind the driveshaft, which then does not run past him."""
    return replace(car, car=replace(car.car, driver_envelope=replace(car.car.driver_envelope, x_rear=-800.0, x_front=200.0)))


def test_enclosure_rule_applies_to_composite_shafts_or_those_that_pass_the_driver():
    steel = behind(replace(fakes.automatic(), driveshaft=replace(fakes.automatic().driveshaft, material="4130N")))
    found = one(run(fakes.snapshot(steel, without=("enclosure",))), "DEMO-ENCLOSURE")
    assert found.state == State.NOT_APPLICABLE and "shaft_material is metal" in found.reason
    missing = one(run(fakes.snapshot(fakes.automatic(), without=("enclosure",))), "DEMO-ENCLOSURE")
    assert (missing.state, missing.reason) == (State.OPEN, "the car has no enclosure tube")
    astride = one(run(fakes.snapshot(fakes.clutch(), without=("enclosure",))), "DEMO-ENCLOSURE")
    assert astride.state == State.OPEN and "shaft_passes_driver is true" in astride.applies
    odd = replace(fakes.automatic(), driveshaft=replace(fakes.automatic().driveshaft, material="unobtainium"))
    unknown = one(run(fakes.snapshot(odd)), "DEMO-ENCLOSURE")
    assert unknown.state == State.NOT_EVALUATED and "shaft_material is not known" in unknown.reason


def test_without_a_measurer_shapes_are_not_evaluated_and_the_rest_is(monkeypatch):
    monkeypatch.setattr(checks, "_host_measurer", lambda: None)
    outcome = checks.run(fakes.snapshot(fakes.automatic()), event_date=DATE)
    states = {item.rule: item.state for item in outcome.findings}
    assert states["NHRA-LOOP-PLACE"] == states["DEMO-ENCLOSURE"] == State.NOT_EVALUATED
    assert states["PRA-PITCH"] == State.PASSED and outcome.exit_code == 4


def test_several_books_measure_a_loop_once():
    car = fakes.with_rules(behind(fakes.automatic()), sets=("nhra_general_2008",))
    few, many = fakes.FakeMeasurer(), fakes.FakeMeasurer()
    run(fakes.snapshot(car), measurer=few)
    run(fakes.snapshot(fakes.with_rules(car, sets=("nhra_general_2008", "andra_2019"))), measurer=many)
    assert many.calls == few.calls


# --- what is not known, and what is remembered ------------------------------------------------------------------------


def test_a_missing_elapsed_time_is_not_evaluated():
    car = fakes.automatic()
    outcome = run(fakes.snapshot(replace(car, car=replace(car.car, elapsed_time=None))))
    found = one(outcome, "NHRA-LOOP-PLACE")
    assert found.state == State.NOT_EVALUATED and "give car.elapsed_time" in found.reason
    assert outcome.exit_code == 4


def test_slow_cars_on_street_tyres_need_no_loop():
    car = fakes.automatic()
    slow = replace(car, car=replace(car.car, elapsed_time=11.49, tires="street"))
    assert one(run(fakes.snapshot(slow)), "NHRA-LOOP-PLACE").state == State.NOT_APPLICABLE
    quick = replace(car, car=replace(car.car, elapsed_time=11.48, tires="street"))
    assert one(run(fakes.snapshot(quick)), "NHRA-LOOP-PLACE").state == State.PASSED


def test_a_rule_from_memory_asks_and_decides_nothing():
    for setback in (0.0, 20.0 * INCH):
        car = fakes.automatic()
        car = placed(fakes.with_rules(car, sets=("setback_memory",)), axle_to_block=car.placement.axle_to_block - setback)
        outcome = run(fakes.snapshot(car), fail_on="advice")
        found = one(outcome, "SETBACK-DOOR")
        assert (found.state, found.severity, found.to_confirm) == (State.OPEN, "advice", True)
        assert "confirm it against the current rule book" in found.reason
        assert ("not met" in found.reason) == (setback > 0.0)
        assert not found.counts("advice") and \
            {item.rule for item in outcome.findings if item.counts("advice")} == {"PRO-RULE-BOOK", "PRO-SCREENED"}


# --- documents --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["invalid", "touched", "proxy", "stale", "link"])
def test_an_unsound_loop_is_not_evaluated_and_the_others_are(kind):
    outcome = run(fakes.snapshot(fakes.automatic(), unsound=[fakes.unsound("loop/front", kind)]))
    assert one(outcome, "NHRA-LOOP-CLOSED", "loop/front").state == State.NOT_EVALUATED
    assert one(outcome, "NHRA-LOOP-CLOSED", "loop/rear").state == State.PASSED
    assert one(outcome, "NHRA-LOOP-PLACE").state == State.NOT_EVALUATED
    health = one(outcome, f"DOC-{kind.upper()}", "loop/front")
    assert health.state == State.OPEN and "loop/front says so" in health.how
    assert outcome.exit_code == 4


def test_an_unsound_object_that_made_no_part_is_not_passed_over():
    outcome = run(fakes.snapshot(fakes.automatic(), unsound=[fakes.unsound("loop/front", "proxy"), fakes.unsound("enclosure", "proxy")],
                                 without=("loop/front", "enclosure")))
    assert one(outcome, "NHRA-LOOP-SECTION", "loop/front").state == State.NOT_EVALUATED
    assert one(outcome, "DEMO-ENCLOSURE").state == State.NOT_EVALUATED


def test_what_the_host_cannot_measure_is_not_evaluated_and_the_rest_is():
    class Broken(fakes.FakeMeasurer):
        def closed_angle(self, shape, center, reach, members=()):
            raise RuntimeError("BRep_API: command not done")

        def tube(self, shape):
            raise RuntimeError("")

    outcome = run(fakes.snapshot(fakes.automatic()), measurer=Broken())
    closed = one(outcome, "NHRA-LOOP-CLOSED")
    assert closed.state == State.NOT_EVALUATED and "FreeCAD could not measure the shape (BRep_API: command not done)" in closed.reason
    enclosure = one(outcome, "DEMO-ENCLOSURE")
    assert enclosure.state == State.NOT_EVALUATED and enclosure.subjects == ("enclosure",) and "(RuntimeError)" in enclosure.reason
    assert one(outcome, "NHRA-LOOP-SECTION", "loop/rear").state == State.PASSED and outcome.exit_code == 4


def test_unsound_layout_blocks_everything_measured_and_exits_3():
    outcome = run(fakes.snapshot(fakes.automatic(), unsound=[fakes.unsound("layout", "touched", blocking=True)]))
    measured = [item for item in outcome.findings
                if item.rule_set not in ("document_health", "protection") and item.state != State.NOT_APPLICABLE]
    assert measured and {item.state for item in measured} == {State.NOT_EVALUATED}
    assert all("layout is not recomputed" in item.reason for item in measured)
    assert outcome.exit_code == 3


def test_a_car_without_a_solution_is_not_evaluated_and_exits_3():
    good = fakes.snapshot(fakes.automatic())
    shot = Snapshot(good.car, None, good.parts)
    outcome = run(shot)
    assert outcome.exit_code == 3 and numbers.of(shot)[0] == {}
    assert one(outcome, "PRA-PITCH").state == State.NOT_EVALUATED


def test_a_shape_edited_by_hand_is_measured_where_any_shape_can_be_and_told():
    """A closed angle is that of whatever shape there is; pins and sections are read off a shape as it was built."""
    for kind, rule_, severity, code in (("edited", "DOC-EDITED", "advice", 4), ("altered", "DOC-ALTERED", "error", 4)):
        outcome = run(fakes.snapshot(fakes.automatic(), unsound=[fakes.unsound("loop/front", kind)]))
        assert one(outcome, "NHRA-LOOP-CLOSED", "loop/front").state == State.PASSED
        for other in ("CON-LOOP-PINS", "NHRA-LOOP-SECTION"):
            assert one(outcome, other, "loop/front").state == State.NOT_EVALUATED
            assert one(outcome, other, "loop/second").state == State.PASSED
        edited = one(outcome, rule_, "loop/front")
        assert (edited.state, edited.severity) == (State.OPEN, severity)
        assert outcome.exit_code == code


def test_document_health_applies_even_where_the_car_names_other_sets():
    car = fakes.with_rules(fakes.automatic(), sets=("practice",))
    outcome = run(fakes.snapshot(car, unsound=[fakes.unsound("tunnel", "invalid")]))
    assert one(outcome, "DOC-INVALID").state == State.OPEN and outcome.exit_code == 1


# --- ids --------------------------------------------------------------------------------------------------------------


def test_ids_survive_renaming_recompute_reordering_and_other_measured_values():
    car = fakes.automatic()
    before = run(fakes.snapshot(car))
    shuffled = list(fakes.snapshot(placed(car, axle_to_block=84.0 * INCH)).parts)
    random.Random(1).shuffle(shuffled)
    renamed = tuple(replace(part, label=f"renamed {i}", digest=f"other {i}") for i, part in enumerate(shuffled))
    after = run(replace(fakes.snapshot(placed(car, axle_to_block=84.0 * INCH)), parts=renamed))
    assert [item.id for item in after.findings] == [item.id for item in before.findings]
    assert len({item.id for item in before.findings}) == len(before.findings)


def test_an_id_is_made_of_rule_subjects_and_discriminator():
    assert finding_id("A", ("b", "a")) == finding_id("A", ("a", "b"))
    ids = {finding_id(*given) for given in (("A", ("a",)), ("A", ("a",), "x"), ("A", ("a", "x")), ("A", ()), ("B", ("a",)),
                                                     ("A", ("ax",)), ("Aa", ()))}
    assert len(ids) == 7


# --- waivers ----------------------------------------------------------------------------------------------------------


def waiver(rule, measured=None, subjects=(), **more):
    given = dict(reason="the class allows this engine", author="A. Builder", date="2026-03-01", edition="1") | more
    return model.Waiver(rule=rule, subjects=subjects, measured=measured, **given)


def waived(given, car=None, unsound=(), **options):
    car = car or placed(fakes.automatic(), axle_to_block=86.0 * INCH)
    return run(fakes.snapshot(fakes.with_rules(car, waivers=given), unsound=unsound), fail_on="advice", **options)


def test_a_waived_finding_stays_told_and_fails_nothing():
    found = one(waived((waiver("PRA-AXLE", 86.0, ("engine",)),)), "PRA-AXLE")
    assert found.state == State.WAIVED and not found.counts("advice")
    assert "A. Builder" in found.reason and found.waiver["measured"] == 86.0


@pytest.mark.parametrize("measured, state", [(86.0, "waived"), (86.1, "waived"), (86.0 - 5e-5, "waived"), (85.9, "waiver-void")])
def test_a_waiver_is_void_when_the_margin_worsens(measured, state):
    found = one(waived((waiver("PRA-AXLE", measured),)), "PRA-AXLE")
    assert found.state == state
    assert (state == "waived") or "is worse than" in found.reason


@pytest.mark.parametrize("expires, state", [("2026-05-01", "waived"), ("2026-04-30", "waiver-void")])
def test_a_waiver_expires(expires, state):
    found = one(waived((waiver("PRA-AXLE", 86.0, expires=expires),)), "PRA-AXLE")
    assert found.state == state
    assert (state == "waived") or "expired on 2026-04-30" in found.reason


def test_the_event_date_of_the_car_counts_where_none_is_given():
    car = fakes.with_rules(placed(fakes.automatic(), axle_to_block=86.0 * INCH), event_date="2027-01-01")
    found = one(waived((waiver("PRA-AXLE", 86.0, expires="2026-12-31"),), car, event_date=None), "PRA-AXLE")
    assert found.state == State.WAIVER_VOID


def test_a_void_waiver_fails_like_an_open_finding():
    outcome = waived((waiver("PRA-AXLE", 80.0),))
    assert one(outcome, "PRA-AXLE").counts("advice") and outcome.exit_code == 1


@pytest.mark.parametrize("more, told", [(dict(reason="ok"), "fewer than 10"), (dict(author=" "), "no name of who approved it")])
def test_a_waiver_needs_reason_and_author(more, told):
    found = one(waived((waiver("PRA-AXLE", 86.0, **more),)), "PRA-AXLE")
    assert found.state == State.WAIVER_VOID and told in found.reason


LOOP = """
rule_set: 1
title: t
edition: "1"
rules:
  - {id: OWN-SECTION, title: t, quantity: loop_section, comparison: ">=", severity: warning, hint: h, basis: {document: d, source: seen},
     alternatives: [{form: tube, outer_diameter: 1.25 in, wall: 0.095 in}]}
"""


def test_a_waiver_without_an_edition_says_what_to_add():
    found = one(waived((waiver("PRA-AXLE", 86.0, edition=None),)), "PRA-AXLE")
    assert found.state == State.WAIVER_VOID and "add edition: 1" in found.reason


def test_a_waiver_that_holds_is_taken_before_one_that_has_expired():
    expired, good = waiver("PRA-AXLE", 86.0, expires="2026-04-01"), waiver("PRA-AXLE", 86.0, date="2026-03-02")
    outcome = waived((expired, good))
    assert one(outcome, "PRA-AXLE").state == State.WAIVED
    assert [item.why for item in outcome.unused_waivers] == ["another waiver covers its finding"]


def test_a_waiver_is_void_where_nothing_is_measured_any_more():
    rule, = rule_sets.parse(LOOP).rules
    bare = fakes.snapshot(fakes.automatic(), without=("loop/front", "loop/second", "loop/rear"))
    found = evaluate.evaluate([rule], bare, fakes.FakeMeasurer())
    (judged, *_rest), _unused = waivers.apply(found, (waiver("OWN-SECTION", 0.083, compared="wall (in)"),), DATE)
    assert judged.measured is None and judged.state == State.WAIVER_VOID and "nothing is measured now" in judged.reason


def test_an_edition_of_the_rule_itself_goes_before_that_of_its_set():
    text = LOOP.replace("basis: {document: d, source: seen}", 'basis: {document: d, source: seen, edition: "2026"}')
    assert rule_sets.parse(text).rules[0].edition == "2026" and rule_sets.parse(LOOP).rules[0].edition == "1"


@pytest.mark.parametrize("old, new, says",
                         [("form: tube", "form: tubbe", "did you mean tube"), ("form: tube", "material: steel", "carbon_steel")])
def test_words_that_are_never_found_are_refused(old, new, says):
    with pytest.raises(source.SourceError, match=says):
        rule_sets.parse(LOOP.replace(old, new))


def test_a_rule_is_not_switched_off_without_a_reason():
    with pytest.raises(source.SourceError, match="is not a reason"):
        rule_sets.parse(LOOP.replace("rules:", "disable: [{rule: PRA-AXLE, reason: a}]\nrules:"))


def test_a_waiver_without_a_measured_value_says_what_to_add():
    found = one(waived((waiver("PRA-AXLE"),)), "PRA-AXLE")
    assert found.state == State.WAIVER_VOID and "add measured: 86" in found.reason


def section(outer, wall, compared, measured=0.083, form="tube"):
    """The finding of a loop of a section with a waiver that was given for a wall of 0.083 in."""
    rule, = rule_sets.parse(LOOP).rules
    shape = loop_at(3.0, form=form, outer_diameter=outer * INCH, wall=wall * INCH, thickness=6.0, width=50.0)
    found = [item for item in evaluate.evaluate([rule], shape, fakes.FakeMeasurer()) if item.subjects == ("loop/front",)]
    (judged,), _unused = waivers.apply(found, (waiver("OWN-SECTION", measured, ("loop/front",), compared=compared),), DATE)
    return judged


def test_a_waiver_holds_for_the_size_that_it_was_given_for():
    held = section(1.25, 0.083, "wall (in)")
    assert held.state == State.WAIVED and (held.component, held.compared) == ("wall", "wall (in)")
    worse = section(1.25, 0.082, "wall (in)")
    assert worse.state == State.WAIVER_VOID and "is worse than" in worse.reason
    other = section(0.5, 0.095, "wall (in)")
    assert other.state == State.WAIVER_VOID
    assert "given for 0.083 wall (in), and what decides now is 0.5 outer diameter (in)" in other.reason
    unit = section(1.25, 0.083, "wall (mm)")
    assert unit.state == State.WAIVER_VOID and "wall (mm)" in unit.reason
    gone = section(1.25, 0.083, "wall (in)", form="box")
    assert gone.state == State.WAIVER_VOID and "nothing is measured now" in gone.reason


def test_a_waiver_that_does_not_say_of_which_size_says_what_to_add():
    found = section(0.5, 0.095, None)
    assert found.state == State.WAIVER_VOID and "add compared: outer diameter (in), if that is the one" in found.reason
    again = section(0.5, 0.095, "outer diameter (in)", measured=0.5)
    assert again.state == State.WAIVED


def test_a_protective_part_cannot_be_waived():
    snapshot = loop_at(3.0, closed=6.0)
    car = fakes.with_rules(snapshot.car, waivers=(waiver("NHRA-LOOP-CLOSED", math.degrees(6.0), ("loop/front",)),))
    outcome = run(replace(snapshot, car=car))
    found = one(outcome, "NHRA-LOOP-CLOSED", "loop/front")
    assert found.state == State.WAIVER_VOID and "cannot be waived" in found.reason and outcome.exit_code == 1


def test_unused_waivers_are_listed_with_the_reason():
    given = (waiver("PRA-AXLE", 86.0), waiver("PRA-AXLE", 86.0, date="2026-03-02"), waiver("PRA-HEIGHT", 10.0), waiver("NONE-1", 1.0),
             waiver("DRV-CRITICAL", 1.0, ("engine",)))
    told = {item.waiver.rule + item.waiver.date[-1]: item.why for item in waived(given).unused_waivers}
    assert told == {"PRA-AXLE2": "another waiver covers its finding", "PRA-HEIGHT1": "its finding is passed",
                    "NONE-11": "no rule NONE-1 in the car's rule sets",
                    "DRV-CRITICAL1": "the rule has no finding on these subjects"}


def test_a_changed_edition_voids():
    found = one(run(fakes.snapshot(placed(fakes.automatic(), axle_to_block=86.0 * INCH))), "PRA-AXLE")

    old = model.Waiver(rule="PRA-AXLE", subjects=(), reason="the class allows this", author="A", date="2026-01-01",
                       edition="0", measured=86.0)
    result, _unused = waivers.apply([found], [old], DATE)
    assert result[0].state == State.WAIVER_VOID and "edition 0" in result[0].reason


# --- exit codes -------------------------------------------------------------------------------------------------------


def finding(state, severity="error", to_confirm=False):
    return Finding(finding_id(state + severity, ()), "R", "s", "t", Severity(severity), State(state), {}, (), to_confirm=to_confirm)


@pytest.mark.parametrize("state, severity, fail_on, expected", [
    ("passed", "error", "advice", 0), ("not-applicable", "error", "advice", 0), ("waived", "error", "advice", 0),
    ("open", "error", "error", 1), ("open", "warning", "error", 0), ("open", "warning", "warning", 1), ("open", "advice", "warning", 0),
    ("open", "advice", "advice", 1), ("waiver-void", "error", "error", 1), ("not-evaluated", "advice", "error", 4)])
def test_exit_code_of_one_finding(state, severity, fail_on, expected):
    assert exit_code([finding(state, severity)], fail_on) == expected


def test_precedence_of_exit_codes():
    failing, unknown = finding("open"), finding("not-evaluated")
    assert exit_code([], "error") == 0
    assert exit_code([failing, unknown]) == 4
    assert exit_code([failing, unknown], blocking=True) == 3
    assert exit_code([finding("open", "advice", to_confirm=True)], "advice") == 0
    with pytest.raises(ValueError, match="--fail-on"):
        exit_code([], "everything")


def test_a_wrong_date_and_a_wrong_set_are_one_sentence():
    with pytest.raises(checks.RuleError, match="YYYY-MM-DD"):
        run(fakes.snapshot(fakes.automatic()), event_date="1 May")
    with pytest.raises(checks.RuleError, match="is not a rule set"):
        run(fakes.snapshot(fakes.with_rules(fakes.automatic(), sets=("nhra",))))


def test_yokes_out_of_phase_pass_no_more():
    """A quarter turn out of phase, nearly equal joint angles add up instead of canceling (kinematics: sqrt(b1^2 + b2^2) for one plane)."""
    good = fakes.automatic()
    bad = replace(good, driveshaft=replace(good.driveshaft, phase=math.pi / 2.0))
    found = {item.discriminator: item for item in run(fakes.snapshot(bad)).findings if item.rule == "DRV-RESIDUAL"}
    angles = {item.discriminator: item.measured for item in run(fakes.snapshot(bad)).findings if item.rule == "DRV-ANGLE-SPEED"}
    assert set(found) == {"static", "launch", "top_end"} and found["top_end"].state == State.OPEN
    for pose, item in found.items():
        assert item.measured == pytest.approx(math.hypot(angles[f"front joint, {pose}"], angles[f"rear joint, {pose}"]), rel=1e-6)
        assert "yokes 90 deg out of phase" in item.how
    phase, = [item for item in run(fakes.snapshot(bad)).findings if item.rule == "DRV-PHASE"]
    assert (phase.state, phase.severity, phase.measured) == (State.OPEN, "warning", pytest.approx(90.0))
    assert all(item.state == State.PASSED for item in run(fakes.snapshot(good)).findings if item.rule in ("DRV-PHASE", "DRV-RESIDUAL"))


def test_full_bump_at_top_speed_is_told_as_advice():
    """The demo's front joint runs at 3.32 deg at full bump: (0.0580 x 858.7)^2 = 2,480 rad/s2 where 1,000 is allowed in steady running."""
    outcome = run(fakes.snapshot(fakes.automatic()))
    passing = [item for item in outcome.findings if item.rule in ("DRV-RESIDUAL-TRANSIENT", "DRV-ANGLE-SPEED-TRANSIENT")]
    open_ = {(item.rule, item.discriminator, item.severity) for item in passing if item.state == State.OPEN}
    assert open_ == {("DRV-RESIDUAL-TRANSIENT", "full_bump", "advice"), ("DRV-ANGLE-SPEED-TRANSIENT", "front joint, full_bump", "advice")}


def test_the_launch_goes_the_way_that_the_links_push():
    """The demo's links carry 151 % of the load transfer: it rises, by the inch that is assumed. Links to an instant center 3 m ahead and
    0.15 m up carry 0.05 of slope where h / l asks for more: it squats. Without masses nobody knows: both are told."""
    def launches(car):
        return {pose.name: pose.axle_travel for pose in numbers.poses(filled(car), scene.of(car)) if pose.name.startswith("launch")}
    car = fakes.automatic()
    assert launches(car) == {"launch": pytest.approx(-INCH)}
    low = replace(car, rear_end=replace(car.rear_end, suspension=model.Suspension(
        kind="ladder", bump=60.0, droop=75.0, pivot=model.SidePoint(x=1400.0, z=100.0))))
    assert launches(low) == {"launch": pytest.approx(INCH)}
    assert launches(replace(car, masses=())) == {"launch": pytest.approx(-INCH), "launch_squat": pytest.approx(INCH)}
    stated = replace(car.rear_end, suspension=replace(car.rear_end.suspension, launch_separation=-10.0))
    assert launches(replace(car, masses=(), rear_end=stated)) == {"launch": pytest.approx(10.0)}
    both = {item.discriminator for item in run(fakes.snapshot(replace(car, masses=()))).findings if item.rule == "DRV-RESIDUAL"}
    assert both == {"static", "launch", "top_end", "launch_squat"}


def test_springs_say_how_far_the_body_moves_at_launch():
    """Half of the load transfer that the links carry too much, over the rate of a wheel: the demo rises, with links that carry too little
    it squats; never beyond droop and bump. Without masses the rate says nothing."""
    def launched(car, suspension, **changes):
        car = replace(car, rear_end=replace(car.rear_end, suspension=replace(suspension, **changes)))
        found = poses.separation(filled(car), scene.of(car))
        return found, {pose.name: pose.axle_travel for pose in numbers.poses(filled(car), scene.of(car)) if pose.name.startswith("launch")}
    car = fakes.automatic()
    held, drawn = car.rear_end.suspension, filled(car)
    mass = sum(item.mass for item in car.masses) + drawn.engine.mass + drawn.transmission.mass
    share = poses.squat(drawn, scene.of(car))
    forward = load_model.launch(drawn, scene.of(car)).forward
    height = numbers.balance_figures(drawn, scene.of(car))["cg_mm"][2]
    rise = (share - 1.0) * mass * 9.80665 * forward * height / car.car.wheelbase / (2.0 * 60.0)
    found, travel = launched(car, held, wheel_rate=60.0, droop=400.0)
    assert found.source == "anti-squat and wheel rate" and found.ways == (pytest.approx(rise, rel=1e-9),) and rise > 20.0
    assert travel == {"launch": pytest.approx(-rise)}
    assert launched(car, held, wheel_rate=10.0)[1] == {"launch": pytest.approx(-held.droop)}
    low = model.Suspension(kind="ladder", bump=60.0, droop=75.0, pivot=model.SidePoint(x=1400.0, z=100.0))
    assert -60.0 < launched(car, low, wheel_rate=200.0)[0].ways[0] < 0.0
    assert launched(replace(car, masses=()), held, wheel_rate=60.0)[0].source == "size assumed, way not known"
    assert launched(car, held, wheel_rate=60.0, launch_separation=-3.0)[0] == ((-3.0,), "stated")
