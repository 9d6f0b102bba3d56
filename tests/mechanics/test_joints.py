"""Universal joints against published values, SymPy's calculus, numerical integration and two real joints in series."""

import numpy as np
import pytest
from closed_forms import (
    angle_at_nonuniformity,
    compound_angle,
    maximum_phase_error,
    output_rotation,
    peak_torsional_acceleration,
    second_joint_allowance,
    secondary_couple,
    speed_ratio,
    torsional_acceleration,
)
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

from crankline.mechanics import frames, joints
from crankline.mechanics.shaft import RPM

INCH = 25.4
deg = np.degrees
rad = np.radians

joint_angles = st.floats(0.0, 1.0)
lateral = st.floats(-60.0, 60.0)
lean = st.floats(-0.12, 0.12)


# --- published values -------------------------------------------------------------------------------------------------


def test_fluctuation_of_100_rpm_at_1200():
    """standards B1.1: at most 100 rpm at 1200 rpm: cos(beta) 0.959201, 16.423 deg, 1251.04 / 1151.04 rpm."""
    beta = angle_at_nonuniformity(100.0 / 1200.0)
    assert np.cos(beta) == pytest.approx(0.959201, abs=5e-7)
    assert deg(beta) == pytest.approx(16.423, abs=5e-4)
    assert 1200.0 * speed_ratio(beta, [0.0, np.pi / 2]) == pytest.approx([1251.04, 1151.04], abs=0.005)


def test_compound_angle_of_plan_and_side():
    """standards B1.3: 2.15 and 2.50 deg make 3.3 deg (published); exact tangents 3.29557 deg."""
    exact = deg(compound_angle(rad(2.15), rad(2.50)))
    assert exact == pytest.approx(3.3, abs=0.05)
    assert exact == pytest.approx(3.29557, abs=5e-6)
    # Second way: the angle in space between X and a line with these slopes in plan and side view.
    line = [1.0, np.tan(rad(2.15)), np.tan(rad(2.50))]
    assert rad(exact) == pytest.approx(joints.angle_between([1.0, 0.0, 0.0], line), abs=1e-15)


def test_nonuniformity_table():
    """standards B1.4."""
    table = joints.nonuniformity(rad([1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 30.0]))
    assert table == pytest.approx([0.000305, 0.001219, 0.002743, 0.007625, 0.030619, 0.124485, 0.288675], abs=5.01e-7)


def test_phase_error_table():
    """standards B1.5."""
    table = deg(maximum_phase_error(rad([3.0, 5.0, 10.0, 20.0, 30.0])))
    assert table == pytest.approx([0.03929, 0.10922, 0.43856, 1.78168, 4.11719], abs=5.01e-6)


def test_peak_acceleration_table():
    """standards B1.6; B1.7: 30 deg at 2400 rpm, 18 606.7 rad/s2."""
    beta = rad([3.0, 3.0, 2.0, 5.0, 7.0, 11.5, 30.0])
    omega = np.array([3000.0, 5000.0, 8000.0, 3500.0, 2500.0, 1500.0, 2400.0]) * RPM
    table = [270.71, 751.96, 855.34, 1024.35, 1025.65, 1001.24, 18606.7]
    assert peak_torsional_acceleration(beta, omega) == pytest.approx(table, rel=2e-5)


def test_angle_by_length_rule():
    """standards B2.5: parallel 15 in 3 deg, 30 in 6 deg; intersecting 30 in 3 deg (published)."""
    assert deg(joints.length_angle_limit(np.array([381.0, 762.0]))) == pytest.approx([3.0, 6.0], abs=1e-12)
    assert deg(joints.length_angle_limit(762.0, intersecting=True)) == pytest.approx(3.0, abs=1e-12)


