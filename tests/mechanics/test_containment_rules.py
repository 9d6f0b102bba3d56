"""Rules about what contains the driveshaft, its travel, its release and its whirl: just inside, just outside, not applicable, unknown.

The shapes are records read back by a fake measurer; tests/host/test_containment.py measures real ones.
"""
from __future__ import annotations

import datetime
import json
import math
from dataclasses import replace

import numpy as np
import pytest
import snapshot_fakes as fakes
from oracles import fits_schema

from crankline import catalog, reports
from crankline.checks import evaluate
from crankline.checks.finding import State
from crankline.mechanics import scene, shaft, travel
from crankline.record import filled
from crankline.rules import rule_sets

INCH = 25.4
TURN = 2.0 * math.pi
PASSED, OPEN, NOT_APPLICABLE, NOT_EVALUATED = State.PASSED, State.OPEN, State.NOT_APPLICABLE, State.NOT_EVALUATED
DATE = datetime.date(2026, 5, 1)


def run(snapshot):
    return fakes.checked(snapshot, event_date=DATE)


def told(outcome, rule, subject=None, discriminator=None):
    found = [item for item in outcome.findings if item.rule == rule and (subject is None or item.subjects == (subject,))
             and (discriminator is None or item.discriminator == discriminator)]
    assert len(found) == 1, (rule, found)
    return found[0]


def rule(quantity, comparison, limit, **more):
    """The findings of one rule on a snapshot."""
    text = f'rule_set: 1\ntitle: t\nedition: "1"\nrules:\n  - id: T\n    title: t\n    quantity: {quantity}\n' \
           f'    comparison: "{comparison}"\n' \
           f'    limit: {limit}\n    severity: warning\n    hint: h\n    basis: {{document: d, source: seen}}\n'
    text += "".join(f"    {name}: {value}\n" for name, value in more.items())
    return lambda snapshot: evaluate.evaluate(rule_sets.parse(text).rules, snapshot, fakes.FakeMeasurer(), DATE)


def loops(car=None, without=(), unsound=(), **shapes):
    """A demo with changed loop shapes, by the loops' names."""
    car = car or fakes.automatic()
    found = {part.key: part for part in fakes.snapshot(car).parts}
    change = {f"loop/{name}": {"shape": replace(found[f"loop/{name}"].shape, **given)} for name, given in shapes.items()}
    return fakes.snapshot(car, change=change, without=without, unsound=unsound)


def tube(car, **changes):
    """A demo with its enclosure's ends moved along its axis, mm, or another wall or diameter."""
    snapshot = fakes.snapshot(car)
    shape = snapshot.part("enclosure").shape
    front, rear = changes.pop("front", 0.0), changes.pop("rear", 0.0)
    axis = np.subtract(shape.front, shape.rear) / np.linalg.norm(np.subtract(shape.front, shape.rear))
    ends = dict(rear=tuple(shape.rear + rear * axis), front=tuple(shape.front + front * axis), length=shape.length + front - rear)
    return fakes.snapshot(car, change={"enclosure": {"shape": replace(shape, **ends, **changes)}})


def with_car(car, **changes):
    return replace(car, car=replace(car.car, **changes))


# --- loops ------------------------------------------------------------------------------------------------------------


def test_the_demo_cars_break_no_containment_rule_but_advice():
    for car in (fakes.automatic(), fakes.clutch()):
        outcome = run(fakes.snapshot(car))
        assert outcome.exit_code == 0
        broken = {item.rule for item in outcome.findings if item.unresolved and item.rule_set == "containment"}
        assert broken <= {"CON-ENCLOSURE-ROOM", "CON-LOOP-WELDED"}         # the fake chassis has one tube only


FULL = (("split", 100.0, True), ("split", -100.0, True), ("foot", 80.0, True), ("foot", -80.0, True))


@pytest.mark.parametrize("pins, missing, words", [
    (FULL, 0.0, "4 of 4 pins present"),
    (FULL[:1] + (("split", -100.0, False),) + FULL[2:], 1.0, "none at the right side of the split"),
    (FULL[:3] + (("foot", -80.0, False),), 1.0, "none at the right foot"),
    (FULL[:1] + FULL[2:], 1.0, "none at the right side of the split"),
    ((), 2.0, "0 of 0 pins present")])
def test_every_pin_of_a_split_loop_is_there(pins, missing, words):
    found = told(run(loops(front=dict(pins=pins))), "CON-LOOP-PINS", "loop/front")
    assert found.measured == missing and (found.state == PASSED) is (missing == 0.0) and words in found.how
    assert not found.waivable


def test_a_fixed_loop_is_asked_for_no_pins_and_no_split_loop_for_legs():
    outcome = run(fakes.snapshot(fakes.clutch()))
    assert [item.subjects for item in outcome.findings if item.rule == "CON-LOOP-PINS"] == [("loop/front",)]
    assert [item.subjects for item in outcome.findings if item.rule == "CON-LOOP-WELDED"] == [("loop/rear",)]
    only_split = replace(fakes.clutch(), containment=replace(fakes.clutch().containment, loops=fakes.clutch().containment.loops[:1]))
    assert told(run(fakes.snapshot(only_split)), "CON-LOOP-WELDED").state == NOT_APPLICABLE


