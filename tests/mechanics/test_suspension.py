"""Side-view suspension against a textbook four-bar, published relations and an independent root finder."""
import time

import numpy as np
import pytest
from closed_forms import four_bar
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from crankline.mechanics import suspension as sus

INCH = 25.4

# The links of both invented demo cars.
CAR_A = sus.FourLink(lower_axle=(0.50 * INCH, 9.75 * INCH), lower_chassis=(19.50 * INCH, 10.00 * INCH),
                     upper_axle=(0.00 * INCH, 20.75 * INCH), upper_chassis=(18.00 * INCH, 16.50 * INCH))
AXLE_A = (0.0, 16.00 * INCH)
CAR_B = sus.Ladder(pivot=(34.00 * INCH, 7.80 * INCH))
AXLE_B = (0.0, 16.05 * INCH)
CARS = pytest.mark.parametrize("car, axle, droop, bump", [(CAR_A, AXLE_A, 3.0, 2.5), (CAR_B, AXLE_B, 1.5, 1.5)])


def links_of(car, axle):
    """(point on the housing relative to the axle, chassis point, length): a ladder bar holds the axle at two points."""
    if isinstance(car, sus.Ladder):
        # A rigid bar is two links to one pivot.
        points = [(np.array(axle) + (0.0, dz), np.array(car.pivot)) for dz in (0.0, 100.0)]
    else:
        points = [(np.array(car.lower_axle), np.array(car.lower_chassis)),
                  (np.array(car.upper_axle), np.array(car.upper_chassis))]
    return [(moving - axle, fixed, np.linalg.norm(moving - fixed)) for moving, fixed in points]


def independent(car, axle, travels):
    """Axle x and housing rotation by SciPy's hybrid Powell method on the lengths of the links, walking out from static."""
    links = links_of(car, axle)
    found = {}
    for side in (sorted(t for t in travels if t >= 0.0), sorted((t for t in travels if t < 0.0), reverse=True)):
        guess = np.array([axle[0], 0.0])
        for travel in side:
            def errors(unknown, travel=travel):
                x, turn = unknown
                rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])  # about +Y
                centre = np.array([x, axle[1] + travel])
                return [np.linalg.norm(centre + rotation @ arm - fixed) - length for arm, fixed, length in links]
            solution = root(errors, guess, method="hybr", tol=1e-14)
            assert np.abs(errors(solution.x)).max() < 1e-9
            guess = found[travel] = solution.x
    return np.array([found[t] for t in travels])


@CARS
def test_agrees_with_an_independent_solver_over_travel(car, axle, droop, bump):
    travels = np.linspace(-droop, bump, 41) * INCH
    pose = sus.axle_pose(car, axle, travels)
    expected = independent(car, axle, travels)
    assert pose.closes.all()
    # Lengths to 1e-9 mm against mm values of some 500: the root finder itself stops near 1e-10.
    np.testing.assert_allclose(pose.x, expected[:, 0], atol=1e-8, rtol=0)
    np.testing.assert_allclose(pose.rotation, expected[:, 1], atol=1e-9, rtol=0)
    np.testing.assert_allclose(pose.z, axle[1] + travels, atol=1e-9, rtol=0)


@CARS
def test_links_keep_their_lengths(car, axle, droop, bump):
    travels = np.linspace(-droop, bump, 1000) * INCH
    pose = sus.axle_pose(car, axle, travels)
    centre, turn = pose.x + 1j * pose.z, np.exp(-1j * pose.rotation)
    for arm, fixed, length in links_of(car, axle):
        end = centre + complex(*arm) * turn
        np.testing.assert_allclose(np.abs(end - complex(*fixed)), length, atol=1e-9, rtol=0)


def test_static_ride_height_is_where_the_links_were_measured():
    for car, axle in ((CAR_A, AXLE_A), (CAR_B, AXLE_B), (sus.Rigid(), AXLE_A)):
        pose = sus.axle_pose(car, axle, 0.0)
        assert pose.closes and abs(pose.x - axle[0]) < 1e-9 and abs(pose.z - axle[1]) < 1e-9
        assert abs(pose.rotation) < 1e-12