def test_two_joint_table():
    """standards B2.7 (published, 1500 rpm, first joint 0 to 9 deg); B2.8 for first joint 0 at 3000/5000/8000 rpm."""
    table = deg(second_joint_allowance(rad(np.arange(10.0)), 1500.0 * RPM))
    assert table == pytest.approx([7.3, 7.4, 7.6, 7.9, 8.3, 8.9, 9.5, 10.1, 10.8, 11.6], abs=0.1)
    high = deg(second_joint_allowance(0.0, np.array([3000.0, 5000.0, 8000.0]) * RPM))
    assert high == pytest.approx([3.65, 2.19, 1.37], abs=0.006)


def test_allowance_leaves_the_stated_residual():
    """Closed form: a driveline in one plane at the allowance leaves exactly 400 rad/s2 by the residual formula."""
    omega, front = 1500.0 * RPM, rad(4.0)
    rear = second_joint_allowance(front, omega)
    line = joints.driveline([1000.0, 0, 0], frames.direction(front), [0, 0, 0], frames.direction(rear))
    assert joints.inertia_excitation(line.residual, omega) == pytest.approx(400.0, rel=1e-12)


def test_speed_dependent_angle_limit():
    """standards B2.9: 1000 rad/s2: 5000 rpm 3.46, 4500 3.84 (3.8449), 4000 4.33 (4.3255) deg."""
    limit = joints.angle_limit(np.array([5000.0, 4500.0, 4000.0]) * RPM)
    assert deg(limit) == pytest.approx([3.46, 3.84, 4.33], abs=0.006)
    assert joints.inertia_excitation(limit, np.array([5000.0, 4500.0, 4000.0]) * RPM) == pytest.approx(1000.0)


def test_german_limit_of_nonuniformity():
    """standards B2.11: U at most 0.0027, so a residual of at most 2.977 deg."""
    assert deg(angle_at_nonuniformity(0.0027)) == pytest.approx(2.977, abs=5e-4)


def test_secondary_couple():
    """standards B2.15: 2000 N.m at 3 deg: 104.8 N.m (torque tan(beta))."""
    driving, driven = secondary_couple(2000.0e3, rad(3.0))
    assert driving / 1e3 == pytest.approx(104.8, abs=0.05)
    assert driven / 1e3 == pytest.approx(2000.0 * np.sin(rad(3.0)), rel=1e-14)


# --- one joint, a second way ------------------------------------------------------------------------------------------


def _pin_of_driven_yoke(pin, driven):
    """The cross holds both yokes' pins square to each other and each square to its own shaft."""
    across = np.cross(driven, pin)
    return across / np.linalg.norm(across, axis=-1, keepdims=True)


def _turned(vector, axis, angle):
    return Rotation.from_rotvec(np.multiply.outer(angle, axis)).apply(vector)


def _angle_about(axis, start, vectors):
    """Unwrapped right-handed angle of vectors about an axis, from start."""
    side = np.cross(axis, start)
    return np.unwrap(np.arctan2(vectors @ side, vectors @ start))


@pytest.mark.parametrize("beta", rad([0.5, 3.0, 12.0, 30.0]))
def test_rotation_of_a_joint_built_from_vectors(beta):
    """Vector construction of the cross, with SciPy's rotations; theta counts from the fastest position."""
    theta = np.linspace(0.0, 2.0 * np.pi, 145)
    driving, driven = np.array([1.0, 0.0, 0.0]), np.array([np.cos(beta), 0.0, -np.sin(beta)])
    # With the driving pin in the plane of the joint angle the output turns fastest.
    pins = _turned(np.array([0.0, 0.0, 1.0]), driving, theta)
    cross = _pin_of_driven_yoke(pins, driven)
    out = _angle_about(driven, cross[0], cross)
    assert out == pytest.approx(output_rotation(beta, theta), abs=1e-12)
    assert np.max(np.abs(out - theta)) == pytest.approx(maximum_phase_error(beta), rel=2e-3)