@pytest.mark.parametrize("shape, places, state", [
    (dict(front=dict()), 2.0, PASSED), (dict(front=dict(pins=FULL[:3] + (("foot", -80.0, False),))), 1.0, OPEN),
    (dict(front=dict(pins=FULL[:2])), 0.0, OPEN)])
def test_a_split_loop_stands_on_two_pinned_feet(shape, places, state):
    found = told(run(loops(**shape)), "NHRA-LOOP-MOUNTED", "loop/front")
    assert (found.measured, found.state) == (places, state)


@pytest.mark.parametrize("field, blind", [("pins_feet", ("CON-LOOP-PINS", "NHRA-LOOP-MOUNTED")), ("pins_split", ("CON-LOOP-PINS",))])
def test_pins_that_nobody_counted_are_not_counted_as_present(field, blind):
    """A loop is drawn with two pins at the split and two at the feet where the car file says nothing."""
    car = fakes.automatic()
    first, *others = car.containment.loops
    outcome = run(fakes.snapshot(replace(car, containment=replace(car.containment, loops=(replace(first, **{field: None}), *others)))))
    for rule_ in ("CON-LOOP-PINS", "NHRA-LOOP-MOUNTED"):
        found = told(outcome, rule_, "loop/front")
        assert found.state == (NOT_EVALUATED if rule_ in blind else PASSED)
        assert rule_ not in blind or f"not stated; count them and give containment.loops {field}" in found.reason
        assert told(outcome, rule_, "loop/second").state == PASSED


def test_a_pinned_foot_on_no_tube_secures_nothing():
    found = told(run(loops(front=dict(met=0))), "NHRA-LOOP-MOUNTED", "loop/front")
    assert (found.measured, found.state) == (0.0, OPEN) and "left foot on no chassis tube" in found.how
    found = told(run(loops(front=dict(met=1))), "NHRA-LOOP-MOUNTED", "loop/front")
    assert (found.measured, found.state) == (1.0, OPEN) and "right foot on no chassis tube" in found.how


@pytest.mark.parametrize("met, state, welded", [(2, PASSED, OPEN), (1, OPEN, OPEN), (0, OPEN, OPEN)])
def test_a_fixed_loop_is_counted_by_the_places_where_it_meets_tubes(met, state, welded):
    outcome = run(loops(rear=dict(met=met)))
    found = told(outcome, "NHRA-LOOP-MOUNTED", "loop/rear")
    assert (found.measured, found.state) == (float(met), state)
    assert told(outcome, "CON-LOOP-WELDED", "loop/rear").state == welded
    assert ("rear_cross_member" in found.how) is (met > 0)


def test_mounting_is_not_judged_on_a_chassis_tube_that_is_doubtful():
    outcome = run(fakes.snapshot(fakes.automatic(), unsound=(fakes.unsound("rear_cross_member"),)))
    assert told(outcome, "NHRA-LOOP-MOUNTED", "loop/rear").state == NOT_EVALUATED
    assert told(outcome, "NHRA-LOOP-MOUNTED", "loop/front").state == NOT_EVALUATED, "its feet may be on it"
    # A ring that is closed by itself needs no members.
    assert told(outcome, "NHRA-LOOP-CLOSED", "loop/rear").state == PASSED
    opened = loops(rear=dict(closed=6.0), unsound=(fakes.unsound("rear_cross_member"),))
    assert told(run(opened), "NHRA-LOOP-CLOSED", "loop/rear").state == NOT_EVALUATED


@pytest.mark.parametrize("name, met, with_members, state",
                         [("rear", 2, TURN, PASSED), ("rear", 2, TURN - 1e-3, OPEN), ("rear", 0, TURN, OPEN),
                                                            ("front", 2, TURN, OPEN)])
def test_members_count_in_the_circle_of_a_welded_loop_only(name, met, with_members, state):
    found = told(run(loops(**{name: dict(closed=6.0, with_members=with_members, met=met)})), "NHRA-LOOP-CLOSED", f"loop/{name}")
    assert found.state == state
    if name == "rear" and met:
        assert "rear_cross_member" in found.how and "343.8 deg" in found.how        # 6 rad


def test_a_loop_rule_without_any_loop():
    bare = fakes.snapshot(fakes.automatic(), without=("loop/front", "loop/second", "loop/rear"))
    outcome = run(bare)
    for name in ("NHRA-LOOP-MOUNTED", "CON-LOOP-COUNT"):
        assert told(outcome, name).state == OPEN
    assert told(outcome, "CON-LOOP-PINS").state == told(outcome, "CON-LOOP-TOUCH").state == NOT_APPLICABLE


