"""Poses of both invented demo cars, checked by hand calculation, exact triangles and a root finder."""
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from crankline.mechanics import frames, joints, poses
from crankline.mechanics import suspension as sus

INCH, DEG, RPM = 25.4, np.pi / 180.0, np.pi / 30.0

CAR_A = dict(
    suspension=sus.FourLink((0.50 * INCH, 9.75 * INCH), (19.50 * INCH, 10.00 * INCH),
                            (0.00 * INCH, 20.75 * INCH), (18.00 * INCH, 16.50 * INCH)),
    axle_static=(0.0, 16.00 * INCH), joint_static=(10.503 * INCH, 0.0, 13.163 * INCH), pinion_pitch=2.1 * DEG)
CAR_B = dict(
    suspension=sus.Ladder((34.00 * INCH, 7.80 * INCH)),
    axle_static=(0.0, 16.05 * INCH), joint_static=(9.511 * INCH, 0.0, 13.450 * INCH), pinion_pitch=2.1 * DEG)
FRONT = (np.array([54.1, 0.0, 10.9]) * INCH, frames.direction(2.0 * DEG))


def test_the_six_poses_of_demo_a():
    found = poses.pose_set(bump=2.5 * INCH, droop=3.0 * INCH, windup=0.5 * DEG, engine_limit=8200 * RPM, first_gear=1.80)
    assert [pose.name for pose in found] == list(poses.NAMES)
    static, launch, droop, bump, braking, top_end = found
    assert (static.axle_travel, static.windup, static.shaft_speed) == (0.0, 0.0, 0.0)
    assert launch.axle_travel == pytest.approx(-1.0 * INCH) and launch.windup == pytest.approx(0.5 * DEG)
    assert launch.shaft_speed / RPM == pytest.approx(8200 / 1.80)  # limiter over first gear
    assert droop.axle_travel == pytest.approx(-3.0 * INCH) and bump.axle_travel == pytest.approx(2.5 * INCH)
    assert braking.axle_travel < 0.0 and braking.windup < 0.0  # the rear rises, brakes turn the nose down
    assert top_end.shaft_speed / RPM == pytest.approx(8200)  # design: limiter over top gear, not road speed


def test_assumptions_are_settable_and_stay_within_the_travel():
    stated = poses.Assumptions(launch_separation=80.0, brake_dive=10.0, top_end_squat=3.0, launch_speed=0.75)
    found = {pose.name: pose for pose in poses.pose_set(60.0, 50.0, 0.01, 800.0, 2.0, 1.0, stated)}
    assert found["launch"].axle_travel == -50.0  # stops at full droop
    assert found["braking"].axle_travel == -10.0 and found["top_end"].axle_travel == 3.0
    assert found["launch"].shaft_speed == 300.0
    still = poses.pose_set(0.0, 0.0, 0.01, 800.0, 2.0)
    assert {str(pose.axle_travel) for pose in still} == {"0.0"}  # no -0.0 either


@pytest.mark.parametrize("change, words", [
    (dict(bump=-1.0), "bump"), (dict(droop=float("nan")), "droop"), (dict(first_gear=0.0), "first_gear"),
    (dict(windup=float("inf")), "windup")])
def test_refusals_name_the_value(change, words):
    with pytest.raises(poses.PoseError, match=words):
        poses.pose_set(**{**dict(bump=1.0, droop=1.0, windup=0.0, engine_limit=1.0, first_gear=1.0), **change})
    with pytest.raises(poses.PoseError, match="brake_dive"):
        poses.Assumptions(brake_dive=-1.0)