@pytest.mark.parametrize("beta", rad([1.0, 10.0, 35.0]))
def test_rotation_integrated_numerically(beta):
    """SciPy integrates the speed ratio; the mean over a turn is 1, the lag's harmonics are tan^2n(beta/2)/n."""
    mean, _error = quad(lambda theta: speed_ratio(beta, theta), 0.0, 2.0 * np.pi, epsabs=1e-13)
    assert mean / (2.0 * np.pi) == pytest.approx(1.0, abs=1e-13)
    theta = np.linspace(0.0, 4.0 * np.pi, 50)
    run = solve_ivp(
        lambda at, _out: [speed_ratio(beta, at)], (0.0, theta[-1]), [0.0], t_eval=theta, rtol=1e-11, atol=1e-12
    )
    assert output_rotation(beta, theta) == pytest.approx(run.y[0], abs=1e-8)
    turn = np.arange(256) * 2.0 * np.pi / 256
    harmonics = -2.0 * np.fft.rfft(output_rotation(beta, turn) - turn).imag / 256
    small = np.tan(beta / 2.0) ** 2
    assert harmonics[[2, 4, 6]] == pytest.approx([small, small**2 / 2.0, small**3 / 3.0], abs=1e-14)


def test_speed_and_acceleration_are_derivatives_of_the_rotation():
    """SymPy differentiates tan(theta_in) = tan(theta_out) cos(beta)."""
    import sympy  # dear, and every process of a run would wait for it
    theta, beta = sympy.symbols("theta beta")
    out = sympy.atan(sympy.tan(theta) / sympy.cos(beta))
    speed = sympy.lambdify((beta, theta), sympy.diff(out, theta))
    acceleration = sympy.lambdify((beta, theta), sympy.diff(out, theta, 2))
    b, t = np.meshgrid(rad([0.7, 4.0, 25.0]), [0.1, 0.6, 1.3, 2.4, 4.0])
    assert speed_ratio(b, t) == pytest.approx(speed(b, t), rel=1e-12)
    assert torsional_acceleration(b, 1.0, t) == pytest.approx(acceleration(b, t), rel=1e-9)
    assert np.tan(output_rotation(b, t)) * np.cos(b) == pytest.approx(np.tan(t), rel=1e-12)


@settings(deadline=None)
@given(st.floats(1e-3, 1.2), st.floats(1.0, 1200.0))
def test_peak_acceleration_is_the_largest(beta, omega):
    found = minimize_scalar(
        lambda at: torsional_acceleration(beta, 1.0, at), bounds=(0.0, np.pi / 2), method="bounded",
        options={"xatol": 1e-12},
    )  # fmt: skip
    assert peak_torsional_acceleration(beta, omega) == pytest.approx(-found.fun * omega**2, rel=1e-9)


@settings(deadline=None)
@given(st.floats(1e-4, 0.15), st.floats(1.0, 1200.0))
def test_small_angle_excitation_is_near_the_exact_peak(beta, omega):
    exact = peak_torsional_acceleration(beta, omega)
    assert joints.inertia_excitation(beta, omega) == pytest.approx(exact, rel=2.0 * beta**2 + 1e-12)


@settings(deadline=None)
@given(joint_angles)
def test_spread_is_that_of_the_speed_ratio(beta):
    fastest, slowest = speed_ratio(beta, [0.0, np.pi / 2])
    assert joints.nonuniformity(beta) == pytest.approx(fastest - slowest, abs=1e-14)
    assert angle_at_nonuniformity(joints.nonuniformity(beta)) == pytest.approx(beta, abs=1e-12)


def test_secondary_couples_of_a_cross():
    """Second way: the cross passes on torque along its normal only; what is left bends the shafts."""
    beta, torque = rad(12.0), 5.0e5
    driving, driven = np.array([1.0, 0.0, 0.0]), np.array([np.cos(beta), 0.0, -np.sin(beta)])
    pins = _turned(np.array([0.0, 0.0, 1.0]), driving, np.linspace(0.0, np.pi, 721))
    normal = np.cross(pins, _pin_of_driven_yoke(pins, driven))
    couple = normal * (torque / (normal @ driving))[:, None]
    bending = [np.linalg.norm(couple - (couple @ axis)[:, None] * axis, axis=1) for axis in (driving, driven)]
    for found, expected in zip(bending, secondary_couple(torque, beta)):
        assert found.max() == pytest.approx(expected, rel=1e-9)
        assert found.min() == pytest.approx(0.0, abs=1e-6 * torque)