def test_loops_are_counted_between_the_joints():
    car = fakes.automatic()
    ahead = float(scene.of(car).front_joint[0]) + 1.0
    assert told(run(loops(without=("loop/second",))), "CON-LOOP-COUNT").state == PASSED
    found = told(run(loops(front=dict(x=ahead), without=("loop/second",))), "CON-LOOP-COUNT")
    assert (found.state, found.measured) == (OPEN, 1.0)
    chart = rule("loop_count", ">=", "1")
    assert chart(fakes.snapshot(car))[0].state == PASSED
    assert chart(fakes.snapshot(car, unsound=(fakes.unsound("loop/rear"),)))[0].state == NOT_EVALUATED


def test_the_nearest_loop_at_both_ends_of_the_slip():
    """The joint goes with the slip: at its ends the distance differs from static by the plunge, along the output axis."""
    car = fakes.automatic()
    place = scene.of(car)
    outcome = run(fakes.snapshot(car))
    static = told(outcome, "NHRA-LOOP-PLACE").measured * INCH
    wide, sides = travel.travels(place, 301), travel.windups(place)
    swept = travel.sweep(place, np.repeat(wide, 2), np.tile(sides, wide.size))
    for name, plunge in (("furthest_in", swept.plunge.max()), ("furthest_out", swept.plunge.min())):
        found = told(outcome, "CON-LOOP-PLACE", discriminator=name)
        assert found.measured * INCH - static == pytest.approx(plunge, abs=0.6), name      # the shaft turns a little too
        assert found.state == PASSED
    x = float(place.front_joint[0] - 6.05 * INCH)
    far = {"shape": fakes.FakeLoop(700.0)}
    near = run(fakes.snapshot(car, change={"loop/front": {"shape": fakes.FakeLoop(x)}, "loop/second": far}))
    assert [told(near, "CON-LOOP-PLACE", discriminator=name).state for name in ("furthest_in", "furthest_out")] == [OPEN, OPEN]


# --- enclosure --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("short, state", [(-1e-3, PASSED), (0.0, PASSED), (1e-3, OPEN)])
def test_the_enclosure_reaches_over_the_joint(short, state):
    car = fakes.automatic()
    place = scene.of(car)
    given = told(run(fakes.snapshot(car)), "CON-ENCLOSURE-JOINT", discriminator="static").measured * INCH
    assert given == pytest.approx((55.0 * INCH - place.front_joint[0]) / place.driveline.shaft_axis[0], abs=1e-6)
    found = told(run(tube(car, front=-given - short)), "CON-ENCLOSURE-JOINT", discriminator="static")
    assert found.state == state and found.measured == pytest.approx(-short / INCH, abs=1e-6)


def test_an_enclosure_ahead_of_the_driveshaft_is_told_and_not_measured():
    """Around nothing: there is no least clearance, and the rule does not hold for want of one."""
    outcome = run(tube(fakes.automatic(), front=600.0, rear=600.0))
    found = told(outcome, "CON-ENCLOSURE-TOUCH")
    assert found.state == OPEN and found.measured is None and found.counts("error")
    assert "does not pass through the enclosure" in found.reason


def test_an_enclosure_is_carried_at_both_ends():
    car, clutch = fakes.automatic(), fakes.clutch()
    assert told(run(fakes.snapshot(car)), "CON-ENCLOSURE-SUPPORT").measured == 2.0
    only = told(run(loops(without=("loop/second",))), "CON-ENCLOSURE-SUPPORT")
    assert (only.state, only.measured, only.severity) == (OPEN, 1.0, "warning") and "rear: nothing" in only.how
    assert told(run(loops(without=("loop/second", "loop/front"))), "CON-ENCLOSURE-SUPPORT").measured == 0.0
    assert told(run(fakes.snapshot(clutch, without=("loop/front", "transmission"))), "NHRA-ENCLOSURE-FIXED").measured == 1.0
    tail = told(run(fakes.snapshot(clutch, without=("loop/front",))), "NHRA-ENCLOSURE-FIXED")
    assert (tail.state, tail.measured) == (PASSED, 2.0) and "the transmission's tail" in tail.how
    # Beside the driver: met either way.
    assert told(run(fakes.snapshot(car)), "NHRA-ENCLOSURE-FIXED").state == PASSED
    assert told(run(fakes.snapshot(car, without=("enclosure",))), "CON-ENCLOSURE-SUPPORT").state == NOT_APPLICABLE


@pytest.mark.parametrize("gone", ["in error", "in error and without a shape", "not in the document"])
def test_an_enclosure_whose_front_mounts_nobody_measured_is_not_said_to_be_carried(gone):
    """The loop around its front would carry it, if a mount stood between them."""
    keys = ("enclosure_mount/front_top", "enclosure_mount/front_bottom")
    outcome = run(fakes.snapshot(fakes.clutch(), without=() if gone == "in error" else keys,
                                 unsound=() if gone == "not in the document" else [fakes.unsound(key) for key in keys]))
    for rule_ in ("CON-ENCLOSURE-SUPPORT", "NHRA-ENCLOSURE-FIXED", "CON-RELEASE-TRACK"):
        found = told(outcome, rule_)
        assert found.state == NOT_EVALUATED and found.measured is None and "front" in found.reason