def test_a_car_may_squat_at_launch():
    """Anti-squat over 100 % pushes body and axle apart, under it the springs give (vehicle dynamics); not known: both bounds."""
    assert poses.launch_ways(1.5) == (1.0,) and poses.launch_ways(0.4) == (-1.0,) and poses.launch_ways(None) == (1.0, -1.0)
    # 1000 kg at 2 g, center of gravity 500 mm up over 2800 mm: 3502.4 N more on the rear tires, a fifth of it on springs of 30 N/mm each.
    transfer = 1000.0 * 2.0 * 9.80665 * 500.0 / 2800.0
    assert poses.launch_separation([1.2, 1.0, 0.8], transfer, 30.0) == pytest.approx([11.675, 0.0, -11.675], abs=1e-3)
    stated = poses.Assumptions(launch_separation=-20.0)
    assert {pose.name: pose.axle_travel for pose in poses.pose_set(60.0, 50.0, 0.0, 800.0, 2.0, 1.0, stated)}["launch"] == 20.0
    assert {pose.name: pose.axle_travel for pose in poses.pose_set(12.0, 50.0, 0.0, 800.0, 2.0, 1.0, stated)}["launch"] == 12.0


@pytest.mark.parametrize("car", [CAR_A, CAR_B])
def test_static_pose_is_the_driveline_as_it_stands(car):
    found = poses.evaluate([poses.Pose("static", 0.0, 0.0, 0.0)], **car, front_joint=FRONT[0], output_axis=FRONT[1])
    line = joints.driveline(FRONT[0], FRONT[1], car["joint_static"], frames.direction(car["pinion_pitch"]))
    assert found.front_angle[0] == pytest.approx(line.front_angle, abs=1e-9)
    assert found.rear_angle[0] == pytest.approx(line.rear_angle, abs=1e-9)
    assert found.residual[0] == pytest.approx(line.residual, abs=1e-9)
    assert found.joint_distance[0] == pytest.approx(line.length, abs=1e-9)
    assert found.plunge[0] == pytest.approx(0.0, abs=1e-9)
    np.testing.assert_allclose(found.joint[0], car["joint_static"], atol=1e-9)


def test_side_view_angles_by_hand():
    """All in the center plane: a joint angle is the difference of two pitches, read off the joint's coordinates."""
    found = poses.evaluate_travel([-3.0 * INCH, 2.5 * INCH], 0.0, **CAR_A, front_joint=FRONT[0], output_axis=FRONT[1])
    pinion = sus.pinion_pose(CAR_A["suspension"], CAR_A["axle_static"], CAR_A["joint_static"], CAR_A["pinion_pitch"],
                             [-3.0 * INCH, 2.5 * INCH])
    for pose in range(2):
        span = found.front_joint[pose] - pinion.joint[pose]
        shaft_pitch = np.arctan2(-span[2], span[0])
        assert found.rear_angle[pose] == pytest.approx(abs(pinion.pitch[pose] - shaft_pitch), abs=1e-12)
        assert found.front_angle[pose] == pytest.approx(abs(2.0 * DEG - shaft_pitch), abs=1e-12)


@pytest.mark.parametrize("car", [CAR_A, CAR_B])
def test_plunge_keeps_the_length_of_the_shaft(car):
    travels = np.linspace(-1.5, 1.5, 31) * INCH
    front, axis = FRONT[0] + (0.0, -12.0, 0.0), frames.direction(2.0 * DEG, 0.4 * DEG)
    found = poses.evaluate_travel(travels, 0.3 * DEG, **car, front_joint=front, output_axis=axis)
    length = np.linalg.norm(front - car["joint_static"])
    np.testing.assert_allclose(np.linalg.norm(found.front_joint - found.joint, axis=-1), length, atol=1e-9)
    for index in (0, 11, 30):
        slide = brentq(lambda s, rear=found.joint[index]: np.linalg.norm(front + s * axis - rear) - length, -100.0, 100.0, xtol=1e-13)
        assert found.plunge[index] == pytest.approx(slide, abs=1e-9)
    # A shaft stretched out needs the yoke pulled out: to first order plunge and distance are each other's negative.
    change = found.joint_distance - length
    np.testing.assert_allclose(found.plunge, -change, atol=0.02 * np.abs(change).max())


