"""Remedies: each, applied to the car, clears its finding; a hundredth less does not; none is said where none does."""
from __future__ import annotations

import datetime
import math
from dataclasses import replace

import pytest

import snapshot_fakes as fakes
from crankline import checks, units
from crankline.checks import findings
from crankline.mechanics import scene

INCH = 25.4
DEG = math.pi / 180.0
DATE = datetime.date(2026, 5, 1)


def run(snapshot, with_remedies=True):
    return checks.run(snapshot, event_date=DATE, measurer=fakes.FakeMeasurer(), with_remedies=with_remedies)


def troubled():
    """Cars that break something which one number can mend."""
    car, other = fakes.automatic(), fakes.clutch()
    yield "far forward", replace(car, placement=replace(car.placement, axle_to_block=88 * INCH, crank_height=13 * INCH, pitch=1 * DEG))
    yield "as it is", car
    yield "clutch", other
    yield "high", replace(car, placement=replace(car.placement, crank_height=25 * INCH))
    yield "fast", replace(car, engine=replace(car.engine, rpm_limit=1800.0))


FIELDS = {"placement.crank_height": ("placement", "crank_height", "length"), "placement.axle_to_block": ("placement", "axle_to_block", "length"),
          "placement.pitch": ("placement", "pitch", "angle"), "rear_end.pinion_pitch": ("rear_end", "pinion_pitch", "angle"),
          "driveshaft.outer_diameter": ("driveshaft", "outer_diameter", "length"), "engine.rpm_limit": ("engine", "rpm_limit", "turning")}


def applied(car, remedy, share=1.0, less=0.0):
    section, name, kind = FIELDS[remedy["parameter"]]
    change = remedy["change"] * share - math.copysign(less, remedy["change"])
    record = getattr(car, section)
    return replace(car, **{section: replace(record, **{name: getattr(record, name) + units.of(change, kind, remedy["unit"])})})


def same(outcome, finding):
    return next((item for item in outcome.findings if item.rule == finding.rule and item.discriminator == finding.discriminator), None)


@pytest.mark.parametrize("car", [car for _name, car in troubled()], ids=[name for name, _car in troubled()])
def test_every_remedy_clears_its_finding_and_a_little_less_does_not(car):
    tried = 0
    for finding in run(fakes.snapshot(car)).findings:
        for remedy in finding.remedies:
            if remedy["parameter"] not in FIELDS:
                continue
            # Loops stand where they stood: the fakes make them from the same records.
            assert same(run(fakes.snapshot(applied(car, remedy)), False), finding).state == findings.PASSED, (finding.rule, remedy)
            step = 0.0101 if remedy["unit"] != "rpm" else 10.1
            left = same(run(fakes.snapshot(applied(car, remedy, less=step)), False), finding)
            assert left.state == findings.OPEN, (finding.rule, remedy)
            tried += 1
    assert tried > 0


def test_a_loop_too_far_back_says_how_far_it_must_come_forward():
    car = fakes.automatic()
    place = scene.of(car)
    x = float(place.front_joint[0] - 7.3 * INCH * place.driveline.shaft_axis[0])
    snapshot = fakes.snapshot(car, change={"loop/front": {"shape": fakes.FakeLoop(x)}, "loop/second": {"shape": fakes.FakeLoop(700.0)}})
    found = next(item for item in run(snapshot).findings if item.rule == "NHRA-LOOP-PLACE")
    assert found.margin == pytest.approx(-1.3, abs=1e-6)
    first = found.remedies[0]
    assert first["parameter"] == "containment.loops.front.x" and first["change"] == pytest.approx(1.3, abs=0.011)
    assert first["words"].startswith("move loop/front forward by 1.3")
    assert "one of these alone is enough: move loop/front forward by 1.3" in found.hint


def test_a_short_enclosure_says_how_much_longer_it_must_be():
    snapshot = fakes.snapshot(fakes.automatic(), change={"enclosure": {"shape": fakes.FakeTube(10.75 * INCH, 1.651)}})
    found = next(item for item in run(snapshot).findings if item.rule == "DEMO-ENCLOSURE")
    remedy, = found.remedies
    assert remedy["change"] == pytest.approx(1.25, abs=0.011) and remedy["unit"] == "in"


def test_what_no_number_mends_has_no_remedy():
    snapshot = fakes.snapshot(fakes.automatic(), change={"loop/front": {"shape": fakes.FakeLoop(1300.0, closed=6.0)}},
                              without=("enclosure",))
    told = {item.rule: item.remedies for item in run(snapshot).findings if item.unresolved}
    assert told["NHRA-LOOP-CLOSED"] == () and told["DEMO-ENCLOSURE"] == ()
    assert not any("alone is enough" in item.hint for item in run(snapshot).findings
                   if item.rule in ("NHRA-LOOP-CLOSED", "DEMO-ENCLOSURE") and item.unresolved)


def test_a_solved_pitch_is_no_parameter():
    car = fakes.clutch()
    lowered = replace(car, rear_end=replace(car.rear_end, pinion_pitch=1.5 * DEG))
    found = next(item for item in run(fakes.snapshot(lowered)).findings if item.rule == "PRA-PITCH")
    assert [remedy["parameter"] for remedy in found.remedies] == ["rear_end.pinion_pitch"]


def test_passed_findings_and_runs_without_remedies_carry_none():
    snapshot = fakes.snapshot(fakes.automatic())
    assert all(not item.remedies for item in run(snapshot).findings if item.state == findings.PASSED)
    bare = checks.run(snapshot, event_date=DATE, measurer=fakes.FakeMeasurer(), with_remedies=False)
    assert all(not item.remedies for item in bare.findings)
