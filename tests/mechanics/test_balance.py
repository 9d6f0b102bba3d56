"""Balance against published worked examples, moment equilibrium solved by numpy, and invariants."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crankline.mechanics import balance, placement
from crankline.mechanics.balance import Mass

INCH = 25.4
POUND = 0.45359237
G = 9810.0  # the textbook examples round free fall to 9.81 m/s2

masses = st.lists(
    st.builds(
        Mass,
        mass=st.floats(1.0, 500.0),
        cg=st.tuples(st.floats(-500.0, 3500.0), st.floats(-600.0, 600.0), st.floats(50.0, 900.0)),
    ),
    min_size=1,
    max_size=8,
)


# --- standing ---------------------------------------------------------------------------------------------------------


def test_static_split_of_a_textbook_car():
    """standards D1 (published): 890 kg, a1 0.78 m, wheelbase 2.35 m: 2916.5 and 1449 N a wheel."""
    front, rear = balance.axle_loads(890.0, [2350.0 - 780.0, 0.0, 500.0], 2350.0, gravity=G)
    assert front / 2.0 == pytest.approx(2916.5, abs=0.05)
    assert rear / 2.0 == pytest.approx(1449.0, abs=0.05)


def test_axle_loads_of_two_exercises():
    """standards D8, exercises 1 and 2: 9876.67 / 7437.98 N and 6668.76 / 5544.69 N."""
    mass, a1, a2 = np.array([1765.0, 1245.0]), np.array([1220.0, 1100.0]), np.array([1620.0, 1323.0])
    cg = np.stack([a2, np.zeros(2), np.zeros(2)], axis=-1)
    front, rear = balance.axle_loads(mass, cg, a1 + a2, gravity=G)
    assert front == pytest.approx([9876.67, 6668.76], abs=0.006)
    assert rear == pytest.approx([7437.98, 5544.69], abs=0.006)


def test_centre_of_gravity_from_wheel_loads():
    """standards D2 (published): 2000 and 1800 N a wheel, wheelbase 2.34 m: a1 1.1084 m, a2 1.2316 m."""
    cg_x = balance.cg_x_from_loads(4000.0, 3600.0, 2340.0)
    assert cg_x == pytest.approx(1231.6, abs=0.05)
    assert 2340.0 - cg_x == pytest.approx(1108.4, abs=0.05)


def test_height_of_the_centre_of_gravity_by_tilting():
    """standards D4: 2400 lb, wheelbase 105 in, front raised 20 in, rear gains 8.870 lb: 18 in. D3-good: 0.340 m."""
    height = balance.cg_height_from_tilt(
        1256.870 - 1248.0, 2400.0, 105.0 * INCH, np.arcsin(20.0 / 105.0), 16.0 * INCH
    )
    assert height / INCH == pytest.approx(18.0, abs=5e-4)
    static_front = 2000.0 * 9.81 * 1.2 / 2.3
    height = balance.cg_height_from_tilt(10433.524 - static_front, 2000.0 * 9.81, 2300.0, np.radians(30.0), 300.0)
    assert height == pytest.approx(340.0, abs=0.01)


@settings(deadline=None)
@given(st.floats(0.05, 0.5), st.floats(250.0, 900.0), st.floats(500.0, 2500.0))
def test_tilt_formula_against_moments_of_the_tilted_car(angle, height, cg_x):
    """Second way: turn the car about the rear hub and take moments."""
    wheelbase, hub, weight = 2700.0, 400.0, 9000.0

    def rear_load(tilt):
        arm = cg_x * np.cos(tilt) - (height - hub) * np.sin(tilt)  # CG ahead of the rear hub
        return weight * (1.0 - arm / (wheelbase * np.cos(tilt)))

    found = balance.cg_height_from_tilt(rear_load(angle) - rear_load(0.0), weight, wheelbase, angle, hub)
    assert found == pytest.approx(height, abs=1e-6)


@settings(deadline=None)
@given(masses)
def test_total_against_numpys_average(components):
    mass, cg = balance.total(components)
    weights = [component.mass for component in components]
    assert mass == pytest.approx(sum(weights))
    assert cg == pytest.approx(np.average([component.cg for component in components], axis=0, weights=weights))


def test_total_over_placements_equals_a_loop():
    block = placement.Block(6.35, 556.0)
    where = np.linspace(2050.0, 2150.0, 11)
    frame = placement.locate(placement.Placement(where, 254.0, 0.035), block)
    rest = Mass(700.0, [1300.0, 10.0, 480.0])
    mass, cg = balance.total([Mass(318.0, frame.to_car([254.0, 0.0, 140.0])), rest])
    assert cg.shape == (11, 3)
    for i in range(11):
        one_mass, one_cg = balance.total([Mass(318.0, frame[i].to_car([254.0, 0.0, 140.0])), rest])
        assert cg[i] == pytest.approx(one_cg, abs=1e-12) and mass == one_mass


def test_total_over_masses_equals_a_loop():
    """Ballast of several sizes, one place."""
    ballast, rest = np.array([10.0, 20.0, 45.0]), Mass(700.0, [1300.0, 10.0, 480.0])
    mass, cg = balance.total([rest, Mass(ballast, [-350.0, 0.0, 300.0])])
    assert mass.shape == (3,) and cg.shape == (3, 3)
    for i in range(3):
        one_mass, one_cg = balance.total([rest, Mass(ballast[i], [-350.0, 0.0, 300.0])])
        assert mass[i] == one_mass and cg[i] == pytest.approx(one_cg, abs=1e-12)


def test_no_mass_is_one_sentence():
    with pytest.raises(ValueError, match="masses: found a total that is not above 0 kg"):
        balance.total([])


@settings(deadline=None)
@given(masses, st.floats(10.0, 500.0), st.floats(-300.0, 300.0))
def test_shift_is_the_change_of_split(components, moved, move):
    """Closed form of design section 3 against the split worked out before and after."""
    wheelbase = 2800.0
    before = balance.total([*components, Mass(moved, [2200.0, 0.0, 400.0])])
    after = balance.total([*components, Mass(moved, [2200.0 + move, 0.0, 400.0])])
    change = balance.split(after[1][0], wheelbase)[0] - balance.split(before[1][0], wheelbase)[0]
    assert balance.shift(moved, move, before[0], wheelbase) == pytest.approx(change, abs=1e-12)


# --- accelerating -----------------------------------------------------------------------------------------------------


def test_load_transfer_of_an_exercise():
    """standards D5, D8 exercise 12: 2058.9 kg, h 0.76, l 2.7508 m, a 1.7 m/s2: 967.03 N."""
    assert balance.load_transfer(2058.9, 1700.0, 760.0, 2750.8) == pytest.approx(967.03, abs=0.05)


def test_loads_of_a_drag_car_up_to_the_wheelstand():
    """standards D10: 2400 lb, 105 in, h 18 in, 48 % front: limit 2.80 g; transfer 411.43 / 617.14 / 822.86 lb and
    front left 740.57 / 534.86 / 329.14 lb at 1 / 1.5 / 2 g; at mu 2.5 2.275 g."""
    mass, wheelbase, height, cg_x = 2400.0 * POUND, 105.0 * INCH, 18.0 * INCH, 50.4 * INCH
    gravity = balance.STANDARD_GRAVITY
    pound_force = POUND * gravity / 1000.0
    rates = np.array([1.0, 1.5, 2.0]) * gravity
    transfer = balance.load_transfer(mass, rates, height, wheelbase) / pound_force
    assert transfer == pytest.approx([411.43, 617.14, 822.86], abs=0.006)
    front, rear = balance.axle_loads(mass, [cg_x, 0.0, height], wheelbase, rates)
    assert front / pound_force == pytest.approx([740.57, 534.86, 329.14], abs=0.006)
    assert balance.rear_load_at(rates, mass, [cg_x, 0.0, height], wheelbase) == pytest.approx(rear)
    assert balance.wheelstand_limit(cg_x, height) / gravity == pytest.approx(2.80, abs=1e-12)
    assert balance.traction_limit(2.5, cg_x, height, wheelbase) / gravity == pytest.approx(2.275, abs=5e-4)


def test_traction_limit_of_an_exercise():
    """standards D6 with D8 exercise 10: l 2.62, h 0.72 m, mu 0.8, CG in the middle: 5.0298 m/s2."""
    assert balance.traction_limit(0.8, 1310.0, 720.0, 2620.0, gravity=G) == pytest.approx(5029.8, abs=0.05)


@settings(deadline=None)
@given(st.floats(0.2, 4.0), st.floats(0.2, 0.8), st.floats(250.0, 800.0))
def test_traction_limit_balances_grip_and_rear_load(mu, share, height):
    """Second way: at the limit the rear axle's grip drives the car, or the front wheels have just left the track."""
    wheelbase, mass = 2750.0, 1100.0
    cg = [share * wheelbase, 0.0, height]
    limit = balance.traction_limit(mu, cg[0], height, wheelbase)
    front, rear = balance.axle_loads(mass, cg, wheelbase, limit)
    thrust = mass * limit / 1000.0
    if mu < cg[0] / height:
        assert thrust == pytest.approx(mu * rear, rel=1e-9)
    else:
        assert limit == pytest.approx(balance.wheelstand_limit(cg[0], height), rel=1e-12)
        assert front == pytest.approx(0.0, abs=1e-6) and thrust <= mu * rear * (1.0 + 1e-9)