@pytest.mark.parametrize("smaller, state", [(-1e-3, PASSED), (0.0, PASSED), (1e-3, OPEN)])
def test_the_joints_pass_through_the_bore(smaller, state):
    car = fakes.automatic()
    swing = filled(car).driveshaft.joint_swing_diameter
    snapshot = tube(car, outer_diameter=swing + 2 * 1.651 - smaller, wall=1.651)
    found = told(run(snapshot), "CON-ENCLOSURE-REMOVAL")
    assert found.state == state and found.measured == pytest.approx(-smaller / INCH, abs=1e-9)


@pytest.mark.parametrize("thicker, decides", [(-10.0, "joint swing"), (-1e-3, "joint swing"), (6.0, "shaft tube")])
def test_a_shaft_thicker_than_its_joints_swing_passes_by_its_tube(thicker, decides):
    """Whichever is thicker counts, in the rule of containment by diameter and in that of service all around."""
    car = fakes.automatic()
    swing = filled(car).driveshaft.joint_swing_diameter
    car = replace(car, driveshaft=replace(car.driveshaft, outer_diameter=swing + thicker))
    snapshot, bore = tube(car, outer_diameter=160.0, wall=2.0), 156.0
    thick = swing + max(0.0, thicker)
    over, = rule("enclosure_bore_over_joint", ">=", "{mm: 0 mm, in: 0 in}")(snapshot)
    around, = rule("joint_through_enclosure", ">=", "{mm: 3 mm, in: 0.125 in}")(snapshot)
    # Told in the car's inches.
    assert over.measured * INCH == pytest.approx(bore - thick, abs=1e-6) and decides in over.how
    assert around.measured * INCH == pytest.approx((bore - thick) / 2.0, abs=1e-6) and decides in around.how


@pytest.mark.parametrize("smaller, state", [(-1e-3, PASSED), (1e-3, OPEN)])
def test_a_thick_tube_that_does_not_pass_the_bore_is_a_finding(smaller, state):
    car = fakes.automatic()
    thick = filled(car).driveshaft.joint_swing_diameter + 8.0
    car = replace(car, driveshaft=replace(car.driveshaft, outer_diameter=thick))
    found = told(run(tube(car, outer_diameter=thick + 2 * 1.651 - smaller, wall=1.651)), "CON-ENCLOSURE-REMOVAL")
    assert found.state == state and found.measured == pytest.approx(-smaller / INCH, abs=1e-9)


def seated(car):
    """The clutch car with its driver from X = 20.5 in to 51.0 in, whatever the demo says."""
    return with_car(car, driver_envelope=replace(car.car.driver_envelope, x_rear=20.5 * INCH, x_front=51.0 * INCH))


@pytest.mark.parametrize("rear, bare, state", [(0.5, 0.0, PASSED), (0.5 + 1e-3, 1e-3, OPEN), (2.5, 2.0, OPEN)])
def test_a_shaft_past_the_driver_is_enclosed_over_his_whole_length(rear, bare, state):
    """The clutch car's driver sits from X = 20.5 in; its enclosure begins at 20.0 in."""
    car = seated(fakes.clutch())
    snapshot = tube(car, rear=0.0)
    shape = snapshot.part("enclosure").shape
    along = (shape.front[0] - shape.rear[0]) / math.dist(shape.front, shape.rear)
    found = told(run(tube(car, rear=rear * INCH / along)), "NHRA-ENCLOSURE-FULL")
    assert found.state == state and found.measured == pytest.approx(bare, abs=2e-3 * max(bare, 0.01))
    assert "20.500 in to 48.217 in" in found.how


def test_a_shaft_past_the_driver_without_enclosure_or_without_a_known_driver():
    car = seated(fakes.clutch())
    found = told(run(fakes.snapshot(car, without=("enclosure",))), "NHRA-ENCLOSURE-FULL")
    assert found.state == OPEN and found.measured == pytest.approx((48.217 - 20.5) / scene.of(car).driveline.shaft_axis[0], abs=1e-3)
    unknown = with_car(car, driver_envelope=None)
    assert told(run(fakes.snapshot(unknown)), "NHRA-ENCLOSURE-FULL").state == NOT_EVALUATED


@pytest.mark.parametrize("wall, state", [(0.120, PASSED), (0.1199, OPEN)])
def test_a_driver_behind_the_axle_has_a_shield_over_both_joints(wall, state):
    car = with_car(fakes.automatic(), driver_position="behind_axle")
    place = scene.of(car)
    ends = dict(rear=tuple(place.shaft_at(float(place.rear_joint[0]) - 50.0)),
                front=tuple(place.shaft_at(float(place.front_joint[0]) + 50.0)))
    whole = fakes.FakeTube(1200.0, wall * INCH, 6.0 * INCH, **ends)
    outcome = run(fakes.snapshot(car, change={"enclosure": {"shape": whole}}))
    assert [told(outcome, "NHRA-JOINT-SHIELD", discriminator=f"{end} joint").state for end in ("front", "rear")] == [state, state]
    short = run(fakes.snapshot(car))
    assert told(short, "NHRA-JOINT-SHIELD", discriminator="rear joint").state == OPEN
    assert "no enclosure over the rear joint" in told(short, "NHRA-JOINT-SHIELD", discriminator="rear joint").reason
    assert told(run(fakes.snapshot(fakes.automatic())), "NHRA-JOINT-SHIELD").state == NOT_APPLICABLE