def test_four_bar_textbook_example_both_branches():
    # Loop-closure (Freudenstein) example: d 100, a 40, b 120, c 80, crank 40 deg; open 20.298 and 57.325 deg.
    opened, crossed = four_bar(100.0, 40.0, 120.0, 80.0, np.radians(40.0))
    assert np.degrees(opened) == pytest.approx((20.298, 57.325), abs=5e-4)
    # Freudenstein's equation K1 cos t4 - K2 cos t2 + K3 = cos(t2 - t4), K of the same example, holds for both branches.
    for _coupler, rocker in (opened, crossed):
        left = 2.5 * np.cos(rocker) - 1.25 * np.cos(np.radians(40.0)) + 0.5625
        assert left == pytest.approx(np.cos(np.radians(40.0) - rocker), abs=1e-12)
    for coupler, rocker in (opened, crossed):
        loop = 40.0 * np.exp(1j * np.radians(40.0)) + 120.0 * np.exp(1j * coupler) - 80.0 * np.exp(1j * rocker) - 100.0
        assert abs(loop) < 1e-12
    assert opened[1] != crossed[1]
    assert np.isnan(four_bar(100.0, 40.0, 20.0, 20.0, np.pi)[0][0])


def test_anti_squat_published_points():
    # Slope from the patch to the instant center over h/L, h 20 and L 108 in: 100, 108 and 81 %.
    centre = sus.InstantCentre(np.array([50.0, 40.0, 60.0]) * INCH, np.array([20.0 / 108.0 * 50.0, 8.0, 9.0]) * INCH,
                               np.ones(3))
    assert sus.anti_squat(centre, 20.0 * INCH, 108.0 * INCH) == pytest.approx([1.00, 1.08, 0.81], abs=1e-9)


@CARS
def test_turn_of_the_pinion_is_57_3_over_x_ic(car, axle, droop, bump):
    travels = np.linspace(-droop, bump, 23)[1:-1] * INCH
    step = 0.01
    turned = (sus.axle_pose(car, axle, travels + step).rotation - sus.axle_pose(car, axle, travels - step).rotation)
    centre = sus.instant_centre(car, axle, travels)
    rate = centre.turn_per_travel(sus.axle_pose(car, axle, travels).x)
    np.testing.assert_allclose(turned / (2.0 * step), rate, rtol=1e-6)


def test_droop_turns_the_nose_up():
    # Common practice, no source: 57.3 / x_IC deg an inch; car A's static x_IC from the lines of its links is 44.155 in.
    lower = np.array([0.25 / 19.0, 9.75 - 0.5 * 0.25 / 19.0])
    upper = np.array([-4.25 / 18.0, 20.75])
    x_ic = (upper[1] - lower[1]) / (lower[0] - upper[0])
    assert sus.instant_centre(CAR_A, AXLE_A).point / INCH == pytest.approx([x_ic, lower[0] * x_ic + lower[1]], rel=1e-12)
    pose = sus.pinion_pose(CAR_A, AXLE_A, (10.503 * INCH, 13.163 * INCH), np.radians(2.1), -0.01 * INCH)
    assert np.degrees(np.radians(2.1) - pose.pitch) == pytest.approx(0.01 * 57.29578 / x_ic, rel=1e-3)
    assert pose.pitch < np.radians(2.1)


def test_velocity_of_the_axle_is_square_to_its_line_to_the_instant_centre():
    travels = np.linspace(-3.0, 2.5, 12) * INCH
    ahead, behind = (sus.axle_pose(CAR_A, AXLE_A, travels + step) for step in (0.01, -0.01))
    here = sus.axle_pose(CAR_A, AXLE_A, travels)
    arm = sus.instant_centre(CAR_A, AXLE_A, travels).point - np.stack([here.x, here.z], axis=-1)
    motion = np.stack([ahead.x - behind.x, ahead.z - behind.z], axis=-1)
    cosine = np.sum(arm * motion, axis=-1) / np.linalg.norm(arm, axis=-1) / np.linalg.norm(motion, axis=-1)
    np.testing.assert_allclose(cosine, 0.0, atol=1e-6)


