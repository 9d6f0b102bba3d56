"""Rules at many placements at once against the check of one placement at a time: the same values, margins and verdicts."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from conftest import ROOT

from crankline import carfile, units
from crankline.checks import comparing, evaluate, placements
from crankline.checks.finding import State
from crankline.mechanics import scene, travel
from crankline.record import filled
from crankline.rules import conditions, rule_sets
from crankline.rules.quantity import PLAIN, QUANTITIES, NotEvaluated
from crankline.snapshot import Snapshot

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch", "minimal")
SETS = ("practice", "driveline", "driveline_references", "nhra_et_2004", "andra_2009", "setback_memory")
COUNT = 12


def car_of(name: str):
    car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
    if name == "open_clutch":
        # A wheel rate lets how far the body rises follow from where the center of gravity is.
        given = replace(car.rear_end.suspension, wheel_rate=35.0)
        car = replace(car, rear_end=replace(car.rear_end, suspension=given))
    return car


def numbers() -> list:
    """Every rule of these sets that follows from numbers and is read at many placements."""
    rules = rule_sets.select(SETS).rules
    return [rule for rule in rules if QUANTITIES[rule.quantity].reads and not QUANTITIES[rule.quantity].effort]


@pytest.mark.parametrize("name", CARS)
def test_many_placements_are_judged_as_each_by_itself(name):
    given = car_of(name)
    car, rules = filled(given), numbers()
    assert len(rules) > 20
    rng = np.random.default_rng(11)
    x, z = rng.uniform(72.0, 92.0, COUNT) * INCH, rng.uniform(7.0, 26.0, COUNT) * INCH
    pitch = np.radians(rng.uniform(-1.0, 5.0, COUNT))
    spread, solved = scene.spread(car, x, z, pitch)
    many = placements.Placements(car, spread)
    assert solved.all()
    seen = set()
    for i in range(COUNT):
        placed = replace(given.placement, axle_to_block=float(x[i]), crank_height=float(z[i]), pitch_mode="fixed", pitch=float(pitch[i]))
        one = replace(given, placement=placed)
        place = scene.of(one)
        found = {(item.rule, item.discriminator): item for item in evaluate.evaluate(rules, Snapshot(one, place, ()))}
        for rule in rules:
            applies, _why, _question = conditions.applies(rule.when, conditions.facts(filled(one), place))
            if not applies:
                continue
            quantity, many.settings = QUANTITIES[rule.quantity], dict(rule.settings)
            try:
                readings = quantity.reads(many) if not _lacking(quantity, car) else ()
            except NotEvaluated:
                readings = ()
            for reading in readings:
                finding = found[rule.id, reading.discriminator]
                try:
                    stands = comparing.margins(rule, reading)
                except NotEvaluated:
                    assert finding.state == State.NOT_EVALUATED
                    continue
                known, good, margin = (np.broadcast_to(value, (COUNT,))[i] for value in (stands.known, stands.good, stands.margin))
                seen.add((rule.id, finding.state))
                if not known:
                    assert finding.state == State.NOT_EVALUATED, finding
                    continue
                assert finding.state == (State.PASSED if good and not rule.to_confirm else State.OPEN), finding
                if finding.margin:
                    shown = margin if quantity.kind in PLAIN or not finding.unit else units.to(margin, quantity.kind, finding.unit)
                    assert shown == pytest.approx(finding.margin, rel=1e-7, abs=1e-9), finding
    states = {state for _rule, state in seen}
    assert {State.OPEN, State.PASSED} <= states and len(seen) > (35 if name != "minimal" else 5), len(seen)


def _lacking(quantity, car) -> bool:
    from crankline import sections
    return any(path in sections.lacking(car) for path in quantity.needs)


def test_slip_of_many_placements_is_that_of_each_sweep():
    car = filled(car_of("open_clutch"))
    x, z = np.linspace(78.0, 84.0, 66) * INCH, np.linspace(9.0, 14.0, 66) * INCH
    spread, _solved = scene.spread(car, x, z, "parallel")
    many = travel.slip_over(spread)
    for i in (0, 31, 63, 64, 65):     # 64 are worked on at a time
        placed = replace(car.placement, axle_to_block=float(x[i]), crank_height=float(z[i]), pitch_mode="parallel")
        place = scene.of(replace(car, placement=placed))
        swept = travel.sweep(place, *travel.positions(place))
        inward, outward = travel.slip_extremes(swept)
        assert many["furthest_in"].exposure[i] == pytest.approx(inward.exposure, abs=1e-9)
        assert many["furthest_out"].engagement[i] == pytest.approx(outward.engagement, abs=1e-9)
        assert many["static"].exposure[i] == pytest.approx(place.transmission.slip_exposed, abs=1e-12)


def test_past_the_driver_is_asked_for_each_placement():
    """The box that the driver is in ends ahead of the front joint of some placements, and behind that of others."""
    given = car_of("full_bodied_automatic")
    x = np.array([45.0, 70.0, 83.5]) * INCH
    spread, _solved = scene.spread(filled(given), x, 254.0, 0.035)
    told = conditions.shaft_passes_driver(filled(given), spread)
    each = [conditions.shaft_passes_driver(filled(given), scene.of(replace(given, placement=replace(
        given.placement, axle_to_block=float(value), crank_height=254.0, pitch=0.035)))) for value in x]
    assert list(told) == each and len(set(each)) > 1
    facts = placements.Placements(filled(given), spread).facts
    assert sum(int(mask.sum()) for _facts, mask in facts) == 3