# --- travel -----------------------------------------------------------------------------------------------------------


def rigid(car):
    """The demo with an axle that does not move: the shaft stands where it stands."""
    return replace(car, rear_end=replace(car.rear_end, windup=0.0,
                                         suspension=replace(car.rear_end.suspension, kind="rigid", bump=0.0, droop=0.0)))


@pytest.mark.parametrize("room, touch, usual", [(-0.2, OPEN, OPEN), (0.2, PASSED, OPEN), (6.35, PASSED, OPEN), (6.55, PASSED, PASSED)])
def test_radial_clearance_of_a_shaft_that_stands_still(room, touch, usual):
    """In the middle of a round ring it is the ring's inside radius less the tube's and the whip: a lean of 3 degrees adds less than 0.1 mm.

    1/2 in of room without 1/4 in of whip is 1/4 in (6.35 mm) with it: there the usual room is missed by what the lean takes.
    """
    car = rigid(fakes.automatic())
    given = filled(car).driveshaft
    inside = 2 * (given.outer_diameter / 2 + given.whip_allowance + room)
    outcome = run(loops(car, second=dict(inside=(inside, inside)), front=dict(inside=(200.0, 200.0))))
    found = told(outcome, "CON-LOOP-TOUCH", "loop/second")
    assert found.state == touch and found.measured * INCH == pytest.approx(room, abs=0.1)
    assert "static ride height" in found.how and "whip included" in found.how
    bare = told(outcome, "CON-LOOP-ROOM", "loop/second")
    assert bare.state == usual and (bare.measured - found.measured) * INCH == pytest.approx(given.whip_allowance, abs=0.01)
    assert found.points and abs(math.dist(found.points[0][1:], scene.of(car).shaft_at(found.points[0][0])[1:]) - inside / 2) < 0.1


def test_a_ring_whose_inside_cannot_be_read_is_not_evaluated():
    outcome = run(loops(front=dict(inside=(None, None))))
    assert told(outcome, "CON-LOOP-TOUCH", "loop/front").state == NOT_EVALUATED
    assert told(outcome, "CON-LOOP-TOUCH", "loop/rear").state == PASSED
    assert told(outcome, "CON-RELEASE-TRACK").state == NOT_EVALUATED and outcome.exit_code == 4


def test_travel_that_the_links_do_not_reach_is_not_evaluated():
    car = fakes.automatic()
    far = replace(car, rear_end=replace(car.rear_end, suspension=replace(car.rear_end.suspension, droop=900.0)))
    outcome = run(fakes.snapshot(far))
    for name in ("CON-LOOP-TOUCH", "DRV-SLIP-BOTTOM", "CON-RELEASE-TRACK"):
        found = told(outcome, name)
        assert found.state == NOT_EVALUATED and "rear_end.suspension.droop" in found.reason


@pytest.mark.parametrize("name, field, edge, within",
                         [("DRV-SLIP-BOTTOM", "slip_exposed", 0.25 * INCH, 1), ("DRV-SLIP-STATIC", "slip_exposed", 0.75 * INCH, 1),
                                                       ("DRV-SLIP-STATIC", "slip_exposed", 1.0 * INCH, -1),
                          ("DRV-SLIP-ENGAGED", "spline_engaged", None, 1)])
def test_slip_at_its_limits(name, field, edge, within):
    car = fakes.automatic()
    given = getattr(filled(car).transmission, field)
    edge = filled(car).transmission.spline_diameter if edge is None else edge
    found = told(run(fakes.snapshot(car)), name)
    now = found.measured * (INCH if found.unit == "in" else filled(car).transmission.spline_diameter)
    for beside, state in ((1e-3, PASSED), (-1e-3, OPEN)):
        changed = replace(car, transmission=replace(car.transmission, **{field: given + edge - now + within * beside}))
        assert told(run(fakes.snapshot(changed)), name).state == state


# --- release ----------------------------------------------------------------------------------------------------------


def test_a_released_shaft_without_anything_around_it_lies_on_the_track_and_may_go_anywhere():
    outcome = run(fakes.snapshot(fakes.automatic(), without=("loop/front", "loop/second", "loop/rear", "enclosure")))
    track = told(outcome, "CON-RELEASE-TRACK")
    assert (track.state, track.measured, track.severity) == (OPEN, 0.0, "error") and "nothing holds" in track.how
    assert told(outcome, "CON-RELEASE-FLOOR").state == OPEN
    assert told(outcome, "CON-RELEASE-DRIVER").state == OPEN