@settings(deadline=None)
@given(masses, st.floats(0.0, 30000.0))
def test_axles_carry_the_weight_and_never_pull(components, acceleration):
    mass, cg = balance.total(components)
    front, rear = balance.axle_loads(mass, cg, 2800.0, acceleration)
    assert front + rear == pytest.approx(mass * balance.STANDARD_GRAVITY / 1000.0)
    assert front >= 0.0


@settings(deadline=None)
@given(st.floats(0.3, 0.7), st.floats(200.0, 800.0), st.floats(0.0, 9000.0))
def test_axle_loads_solve_the_equations_of_equilibrium(share, height, acceleration):
    """numpy solves the forces and the moments about the rear contact patch."""
    wheelbase, mass = 2700.0, 1000.0
    weight, push = mass * balance.STANDARD_GRAVITY / 1000.0, mass * acceleration / 1000.0
    solved = np.linalg.solve([[1.0, 1.0], [wheelbase, 0.0]], [weight, weight * share * wheelbase - push * height])
    front, rear = balance.axle_loads(mass, [share * wheelbase, 0.0, height], wheelbase, acceleration)
    if solved[0] > 0.0:
        assert [front, rear] == pytest.approx(solved, abs=1e-6)
    else:
        assert front == 0.0


# --- moves, corners, scales ---------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(-0.03, 0.03), st.floats(5.0, 60.0), st.floats(900.0, 1500.0))
def test_a_move_for_a_shift_undoes_a_shift(share, moved, whole):
    move = balance.move_for_shift(share, moved, whole, 2700.0)
    assert balance.shift(moved, move, whole, 2700.0) == pytest.approx(share, abs=1e-12)


