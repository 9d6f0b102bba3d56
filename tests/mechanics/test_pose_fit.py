"""Where a powertrain is, from readings: against SciPy, exact readings, 1,000 simulated builds, and closed forms."""
from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import simulated_builds
from scipy.optimize import least_squares
from snapshot_fakes import automatic, clutch

from crankline import model
from crankline.mechanics import measured_points, next_reading, pose_fit, set_up, sighting
from crankline.mechanics import scene as scenes
from crankline.mechanics.sighting import Sight
from crankline.record import filled
from crankline.units import DEG, INCH


@cache
def car_of(name="automatic"):
    """(car, scene, points, base drop)."""
    car = automatic() if name == "automatic" else clutch()
    scene = scenes.of(car)
    return filled(car), scene, measured_points.of(filled(car), scene), float(scene.engine.base_drop)


def sheet(name="automatic"):
    """The set-up sheet's readings that say where something is, as (name, sight, wanted, standard uncertainty)."""
    car, scene, _points, _drop = car_of(name)
    return [(one.name, Sight(*set_up.sight(one)), one.value, one.tolerance / pose_fit.NORMAL_95)
            for one in set_up.readings(car, scene) if one.points]


def observed(sights, name="automatic"):
    _car, scene, points, _drop = car_of(name)
    return [sighting.observation(sight, points, scene, sigma) for sight, sigma in sights]


def usual(name="automatic"):
    return observed([(sight, sigma) for _name, sight, _value, sigma in sheet(name)], name)


def off(seed=1, size=0.5):
    """A true state near the wanted one; the rear joint is in the center plane, where no reading of the sheet sees it move aside."""
    _car, scene, _points, _drop = car_of()
    true = pose_fit.wanted(scene) + size * pose_fit.SCALE * np.random.default_rng(seed).normal(size=10)
    true[7] = 0.0
    return true


@pytest.mark.parametrize("name", ["automatic", "clutch"])
def test_every_box_of_the_set_up_sheet_is_what_the_fit_says_of_the_wanted_placement(name):
    _car, scene, _points, drop = car_of(name)
    predicted = pose_fit.predict(usual(name), pose_fit.wanted(scene), drop)[0]
    assert predicted == pytest.approx([value for _name, _sight, value, _sigma in sheet(name)], abs=1e-9)


def test_from_plate_and_rail_the_boxes_are_the_same_too():
    """What the sheet says from the top of the rail and on a raked plate is what the fit expects there, of heights and of a level."""
    car, _scene, _points, _drop = car_of()
    car = replace(car, chassis=replace(car.chassis, surface_plate=model.SurfacePlate(height=300.0, rake=0.4 * DEG)))
    scene = scenes.of(car)
    points, compared = measured_points.of(filled(car), scene), 0
    for one in set_up.readings(filled(car), scene):
        for datum, value in (("rail", one.rail), ("plate", one.plate)):
            if one.points and value is not None:
                assert sighting.wanted(Sight(*set_up.sight(one), datum), points, scene) == pytest.approx(value, abs=1e-9), (one.name, datum)
                compared += 1
    assert compared >= 10


def test_slopes_are_those_of_the_readings():
    """Central differences, of every kind of reading and every datum, at a placement with all angles."""
    _car, scene, points, drop = car_of()
    sights = [Sight(kind, names) for kind, names in sighting.SETTLING] + [Sight("up", ("crank_front",), "rail")]
    some = [sighting.observation(sight, points, scene, 1.0) for sight in sights]
    state = off(size=2.0)
    slopes, step = pose_fit.predict(some, state, drop)[1], 1e-4 * pose_fit.SCALE
    for i in range(10):
        low, high = (pose_fit.predict(some, state + side * step * (np.arange(10) == i), drop)[0] for side in (-1.0, 1.0))
        assert slopes[:, i] == pytest.approx((high - low) / (2.0 * step[i]), rel=1e-6, abs=1e-4)


def test_exact_readings_give_the_exact_placement():
    _car, scene, _points, drop = car_of()
    for seed in range(5):
        true = off(seed)
        found = pose_fit.fit(usual(), pose_fit.predict(usual(), true, drop)[0], pose_fit.wanted(scene), drop)
        assert np.abs(found.state - true).max() < 1e-9 and found.lost == () and np.abs(found.residual).max() < 1e-9
        assert list(found.free) == [name != "rear_joint_y" for name in pose_fit.FREEDOMS]