def test_a_released_shaft_rests_in_its_only_loop():
    """By hand: a level enough shaft on the bottom of a ring a share s of its length ahead of the rear joint sinks there by the ring's room
    and at its end by room / s. The ring stands about the front yoke, which is as thick as the joint swings."""
    car = rigid(fakes.automatic())
    snapshot = loops(car, front=dict(inside=(180.0, 180.0)), without=("loop/second", "loop/rear", "enclosure"))
    drop, = rule("released_shaft_drop", "<=", "1000 mm")(snapshot)
    place = scene.of(car)
    share = (car.containment.loops[0].x - place.rear_joint[0]) / (place.front_joint[0] - place.rear_joint[0])
    room = 90.0 - filled(car).driveshaft.joint_swing_diameter / 2
    assert drop.measured == pytest.approx(room / share, rel=0.02) and "loop/front holds" in drop.how
    floor, = rule("released_shaft_over_floor", ">=", "0 mm")(snapshot)
    rails = place.chassis.rails
    lowest = place.front_joint[2] - drop.measured - max(filled(car).driveshaft.joint_swing_diameter,
                                                        filled(car).driveshaft.outer_diameter) / 2
    assert floor.measured == pytest.approx(lowest - (rails.height - rails.section.outer_diameter / 2), abs=0.5)
    track, = rule("released_shaft_over_track", ">=", "0 mm")(snapshot)
    assert track.measured == pytest.approx(lowest, abs=0.5)


def test_where_the_driver_is_not_known_or_not_beside_the_shaft():
    car = fakes.automatic()
    assert told(run(fakes.snapshot(with_car(car, driver_envelope=None))), "CON-RELEASE-DRIVER").state == NOT_EVALUATED
    assert told(run(fakes.snapshot(with_car(car, driver_position="behind_axle"))), "CON-RELEASE-DRIVER").state == NOT_APPLICABLE
    box = car.car.driver_envelope
    nearer = told(run(fakes.snapshot(with_car(car, driver_envelope=replace(box, y_right=0.0)))), "CON-RELEASE-DRIVER")
    assert nearer.state == OPEN and nearer.measured < 0.0 and nearer.severity == "warning"


@pytest.mark.parametrize("rule_, says", [("NHRA-ENCLOSURE-WALL", "wall governs"), ("NHRA-ENCLOSURE-FULL", "not met")])
def test_a_shaft_beside_the_driver_is_asked_about_and_not_passed_over(rule_, says):
    """The automatic's driver sits left of the shaft: a wall of 0.065 in and a bare shaft behind were 'not applicable'."""
    found = told(run(fakes.snapshot(fakes.automatic())), rule_)
    assert (found.state, found.severity, found.to_confirm) == (OPEN, "advice", True) and not found.counts("advice")
    assert "runs beside the driver" in found.reason and "ask the sanctioning body" in found.reason and says in found.reason
    box = fakes.automatic().car.driver_envelope
    ahead = with_car(fakes.automatic(), driver_envelope=replace(box, x_rear=2000.0, x_front=3000.0))
    assert told(run(fakes.snapshot(ahead)), rule_).state == NOT_APPLICABLE
    under = told(run(fakes.snapshot(with_car(fakes.automatic(), driver_envelope=replace(box, y_right=0.0)))), rule_)
    assert (under.state, under.severity, under.to_confirm) == (OPEN, "error", False)


@pytest.mark.parametrize("material, state", [("4130N", PASSED), ("1020_DOM", PASSED), ("6061-T6", OPEN), ("Ti-6Al-4V", OPEN),
                                             ("carbon", OPEN)])
def test_a_strap_of_a_metal_that_no_book_names_does_not_pass(material, state):
    """One book names no material for a strap: an aluminum one of the size passed."""
    shape = dict(form="strap", thickness=0.25 * INCH, width=2.0 * INCH, outer_diameter=None, wall=None)
    found = {part.key: part for part in fakes.snapshot(fakes.automatic()).parts}["loop/front"].shape
    shot = fakes.snapshot(fakes.automatic(), change={"loop/front": {"shape": replace(found, **shape), "material": material}})
    assert told(run(shot), "NHRA-LOOP-SECTION", "loop/front").state == state


# --- whirl and torsion ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("fraction", [0.65, 0.70, 0.75])
def test_published_fractions_of_the_critical_speed_are_settings(fraction):
    found, = rule("critical_speed", ">=", f"{{formula: critical_speed_for_shaft_speed, fraction: {fraction}, unit: rpm}}")(
        fakes.snapshot(fakes.automatic()))
    assert found.limit == pytest.approx(8200.0 / fraction, rel=1e-9)


def at_half_critical(share):
    """The demo with its limiter at so many halves of the shaft's critical speed."""
    car = fakes.automatic()
    tube_, length = filled(car).driveshaft, float(scene.of(car).driveline.length)
    # Pinned uniform tube: (pi / L)^2 sqrt(E I / (rho A)), I / A = (D^2 + d^2) / 16.
    inner = tube_.outer_diameter - 2 * tube_.wall
    # What yokes and supports take off, 5 %, is a setting of the rule.
    critical = (math.pi / length) ** 2 * math.sqrt(tube_.axial_modulus * 1000.0 / tube_.density
                                                   * (tube_.outer_diameter**2 + inner**2) / 16.0)
    return replace(car, engine=replace(car.engine, rpm_limit=0.5 * share * 0.95 * critical * car.transmission.top_gear))