# --- angles in space --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("angle", [0.0, 1e-12, 1e-8, 1e-4, 0.5, np.pi / 2, 3.0])
def test_angle_between_is_exact_for_tiny_angles(angle):
    a = [2.0, 0.0, 0.0]
    b = [3.0 * np.cos(angle), 0.0, -3.0 * np.sin(angle)]
    assert joints.angle_between(a, b) == pytest.approx(angle, rel=1e-12, abs=0.0)


def test_planes_of_the_joint_angles():
    """0 = forward end up off the shaft, positive toward the right (right-handed about the forward axis)."""
    up, right, down = [1.0, 0.0, 0.1], [1.0, -0.1, 0.0], [1.0, 0.0, -0.1]
    line = joints.driveline([1000.0, 0.0, 0.0], [up, right, down], [0.0, 0.0, 0.0], [1.0, 0.1, 0.0])
    assert line.front_plane == pytest.approx([0.0, np.pi / 2, np.pi])
    assert line.rear_plane == pytest.approx(-np.pi / 2)
    assert line.length == pytest.approx(1000.0)
    assert line.shaft_axis == pytest.approx(np.array([1.0, 0.0, 0.0]))


def test_z_and_w_layout_cancel_and_crossed_planes_add():
    """Closed forms of the residual for equal angles: 0 parallel, 0 mirrored, sqrt(2) beta in crossed planes or with the
    yokes a quarter turn out of line."""
    beta = rad(3.0)
    front, rear = [1000.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    leaning_up, leaning_down, sideways = frames.direction(-beta), frames.direction(beta), frames.direction(0.0, beta)
    for pinion, phase, expected in (
        (leaning_up, 0.0, 0.0),
        (leaning_down, 0.0, 0.0),
        (sideways, 0.0, np.sqrt(2.0) * beta),
        (leaning_up, np.pi / 2, np.sqrt(2.0) * beta),
        (sideways, np.pi / 2, 0.0),
        ([1.0, 0.0, 0.0], 0.3, beta),
    ):
        line = joints.driveline(front, leaning_up, rear, pinion, phase)
        assert line.residual == pytest.approx(expected, abs=1e-9)


def _two_joints_in_series(output_axis, shaft_axis, pinion_axis, phase, turns):
    """Pinion angle over output angle: two crosses built from vectors, the shaft's own yokes in line but for phase."""
    any_pin = np.cross(output_axis, [0.3, 0.5, 0.8])
    any_pin = any_pin / np.linalg.norm(any_pin)
    first = _turned(any_pin, output_axis, turns)
    shaft_front = _pin_of_driven_yoke(first, shaft_axis)
    # The rear yoke leads in the direction a standard-rotation engine turns: left-handed about the forward axis.
    shaft_rear = Rotation.from_rotvec(-phase * shaft_axis).apply(shaft_front)
    last = _pin_of_driven_yoke(shaft_rear, pinion_axis)
    return _angle_about(pinion_axis, last[0], last)


@settings(deadline=None, max_examples=60)
@given(lean, lean, lean, lean, st.floats(-1.6, 1.6))
def test_residual_is_what_two_real_joints_leave_over(pitch_1, yaw_1, pitch_2, yaw_2, phase):
    output, pinion = frames.direction(pitch_1, yaw_1), frames.direction(pitch_2, yaw_2)
    shaft_axis = frames.direction(0.03, 0.01)
    line = joints.driveline(900.0 * shaft_axis, output, [0.0, 0.0, 0.0], pinion, phase)
    turns = np.arange(128) * 2.0 * np.pi / 128
    over = _two_joints_in_series(output, shaft_axis, pinion, phase, turns) - turns
    swing = 2.0 * np.abs(np.fft.rfft(over)[2]) / 128  # twice a turn; a joint alone swings by tan^2(beta/2)
    sizes = line.front_angle**2 + line.rear_angle**2
    assert 4.0 * swing == pytest.approx(line.residual**2, abs=0.2 * sizes**2 + 1e-12)


def test_sign_of_the_phase_matters_and_is_right():
    """A pinion yawed against the output: one sense of yoke phase cures, the other worsens, by the real joints too."""
    shaft_axis = np.array([1.0, 0.0, 0.0])
    output, pinion = frames.direction(rad(-3.0)), frames.direction(rad(-3.0 * np.cos(0.5)), rad(-3.0 * np.sin(0.5)))
    turns = np.arange(128) * 2.0 * np.pi / 128
    swings, residuals = [], []
    for phase in (-0.5, 0.5):
        line = joints.driveline([900.0, 0, 0], output, [0, 0, 0], pinion, phase)
        over = _two_joints_in_series(output, shaft_axis, pinion, phase, turns) - turns
        swings.append(np.ptp(over) / 2.0)
        residuals.append(line.residual)
    assert line.front_plane == pytest.approx(0.0, abs=1e-9) and line.rear_plane == pytest.approx(0.5, abs=1e-3)
    assert residuals[0] < rad(0.1) < rad(2.0) < residuals[1]
    assert maximum_phase_error(np.array(residuals)) == pytest.approx(np.array(swings), abs=5e-6)


# --- invariants -------------------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(
    st.tuples(lateral, lateral, lateral), st.tuples(lean, lean), st.tuples(lean, lean), st.floats(-0.5, 0.5),
    st.lists(st.floats(-3000.0, 3000.0), min_size=3, max_size=3),
    st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3),
)  # fmt: skip
def test_joints_do_not_care_where_the_whole_car_stands(offset, output, pinion, phase, moved, turned):
    front, rear = np.array([1400.0, 0.0, 280.0]) + offset, np.array([260.0, 0.0, 330.0])
    output, pinion = frames.direction(*output), frames.direction(*pinion)
    here = joints.driveline(front, output, rear, pinion, phase)
    turn = Rotation.from_rotvec(turned)
    assume(abs(turn.apply(here.shaft_axis)[2]) < 0.999)
    there = joints.driveline(
        turn.apply(front) + moved, turn.apply(output), turn.apply(rear) + moved, turn.apply(pinion), phase
    )
    mirror = np.array([1.0, -1.0, 1.0])
    mirrored = joints.driveline(front * mirror, output * mirror, rear * mirror, pinion * mirror, -phase)
    for other in (there, mirrored):
        assert other.front_angle == pytest.approx(here.front_angle, abs=1e-9)
        assert other.rear_angle == pytest.approx(here.rear_angle, abs=1e-9)
        assert other.residual**2 == pytest.approx(here.residual**2, abs=1e-12)
        assert other.length == pytest.approx(here.length, abs=1e-9)
    # Planes are directions: half a turn one way is half a turn the other way.
    turned_back = np.exp(1j * mirrored.front_plane) * np.exp(1j * here.front_plane)
    assert turned_back == pytest.approx(1.0, abs=1e-6) or here.front_angle < 1e-6


def test_many_drivelines_equal_a_loop():
    rng = np.random.default_rng(7)
    front = np.array([1400.0, 0.0, 290.0]) + rng.normal(0.0, 30.0, (40, 3))
    output, pinion = frames.direction(*rng.normal(0.03, 0.03, (2, 40))), frames.direction(0.037)
    many = joints.driveline(front, output, [267.0, 0.0, 334.0], pinion, 0.05)
    for i in range(40):
        one = joints.driveline(front[i], output[i], [267.0, 0.0, 334.0], pinion, 0.05)
        for name in ("front_angle", "rear_angle", "front_plane", "rear_plane", "residual", "length", "shaft_axis"):
            assert getattr(many, name)[i] == pytest.approx(getattr(one, name), abs=1e-14), name


def test_joints_that_coincide_have_no_shaft():
    line = joints.driveline([[10.0, 0, 0], [900.0, 0, 0]], [1.0, 0, 0], [10.0, 0, 0], [1.0, 0, 0.05])
    assert np.isnan(line.front_angle[0]) and np.isfinite(line.rear_angle[1])