def test_fit_and_covariance_are_those_of_scipy():
    _car, scene, _points, drop = car_of()
    some, start = usual(), pose_fit.wanted(scene)
    sigma = np.array([one.sigma for one in some])
    values = pose_fit.predict(some, off(3), drop)[0] + sigma * np.random.default_rng(4).normal(size=len(some))
    found = pose_fit.fit(some, values, start, drop)

    def left(part):
        state = start.copy()
        state[found.free] = part * pose_fit.SCALE[found.free]
        return (pose_fit.predict(some, state, drop)[0] - values) / sigma

    other = least_squares(left, start[found.free] / pose_fit.SCALE[found.free], jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    scale = pose_fit.SCALE[found.free]
    assert found.state[found.free] / scale == pytest.approx(other.x, abs=1e-8)
    covariance = np.linalg.inv(other.jac.T @ other.jac)
    assert found.covariance[np.ix_(found.free, found.free)] / np.outer(scale, scale) == pytest.approx(covariance, rel=1e-5, abs=1e-9)


def test_the_95_percent_region_holds_the_truth_95_times_in_100():
    """1,000 simulated builds in one call; 93 to 97 % is 3 standard deviations of that count either way."""
    share = simulated_builds.coverage(1000)
    assert 0.93 <= share <= 0.97, share


def test_pitch_from_two_heights_read_to_a_thirty_second_over_22_inches():
    """Closed form: sqrt(2) x 1/32 in over 22 in is 0.115 deg, so two heights do not tell pitch closer than 0.12 deg."""
    car, scene, points, drop = car_of()
    length = float(scene.engine.block_length)
    read = INCH / 32.0 * length / (22.0 * INCH) / pose_fit.NORMAL_95          # as closely over this block as 1/32 in is over 22 in
    some = observed([(Sight("up", (name,)), read) for name in ("crank_rear", "crank_front")])
    found = pose_fit.fit(some, pose_fit.predict(some, pose_fit.wanted(scene), drop)[0], pose_fit.wanted(scene), drop)
    half = pose_fit.NORMAL_95 * found.sigma()[4] / DEG
    assert half == pytest.approx(math.degrees(math.sqrt(2.0) / 32.0 / 22.0) / math.cos(scene.pitch), rel=1e-9)
    assert round(half, 2) == 0.12


@pytest.mark.parametrize("left_out, lost, asked", [
    (("Center plane to crank, front", "Axle to number"), {"yaw"}, "front face"),
    (("Crank level across", "Axle to number"), {"roll"}, "across"),
    (("Axle to",), {"axle_to_block"}, "rear face of the block, at its base"),
    (("Crank above track", "Front joint above", "Joint to joint"), {"crank_height"}, "above the track"),
    (("Crank above track, front", "Front joint above", "Joint to joint", "Crank pitch", "Axle to number", "Axle to front face"), {"pitch"},
     "angle along the crank"),
])
def test_what_is_not_determined_is_named_with_the_reading_that_settles_it(left_out, lost, asked):
    _car, scene, points, drop = car_of()
    some = observed([(sight, sigma) for name, sight, _value, sigma in sheet() if not name.startswith(left_out)])
    true = off(5)
    found = pose_fit.fit(some, pose_fit.predict(some, true, drop)[0], pose_fit.wanted(scene), drop)
    assert set(found.lost) == lost and not next_reading.determined(found)
    known = [i for i in range(6) if pose_fit.FREEDOMS[i] not in lost]
    if lost != {"pitch"}:      # the level of the front joint is told by height and pitch together
        assert found.state[known] == pytest.approx(true[known], abs=0.1)
    offered = sighting.settling(points, scene)
    chosen = next_reading.settling(found, [one for _sight, one in offered], drop)
    assert len(chosen) == 1
    told = sighting.words(offered[chosen[0]][0], points)
    assert asked in told or lost == {"pitch"}
    more = [*some, offered[chosen[0]][1]]
    again = pose_fit.fit(more, pose_fit.predict(more, true, drop)[0], pose_fit.wanted(scene), drop)
    assert again.lost == () and again.state[:6] == pytest.approx(true[:6], abs=1e-8)


def test_without_readings_all_is_as_wanted_and_nothing_is_known():
    _car, scene, points, drop = car_of()
    found = pose_fit.fit([], np.zeros(0), pose_fit.wanted(scene), drop)
    assert found.state == pytest.approx(pose_fit.wanted(scene)) and set(found.lost) == set(pose_fit.FREEDOMS[:6])
    offered = [one for _sight, one in sighting.settling(points, scene)]
    chosen = next_reading.settling(found, offered, drop)
    some = [offered[i] for i in chosen]
    assert len(some) == 6 and pose_fit.fit(some, pose_fit.predict(some, off(), drop)[0], pose_fit.wanted(scene), drop).lost == ()


def test_what_hangs_on_a_rear_end_that_nobody_measured_takes_no_part():
    _car, scene, _points, drop = car_of()
    kept = [(sight, sigma) for name, sight, _value, sigma in sheet() if not name.startswith(("Axle to", "Rear joint"))]
    found = pose_fit.fit(observed(kept), pose_fit.predict(observed(kept), off(), drop)[0], pose_fit.wanted(scene), drop)
    assert found.lost == ("axle_to_block",) and not found.free[6:9].any()
    assert [sight.kind for (sight, _sigma), used in zip(kept, found.used) if not used] == ["distance"]


def test_the_reading_that_decides_leaves_what_it_says():
    """The half width that the best next reading is said to leave is that of a fit in which it is taken, and no other leaves less."""
    _car, scene, points, drop = car_of()
    start, some = pose_fit.wanted(scene), usual()
    found = pose_fit.fit(some, pose_fit.predict(some, start, drop)[0], start, drop)
    offered = [one for _sight, one in sighting.settling(points, scene)]
    slope = np.zeros(10)
    slope[4] = 1.0          # the pitch itself
    place, half = next_reading.deciding(slope, found.covariance, found.state, offered, 1.0, drop)
    left = []
    for one in offered:
        more = [*some, one]
        again = pose_fit.fit(more, pose_fit.predict(more, start, drop)[0], start, drop)
        left.append(pose_fit.NORMAL_95 * again.sigma()[4])
    assert half == pytest.approx(left[place], rel=1e-6) and half == pytest.approx(min(left), rel=1e-6)
    assert next_reading.deciding(slope, found.covariance, found.state, offered, 0.99 * half, drop) is None