@pytest.mark.parametrize("share, state", [(0.9199, PASSED), (0.9201, OPEN), (1.0, OPEN), (1.0799, OPEN), (1.0801, PASSED)])
def test_stay_eight_percent_away_from_half_the_critical_speed(share, state):
    found = told(run(fakes.snapshot(at_half_critical(share))), "DRV-HALF-CRITICAL")
    assert found.state == state and found.measured == pytest.approx(abs(share - 1.0), abs=1e-9) and found.severity == "advice"


def test_half_critical_at_the_finish_line():
    """204 mph on 16.0 + 0.7 in and 4.10: 204 x 1056 in/min / (2 pi 16.7 in) x 4.10 = 8417 rpm."""
    car = fakes.automatic()
    judged = rule("half_critical_distance", ">=", "0.08", settings="{at: [finish, limiter]}")
    by_name = {item.discriminator: item for item in judged(fakes.snapshot(car))}
    assert "shaft at 8417 rpm" in by_name["finish"].how and "shaft at 8200 rpm" in by_name["limiter"].how
    unknown = {item.discriminator: item for item in judged(fakes.snapshot(with_car(car, speed=None)))}
    assert unknown["finish"].state == NOT_EVALUATED and unknown["limiter"].state == PASSED


def torque_of(car, newton_metres):
    """The demo with so much torque in its shaft at launch and nothing known of its grip."""
    steps = (car.transmission.converter_ratio or car.transmission.clutch_capacity_factor or 1.0) * car.transmission.first_gear
    return replace(car, masses=(), engine=replace(car.engine, peak_torque=newton_metres * 1000.0 / steps))


def test_torsional_stress_and_twist_by_handbook_numbers():
    """B4.2: 90 x 3.32 mm, 3500 N.m: 92.61 MPa. B4.1: 3.5 x .083 in, 1500 lbf.ft: 83.46 MPa, 45 in at 79.3 GPa twist 1.5506 deg."""
    car = fakes.clutch()
    stress = rule("shaft_torsion", "<=", "300 MPa", settings="{shock_factor: 1}")
    tube_ = replace(car.driveshaft, outer_diameter=90.0, wall=3.32)
    found, = stress(fakes.snapshot(torque_of(replace(car, driveshaft=tube_), 3500.0)))
    assert found.measured == pytest.approx(92.61, abs=0.005)
    tube_ = replace(car.driveshaft, outer_diameter=3.5 * INCH, wall=0.083 * INCH, shear_modulus=79300.0)
    loaded = fakes.snapshot(torque_of(replace(car, driveshaft=tube_), 1500 * 1.3558179483))
    found, = stress(loaded)
    assert found.measured == pytest.approx(83.46, abs=0.005)
    turned, = rule("shaft_twist", "<=", "5 deg", settings="{shock_factor: 1}")(loaded)
    length = float(scene.of(car).driveline.length)
    assert turned.measured == pytest.approx(1.5506 * length / (45 * INCH), rel=1e-4)
    shocked, = rule("shaft_torsion", "<=", "300 MPa", settings="{shock_factor: 2}")(loaded)
    assert shocked.measured == pytest.approx(2 * 83.46, abs=0.01)


def test_torsion_is_judged_against_yield_in_shear_and_only_for_metal():
    """4130N of the catalog: 60 ksi over root 3 is 34.64 ksi, 238.84 MPa."""
    car = fakes.clutch()
    found = told(run(fakes.snapshot(car)), "DRV-TORSION")
    assert found.limit == pytest.approx(60.0 * 6.894757 / math.sqrt(3.0), rel=1e-6) and found.state == PASSED
    for more, state in ((0.999, PASSED), (1.001, OPEN)):
        loaded = torque_of(car, float(shaft.tube_section(88.9, 2.1082).polar_moment) * found.limit / 44.45 / 1000.0 / 1.5 * more)
        assert told(run(fakes.snapshot(loaded)), "DRV-TORSION").state == state
    assert told(run(fakes.snapshot(fakes.automatic())), "DRV-TORSION").state == NOT_APPLICABLE


def test_a_composite_tube_needs_its_makers_figure():
    composite = fakes.snapshot(fakes.automatic())
    found, = rule("shaft_torsion", "<=", "{formula: shear_yield, unit: MPa}")(composite)
    assert found.state == NOT_EVALUATED and "lay-up" in found.reason and "its maker states" in found.reason
    stated, = rule("shaft_torsion", "<=", "400 MPa")(composite)
    assert stated.state == PASSED and stated.measured > 0.0


# --- what the driveshaft's maker is told ------------------------------------------------------------------------------