def test_launch_closes_the_joint_that_was_set_nose_down():
    """Wind-up and droop both turn the nose up, so a pinion nose down at rest comes level at launch."""
    static, launch = poses.pose_set(2.5 * INCH, 3.0 * INCH, 0.5 * DEG, 8200 * RPM, 1.8)[:2]
    found = poses.evaluate([static, launch], **CAR_A, front_joint=FRONT[0], output_axis=FRONT[1])
    # Common practice, no source: 57.3 / x_IC deg an inch of droop (44.155 in at static, mean over the inch about 43) plus 0.5.
    turned = (found.pinion_pitch[0] - found.pinion_pitch[1]) / DEG
    assert turned == pytest.approx(0.5 + 57.2958 / 44.155, abs=0.05)


def test_rigid_axle_takes_windup_but_no_travel():
    car = {**CAR_A, "suspension": sus.Rigid()}
    found = poses.evaluate_travel([-50.0, 0.0, 40.0], [0.01, 0.0, 0.0], **car, front_joint=FRONT[0], output_axis=FRONT[1])
    assert found.closes.all() and found.pinion_pitch[0] == pytest.approx(2.1 * DEG - 0.01)
    np.testing.assert_array_equal(found.joint[1], found.joint[2])


def test_a_pose_out_of_reach_is_nan_and_says_so():
    found = poses.evaluate_travel([0.0, -900.0], 0.0, **CAR_A, front_joint=FRONT[0], output_axis=FRONT[1])
    assert found.closes.tolist() == [True, False]
    assert np.isnan(found.front_angle[1]) and np.isnan(found.plunge[1]) and np.isfinite(found.front_angle[0])


def test_arrays_of_placements_equal_one_at_a_time():
    rng = np.random.default_rng(4)
    fronts = FRONT[0] + rng.uniform(-30.0, 30.0, (7, 5, 3))
    axes = frames.direction(rng.uniform(0.0, 0.06, (7, 5)), rng.uniform(-0.02, 0.02, (7, 5)))
    six = poses.pose_set(2.5 * INCH, 3.0 * INCH, 0.5 * DEG, 8200 * RPM, 1.8)
    together = poses.evaluate(six, **CAR_A, front_joint=fronts, output_axis=axes)
    assert together.plunge.shape == (6, 7, 5) and together.front_joint.shape == (6, 7, 5, 3)
    alone = poses.evaluate(six, **CAR_A, front_joint=fronts[3, 2], output_axis=axes[3, 2])
    for name in ("front_angle", "rear_angle", "residual", "joint_distance", "plunge"):
        np.testing.assert_allclose(getattr(together, name)[:, 3, 2], getattr(alone, name), atol=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.floats(-2000.0, 2000.0), st.floats(-300.0, 300.0), st.floats(-300.0, 300.0))
def test_moving_the_whole_car_changes_no_angle(dx, dy, dz):
    six = poses.pose_set(2.5 * INCH, 3.0 * INCH, 0.5 * DEG, 8200 * RPM, 1.8)
    here = poses.evaluate(six, **CAR_A, front_joint=FRONT[0], output_axis=FRONT[1])
    link = CAR_A["suspension"]
    moved = dict(
        suspension=sus.FourLink(*[(x + dx, z + dz) for x, z in
                                  (link.lower_axle, link.lower_chassis, link.upper_axle, link.upper_chassis)]),
        axle_static=(dx, 16.0 * INCH + dz), joint_static=np.add(CAR_A["joint_static"], (dx, dy, dz)),
        pinion_pitch=2.1 * DEG)
    there = poses.evaluate(six, **moved, front_joint=FRONT[0] + (dx, dy, dz), output_axis=FRONT[1])
    for name in ("front_angle", "rear_angle", "joint_distance", "plunge"):
        np.testing.assert_allclose(getattr(there, name), getattr(here, name), atol=1e-7)


def test_thousand_travels_against_a_hundred_placements_are_one_call():
    fronts = FRONT[0] + np.linspace(0.0, 50.0, 100)[:, None] * (1.0, 0.0, 0.0)
    found = poses.evaluate_travel(np.linspace(-3.0, 2.5, 1000) * INCH, 0.0, **CAR_A, front_joint=fronts,
                                  output_axis=FRONT[1])
    assert found.plunge.shape == (1000, 100) and np.isfinite(found.plunge).all()
