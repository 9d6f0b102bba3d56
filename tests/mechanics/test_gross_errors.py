"""Readings that cannot be right are found among good ones, and common slips are told for what they are."""
from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from snapshot_fakes import automatic

from crankline.mechanics import gross_errors, measured_points, pose_fit, sighting
from crankline.mechanics import scene as scenes
from crankline.mechanics.sighting import Sight
from crankline.record import filled
from crankline.units import DEG, INCH

SIGHTS = (Sight("along", ("block_rear",)), Sight("along", ("mid_plate_front",)), Sight("along", ("number_one_plug",)),
          Sight("up", ("crank_rear",)), Sight("up", ("crank_front",)), Sight("up", ("front_joint",), "rail"), Sight("crank_angle", ()),
          Sight("aside", ("crank_rear",)), Sight("aside", ("crank_front",)), Sight("aside", ("front_joint",)), Sight("cross_angle", ()),
          Sight("rail_to_plate", ("rail_left_outside", "mid_plate_left")), Sight("diagonal", ("rail_left_at_axle", "mid_plate_right")),
          Sight("diagonal", ("rail_right_at_axle", "mid_plate_left")))
PLACE = {sight: place for place, sight in enumerate(SIGHTS)}


@cache
def built(seed=0):
    """(observations, their other faces, wanted state, base drop, readings of a car that is 1/2 in ahead, 0.4 in left, 1 deg too steep)."""
    car = automatic()
    scene = scenes.of(car)
    points, drop = measured_points.of(filled(car), scene), float(scene.engine.base_drop)
    sigma = [(0.1 * DEG if sight.kind in sighting.ANGLES else INCH / 32.0) / pose_fit.NORMAL_95 for sight in SIGHTS]
    some = [sighting.observation(sight, points, scene, one) for sight, one in zip(SIGHTS, sigma)]
    others = [sighting.mistaken(sight, points, scene, one) for sight, one in zip(SIGHTS, sigma)]
    start = pose_fit.wanted(scene)
    true = start + np.array([0.5 * INCH, 0.4 * INCH, 0.0, 0.5 * DEG, 1.0 * DEG, 0.0, 0.0, 0.0, 0.0, 0.0])
    values = pose_fit.predict(some, true, drop)[0] + np.array(sigma) * np.random.default_rng(seed).normal(size=len(some))
    return some, others, start, drop, values, true


def looked_at(values):
    some, others, start, drop, _values, _true = built()
    return gross_errors.examined(some, values, start, drop, others)


def test_good_readings_are_all_believed():
    some, _others, start, drop, values, _true = built()
    found, suspects = looked_at(values)
    assert suspects == () and found.state == pytest.approx(pose_fit.fit(some, values, start, drop).state, abs=1e-12)


@pytest.mark.parametrize("sight, slip, told", [
    (SIGHTS[3], lambda v: v + 0.25 * INCH, ""),
    (SIGHTS[6], lambda v: -v, "sign is the other way"),
    (SIGHTS[7], lambda v: -v, "sign is the other way"),
    (SIGHTS[0], lambda v: v * INCH, "millimeters written as inches"),
    (SIGHTS[4], lambda v: v / INCH, "inches written as millimeters"),
    (SIGHTS[0], lambda v: v + INCH, "1 in mark"),
    (SIGHTS[12], lambda v: v + 12.0 * INCH, "a foot too long"),
    (SIGHTS[10], lambda v: math.pi / 2.0 - v, "from plumb"),
    (SIGHTS[1], lambda v: v - 0.25 * INCH, "taken at the rear face of the mid plate, not the front face of the mid plate"),
    (SIGHTS[5], lambda v: v + 1.625 * INCH, "bottom of the main rail"),
], ids=lambda value: getattr(value, "kind", value) if not callable(value) else "")
def test_a_slip_is_found_and_recognized(sight, slip, told):
    some, _others, _start, _drop, values, true = built()
    place, wrong = PLACE[sight], values.copy()
    wrong[place] = slip(values[place])
    found, suspects = looked_at(wrong)
    assert [one.place for one in suspects] == [place] and not found.used[place]
    suspect = suspects[0]
    assert suspect.expected == pytest.approx(values[place], abs=suspect.within + 3.0 * some[place].sigma)
    assert told in " or ".join(one.words for one in suspect.slips[:2]) and bool(suspect.slips) == bool(told)
    if told:
        best = next(one for one in suspect.slips if told in one.words)
        assert best.value == pytest.approx(values[place], abs=3.5 * some[place].sigma + suspect.within)
    assert np.abs((found.state - true)[:6] / found.sigma()[:6]).max() < 4.0, "the rest of them tell where it is"


def test_two_slips_at_once_are_both_found():
    _some, _others, _start, _drop, values, _true = built()
    wrong = values.copy()
    wrong[PLACE[SIGHTS[3]]] += 0.25 * INCH
    wrong[PLACE[SIGHTS[8]]] *= -1.0
    _found, suspects = looked_at(wrong)
    assert [one.place for one in suspects] == [3, 8] and "sign" in suspects[1].slips[0].words


def test_of_two_readings_that_contradict_each_other_neither_is_believed():
    """A height at each end and a level: one too many for height and pitch, and three of which any may be wrong."""
    some, others, start, drop, values, _true = built()
    few = [0, 3, 4, 6, 7, 8, 10]
    wrong = values.copy()
    wrong[4] += 0.5 * INCH
    found, suspects = gross_errors.examined([some[i] for i in few], wrong[few], start, drop, [[] for _i in few])
    assert [few[one.place] for one in suspects] == [3, 4, 6] and all(len(one.rivals) == 2 for one in suspects)
    assert {"crank_height", "pitch"} <= set(found.lost)


def test_a_reading_that_nothing_checks_is_only_told_by_where_it_says_the_powertrain_is():
    some, others, start, drop, values, _true = built()
    few = [0, 3, 4, 7, 8, 10]
    wrong = values.copy()
    wrong[3] = values[3] / INCH
    found, suspects = gross_errors.examined([some[i] for i in few], wrong[few], start, drop, [others[i] for i in few])
    assert [few[one.place] for one in suspects] == [3] and suspects[0].slips[0].words == "inches written as millimeters"
    assert "crank_height" in found.lost or "pitch" in found.lost


def test_few_good_builds_are_accused():
    """One good reading in a thousand is accused: of 200 builds of 14 readings some three, by the test's own size."""
    some, others, start, drop, _values, true = built()
    sigma = np.array([one.sigma for one in some])
    rng = np.random.default_rng(2)
    accused = 0
    exact = pose_fit.predict(some, true, drop)[0]
    values = exact + sigma * rng.normal(size=(200, len(some)))
    found = pose_fit.fit(some, values, start, drop)
    sizes = np.abs(found.residual) / (sigma * np.sqrt(np.maximum(found.checked, 1e-9)))
    accused = int(np.sum(np.max(np.where(found.checked > 1e-3, sizes, 0.0), axis=-1) > gross_errors.CRITICAL))
    assert 0 <= accused <= 9, accused