def test_parallel_links_of_equal_length_do_not_turn_the_housing():
    car = sus.FourLink((0.0, 250.0), (480.0, 260.0), (0.0, 550.0), (480.0, 560.0))
    travels = np.linspace(-80.0, 80.0, 41)
    pose = sus.axle_pose(car, (0.0, 400.0), travels)
    np.testing.assert_allclose(pose.rotation, 0.0, atol=1e-13)
    # The axle runs on a circle of the links' length.
    reach = np.hypot(480.0, 10.0)
    np.testing.assert_allclose(np.hypot(480.0 - pose.x, 10.0 - travels), reach, atol=1e-9)
    centre = sus.instant_centre(car, (0.0, 400.0), 0.0)
    assert centre.w == 0.0 and np.isinf(centre.point[0]) and centre.turn_per_travel(0.0) == 0.0
    assert sus.anti_squat(centre, 500.0, 2800.0) == pytest.approx(10.0 / 480.0 * 2800.0 / 500.0)


def test_pinion_pose_turns_about_the_axle():
    joint, pitch = (10.503 * INCH, 0.0, 13.163 * INCH), np.radians(2.1)
    static = sus.pinion_pose(CAR_A, AXLE_A, joint, pitch, 0.0)
    np.testing.assert_allclose(static.joint, joint, atol=1e-9)
    assert static.pitch == pytest.approx(pitch, abs=1e-12)
    wound = sus.pinion_pose(CAR_A, AXLE_A, joint, pitch, 0.0, np.radians(0.5))
    # Nose up by half a degree: the pitch falls, the joint (ahead of the axle) rises by arm x sin, its arm keeps its length.
    assert np.degrees(wound.pitch) == pytest.approx(1.6, abs=1e-9)
    assert wound.joint[2] - joint[2] == pytest.approx(10.503 * INCH * np.sin(np.radians(0.5)), abs=0.01)
    assert wound.joint[2] > joint[2] and wound.joint[1] == 0.0
    assert np.hypot(wound.joint[0], wound.joint[2] - AXLE_A[1]) == pytest.approx(
        np.hypot(joint[0], joint[2] - AXLE_A[1]), rel=1e-12)
    side = sus.pinion_pose(CAR_A, AXLE_A, (joint[0], joint[2]), pitch, [-20.0, 10.0], 0.01)
    space = sus.pinion_pose(CAR_A, AXLE_A, (joint[0], -12.0, joint[2]), pitch, [-20.0, 10.0], 0.01)
    np.testing.assert_array_equal(side.joint, space.joint[:, [0, 2]])
    assert (space.joint[:, 1] == -12.0).all() and space.joint.shape == (2, 3)


def test_the_joint_stays_with_the_housing():
    """Joint and both links' axle ends are one rigid body."""
    joint = np.array([10.503, 13.163]) * INCH
    travels = np.linspace(-3.0, 2.5, 9) * INCH
    pose = sus.axle_pose(CAR_A, AXLE_A, travels)
    lower = pose.x + 1j * pose.z + (complex(*CAR_A.lower_axle) - complex(*AXLE_A)) * np.exp(-1j * pose.rotation)
    moved = sus.pinion_pose(CAR_A, AXLE_A, joint, 0.0, travels).joint
    np.testing.assert_allclose(np.abs(lower - (moved[:, 0] + 1j * moved[:, 1])),
                               abs(complex(*CAR_A.lower_axle) - complex(*joint)), atol=1e-9)


# --- what does not close ----------------------------------------------------------------------------------------------


def test_short_lower_link_is_named_with_its_travel():
    # A 150 mm lower link pulls level with the line of the housing long before the 500 mm upper link does.
    car = sus.FourLink((0.0, 250.0), (150.0, 250.0), (0.0, 550.0), (500.0, 520.0))
    axle = (0.0, 400.0)
    errors = sus.closing_error(car, axle, np.linspace(-200.0, 200.0, 401))
    assert [(e.link, e.direction) for e in errors] == [("lower link", "droop"), ("lower link", "bump")]
    for error in errors:
        assert sus.axle_pose(car, axle, error.travel).closes
        beyond = error.travel + np.copysign(0.01, error.travel)
        pose = sus.axle_pose(car, axle, beyond)
        assert not pose.closes and np.isnan([pose.x, pose.z, pose.rotation]).all()
        assert abs(error.travel) < 200.0 == abs(error.asked)