def order(car):
    snapshot = fakes.snapshot(car)
    outcome = run(snapshot)
    report = reports.report(outcome, snapshot, {})
    fits_schema(json.loads(json.dumps(report, allow_nan=False)))
    return report, outcome


@pytest.mark.parametrize("car", [fakes.automatic(), fakes.clutch()], ids=["automatic", "clutch"])
def test_the_driveshaft_order_is_complete_and_true(car):
    report, _outcome = order(car)
    found, full = report["driveshaft_order"], filled(car)
    points = report["points"]
    assert found["joint_distance_mm"] == pytest.approx(math.dist(points["front_joint"], points["rear_joint"]), rel=1e-12)
    assert found["tube"]["outer_diameter_mm"] == full.driveshaft.outer_diameter and found["tube"]["material"] == full.driveshaft.material
    slip = found["slip"]
    assert (slip["exposed_mm"], slip["engaged_mm"]) == (full.transmission.slip_exposed, full.transmission.spline_engaged)
    inward, outward = slip["extremes"]
    assert inward["plunge_mm"] > 0.0 > outward["plunge_mm"]
    for extreme in (inward, outward):
        assert extreme["exposed_mm"] == pytest.approx(slip["exposed_mm"] - extreme["plunge_mm"], abs=1e-9)
        assert extreme["engaged_mm"] == pytest.approx(slip["engaged_mm"] + extreme["plunge_mm"], abs=1e-9)
    # Every pose of the report lies between the ends.
    assert all(outward["plunge_mm"] - 0.02 <= pose["plunge_mm"] <= inward["plunge_mm"] + 0.02 for pose in report["poses"])
    assert found["speed_max_rpm"] == pytest.approx(full.engine.rpm_limit * 30.0 / math.pi / full.transmission.top_gear, rel=1e-12)
    assert found["critical_rpm"] == report["driveline"]["critical_rpm"]
    assert found["launch_speed_rpm"] == pytest.approx(full.engine.peak_torque_speed * 30.0 / math.pi / full.transmission.first_gear,
                                                      rel=1e-12)
    unknown, _outcome = order(replace(car, engine=replace(car.engine, peak_torque_speed=None)))
    assert unknown["driveshaft_order"]["launch_speed_rpm"] is None
    assert found["torque_nm"]["launch"] == report["driveline"]["shaft_torque_nm"]
    assert found["torque_nm"]["with_shock"] == pytest.approx(1.5 * found["torque_nm"]["launch"], rel=1e-12)
    assert found["torque_nm"]["capped_by"] == "tires" and found["joints"]["series_basis"] == "memory"
    stress = report["driveline"]["torsion_mpa"]
    twist = math.degrees(2.0 * stress * found["joint_distance_mm"] / (full.driveshaft.shear_modulus * full.driveshaft.outer_diameter))
    assert report["driveline"]["twist_deg"] == pytest.approx(twist, rel=1e-9)      # phi = tau L / (G r)


def test_no_order_where_the_travel_is_not_known():
    car = fakes.automatic()
    report, outcome = order(replace(car, rear_end=replace(car.rear_end, suspension=replace(car.rear_end.suspension, lower=None))))
    assert report["driveshaft_order"] is None and any(note.startswith("driveshaft_order: ") for note in report["notes"])


def test_joint_series_by_the_swing_that_they_need():
    """The corners of two caps: span 3.625 in and cap 1.188 in sweep 3.815 in."""
    series = {name: catalog.row("joint_series", name) for name in catalog.names("joint_series")}
    assert series["1350"].least_swing / INCH == pytest.approx(3.8146, abs=1e-3)
    assert list(series) == sorted(series, key=lambda name: series[name].least_swing)
    for name, row in series.items():
        assert row.basis == "memory"
        # More torque than any carries: the largest that has room, and the order says so.
        by_room = catalog.joint_series(row.least_swing, 1e8)
        assert (by_room.name, by_room.governs) == (name, "room")
        smaller = catalog.joint_series(row.least_swing - 1e-6, 1e8)
        assert smaller is None or smaller.name != name
    assert catalog.joint_series(50.0, 1.0) is None


def test_a_joint_series_is_ordered_by_torque_where_it_has_room():
    """Seen: a 1310 has a least elastic limit of 1,600 lbf.ft, a 1350 of 2,200 lbf.ft (1 lbf.ft = 1355.818 N.mm)."""
    foot = 1355.817948
    assert catalog.row("joint_series", "1310").torque == pytest.approx(1600 * foot)
    assert catalog.row("joint_series", "1350").torque == pytest.approx(2200 * foot)
    roomy = 4.6 * INCH
    chosen = [catalog.joint_series(roomy, torque * foot) for torque in (1500, 2100, 4100, 4700)]
    assert [(choice.name, choice.governs) for choice in chosen] == [
        ("1310", "torque"), ("1350", "torque"), ("1480", "torque"), ("1480", "room")]
    assert catalog.joint_series(3.6 * INCH, 2100 * foot).governs == "room"
    assert catalog.joint_series(3.6 * INCH, 2100 * foot, "1480").governs == "stated"