@settings(deadline=None)
@given(st.floats(-0.03, 0.03), st.sampled_from([0.0, 2800.0, -300.0]))
def test_added_mass_makes_the_share_that_was_asked_for(share, x):
    """Second way: the whole car with the added mass in it."""
    car = Mass(1200.0, (1400.0, 0.0, 400.0))
    added = balance.mass_for_shift(share, x, 1400.0, 1200.0, 2800.0)
    _mass, cg = balance.total([car, Mass(added, (x, 0.0, 300.0))])
    assert balance.split(cg[0], 2800.0)[0] == pytest.approx(0.5 + share, abs=1e-12)


def test_no_mass_on_the_center_of_gravity_changes_the_split():
    assert np.isnan(balance.mass_for_shift(0.01, 1400.0 + 28.0, 1400.0, 1200.0, 2800.0))


@settings(deadline=None)
@given(st.floats(1000.0, 8000.0), st.floats(1000.0, 8000.0), st.floats(-100.0, 100.0))
def test_corner_loads_are_in_balance(front, rear, y):
    """Moments about the car's long axis and about the rear axle, and no wedge beyond the offset's own."""
    fl, fr, rl, rr = balance.corner_loads(front, rear, y, 1500.0, 1300.0)
    assert fl + fr == pytest.approx(front) and rl + rr == pytest.approx(rear)
    assert 750.0 * (fl - fr) + 650.0 * (rl - rr) == pytest.approx((front + rear) * y, abs=1e-6)


def test_a_tilt_is_the_one_of_the_worked_example():
    """standards D4: front raised 20 in on a wheelbase of 105 in is 10.9806 deg."""
    assert np.degrees(balance.tilt_angle(20.0, 105.0)) == pytest.approx(10.9806, abs=5e-5)