def test_short_upper_link_is_named_and_the_end_is_a_dead_centre():
    # Lower end ahead of the axle: the instant center reaches it, hence the dead center, before it is over the axle.
    car = sus.FourLink((150.0, 250.0), (500.0, 250.0), (0.0, 550.0), (200.0, 500.0))
    axle = (0.0, 400.0)
    (error, *_rest) = sus.closing_error(car, axle, [200.0])
    assert (error.link, error.direction) == ("upper link", "bump")
    # There the upper link and the housing's two points stand in one line: their lengths add up or subtract to the distance
    # from the lower axle end to the upper chassis end.
    pose = sus.axle_pose(car, axle, error.travel)
    lower_end = pose.x + 1j * pose.z + (complex(*car.lower_axle) - complex(*axle)) * np.exp(-1j * pose.rotation)
    distance = abs(lower_end - complex(*car.upper_chassis))
    upper = abs(complex(*car.upper_axle) - complex(*car.upper_chassis))
    housing = abs(complex(*car.upper_axle) - complex(*car.lower_axle))
    assert min(abs(distance - abs(housing - upper)), abs(distance - (housing + upper))) < 1e-6


def test_ladder_bar_reaches_as_far_as_its_length():
    lowest, highest = sus.travel_range(CAR_B, AXLE_B)
    reach = np.hypot(34.0, 8.25) * INCH
    assert lowest == pytest.approx(-8.25 * INCH - reach) and highest == pytest.approx(-8.25 * INCH + reach)
    errors = sus.closing_error(CAR_B, AXLE_B, [-2000.0, 0.0])
    assert [(e.link, e.direction, e.asked) for e in errors] == [("ladder bar", "droop", -2000.0)]
    assert sus.closing_error(CAR_B, AXLE_B, np.linspace(-40.0, 40.0, 9)) == ()


def test_rigid_axle_does_not_travel():
    pose = sus.axle_pose(sus.Rigid(), AXLE_A, [0.0, 5.0])
    assert pose.closes.tolist() == [True, False]
    assert sus.closing_error(sus.Rigid(), AXLE_A, [0.0, 5.0]) == (sus.ClosingError("rigid axle", "bump", 0.0, 5.0),)
    with pytest.raises(sus.SuspensionError, match="no instant center"):
        sus.instant_centre(sus.Rigid(), AXLE_A)


@pytest.mark.parametrize("make, words", [
    (lambda: sus.FourLink((0, 250), (0, 250), (0, 550), (500, 520)), "lower link"),
    (lambda: sus.FourLink((0, 250), (500, 250), (0, 550), (0, 550)), "upper link"),
    (lambda: sus.FourLink((0, 250), (500, 250), (0, 250), (500, 550)), "axle ends"),
    (lambda: sus.FourLink((0, float("nan")), (500, 250), (0, 550), (500, 550)), "lower_axle"),
    (lambda: sus.Ladder((5.0,)), "pivot"),
    (lambda: sus.axle_pose(sus.Ladder((0.0, 100.0)), AXLE_A, 0.0), "straight above or below"),
    (lambda: sus.axle_pose(sus.FourLink((0, 250), (0, 100), (0, 550), (500, 520)), AXLE_A, 0.0), "in line"),
    (lambda: sus.axle_pose(CAR_A, (float("inf"), 0.0), 0.0), "axle"),
])
def test_refusals_name_what_is_wrong(make, words):
    with pytest.raises(sus.SuspensionError, match=words) as refusal:
        make()
    assert "\n" not in str(refusal.value)


# --- invariants -------------------------------------------------------------------------------------------------------

LENGTHS = st.floats(-60.0, 60.0)


@st.composite
def four_links(draw):
    """A plausible four-link: car A's points, each moved by up to 60 mm, links from 350 to 600 mm."""
    moved = [tuple(value + draw(LENGTHS) for value in point) for point in
             (CAR_A.lower_axle, CAR_A.lower_chassis, CAR_A.upper_axle, CAR_A.upper_chassis)]
    return sus.FourLink(*moved)


@settings(max_examples=60, deadline=None)
@given(four_links(), st.floats(-3000.0, 3000.0), st.floats(-500.0, 500.0))
def test_moving_the_whole_car_moves_the_answer(car, dx, dz):
    travels = np.linspace(-75.0, 60.0, 12)
    shifted = sus.FourLink(*[(x + dx, z + dz) for x, z in
                             (car.lower_axle, car.lower_chassis, car.upper_axle, car.upper_chassis)])
    here = sus.axle_pose(car, AXLE_A, travels)
    there = sus.axle_pose(shifted, (AXLE_A[0] + dx, AXLE_A[1] + dz), travels)
    assume(here.closes.all())
    assert there.closes.all()
    np.testing.assert_allclose(there.x - dx, here.x, atol=1e-7)
    np.testing.assert_allclose(there.rotation, here.rotation, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(four_links())
def test_mirrored_car_turns_the_other_way(car):
    """Facing the other way (X and Y reversed) the same linkage turns by the same amount the other way about Y."""
    travels = np.linspace(-75.0, 60.0, 12)
    mirrored = sus.FourLink(*[(-x, z) for x, z in
                              (car.lower_axle, car.lower_chassis, car.upper_axle, car.upper_chassis)])
    here, there = sus.axle_pose(car, AXLE_A, travels), sus.axle_pose(mirrored, (-AXLE_A[0], AXLE_A[1]), travels)
    np.testing.assert_array_equal(here.closes, there.closes)
    np.testing.assert_allclose(there.rotation, -here.rotation, atol=1e-9)
    np.testing.assert_allclose(there.x, -here.x, atol=1e-7)


@settings(max_examples=60, deadline=None)
@given(four_links())
def test_both_links_are_equals(car):
    """Swapping the names of the links changes nothing but which angle the solution runs on, and the range is the same."""
    swapped = sus.FourLink(car.upper_axle, car.upper_chassis, car.lower_axle, car.lower_chassis)
    np.testing.assert_allclose(sus.travel_range(swapped, AXLE_A), sus.travel_range(car, AXLE_A), atol=1e-5)
    travels = np.linspace(*sus.travel_range(car, AXLE_A), 31)[1:-1]
    here, there = sus.axle_pose(car, AXLE_A, travels), sus.axle_pose(swapped, AXLE_A, travels)
    assert here.closes.all() and there.closes.all()
    np.testing.assert_allclose(there.rotation, here.rotation, atol=1e-7)


@settings(max_examples=40, deadline=None)
@given(four_links())
def test_pose_is_continuous_over_its_whole_range(car):
    lowest, highest = sus.travel_range(car, AXLE_A)
    pose = sus.axle_pose(car, AXLE_A, np.linspace(lowest, highest, 4001))
    assert pose.closes.all()
    assert np.abs(np.diff(pose.rotation)).max() < 0.15 and np.abs(np.diff(pose.x)).max() < 30.0
    assert not sus.axle_pose(car, AXLE_A, [lowest - 0.1, highest + 0.1]).closes.any()


def test_a_thousand_travels_are_a_few_numpy_calls():
    travels = np.linspace(-3.0, 2.5, 1000) * INCH
    sus.axle_pose(CAR_A, AXLE_A, travels)
    many, one = np.inf, np.inf
    for repeat in range(5):
        start = time.process_time()
        sus.axle_pose(CAR_A, AXLE_A, travels)
        many = min(many, time.process_time() - start)
        start = time.process_time()
        sus.axle_pose(CAR_A, AXLE_A, travels[500 + repeat])    # another one each time: a single one is kept
        one = min(one, time.process_time() - start)
    assert many < 50.0 * one  # a Python loop takes a thousand times as long


def test_what_is_kept_of_a_few_travels_is_what_is_read_anew_and_cannot_be_written():
    few = np.array([-2.0, 0.0, 1.5]) * INCH
    for read in (sus.axle_pose, sus.instant_centre):
        anew, kept, again = read.__wrapped__(CAR_A, AXLE_A, few), read(CAR_A, AXLE_A, few), read(CAR_A, AXLE_A, few)
        assert again is kept and all(np.array_equal(one, other) for one, other in zip(anew, kept))
        assert not any(part.flags.writeable for part in kept)
        other = read(CAR_A, (AXLE_A[0], AXLE_A[1] + 25.0), few)
        assert not np.array_equal(other[1], kept[1])
