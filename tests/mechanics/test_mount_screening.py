"""Mounts under load: torque, springs and margins against closed forms worked by hand, shares against an independent method."""
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import snapshot_fakes as fakes
from closed_forms import rail_couple
from hypothesis import given
from hypothesis import settings as trying
from hypothesis import strategies as st
from scipy import linalg, optimize
from scipy.integrate import quad

from crankline import model
from crankline.checks.strength import load_model as assembling
from crankline.mechanics import beams, fasteners, limiter_strut, mounting, mounts_load, scene, strength, tail_mount, welds
from crankline.mechanics import mount_screening as screening
from crankline.record import filled

INCH, LBF, KSI, G = 25.4, 4.4482216152605, 6.894757293168361, 9.80665
POUND = 0.45359237
NAMES = [case.name for case in mounts_load.ASSUMED_CASES]
LAUNCH = NAMES.index("launch")


AUTOMATIC, CLUTCH = fakes.without_strut(fakes.automatic()), fakes.without_strut(fakes.clutch())


def with_strut(car, side="left", plate_y=6.0, plate_z=-1.8, run=12.0, bolt=0.5, bracket_thickness=0.25, **more):
    """A strut whose bracket stands well inside the plate, with rod ends and brackets of a size for it."""
    sizes = dict(plate_y=plate_y, plate_z=plate_z, run=run, bolt=bolt, bracket_thickness=bracket_thickness)
    strut = model.LimiterStrut(side=side, **{name: value * INCH for name, value in sizes.items()}, **more)
    return replace(car, mounts=replace(car.mounts, limiter_strut=strut))


def screened(car, settings=None):
    return assembling.screened(filled(car), scene.of(car), settings or assembling.Settings())[0]


CARS = {"automatic": AUTOMATIC, "clutch": CLUTCH, "automatic with strut": with_strut(AUTOMATIC),
        "clutch with strut": with_strut(CLUTCH, plate_y=8.0, plate_z=-2.5, bolt=0.375)}


# --- torque -----------------------------------------------------------------------------------------------------------

def test_launch_torque_of_demo_a_by_hand():
    """Slicks that hold more than the wheelstand limit: all of the weight stands on the rear tires, which let the most through at their free
    radius, 16.75 in."""
    car = AUTOMATIC
    found = assembling.launch(filled(car), scene.of(car))
    pounds = 700 + 210 + 230 + 560 + 330 + 290 + 235 + 30 + 75 + 45 + 45
    assert found.engine == pytest.approx(980 * LBF * 12 * INCH * 1.90 * 1.80)
    assert found.grip == pytest.approx(3.5 * pounds * POUND * G * 16.75 * INCH / 4.10)
    assert found.forward == pytest.approx(3.5)
    assert found.shaft == found.grip < found.engine
    assert found.mounts == pytest.approx(1.5 * found.grip)


def test_grip_with_all_wheels_down_is_the_balance_of_the_car():
    """Street tires: N_rear solves N = W (L - x) / L + m a h / L with m a = mu N."""
    mass, (x, h), wheelbase, mu = 1000.0, (1300.0, 500.0), 2700.0, 1.2
    rear = optimize.brentq(lambda n: n - (mass * G * (wheelbase - x) + mu * n * h) / wheelbase, 1.0, 1e5)
    found = screening.launch(1e9, 2.0, 2.0, mass, (x, 0.0, h), wheelbase, mu, (320.0,), 3.9)
    assert found.grip == pytest.approx(mu * rear * 320.0 / 3.9)
    assert found.forward == pytest.approx(mu * rear / (mass * G))
    weak = screening.launch(1e5, 2.0, 2.0, mass, (x, 0.0, h), wheelbase, mu, (320.0, 330.0), 3.9)
    # 400 N.m x 3.9 over the smaller radius push the car.
    assert found.shaft == found.grip and weak.shaft == 4e5 and weak.forward == pytest.approx(4e5 * 3.9 / 320.0 / (mass * G))
    free = screening.launch(1e9, 2.0, 2.0, mass, (x, 0.0, h), wheelbase, mu, (320.0, 330.0), 3.9)
    assert free.grip == pytest.approx(found.grip * 330.0 / 320.0)


def test_nothing_caps_the_engine_where_the_car_lists_no_masses():
    car = replace(AUTOMATIC, masses=())
    found = assembling.launch(filled(car), scene.of(car))
    assert found.grip == math.inf and found.shaft == found.engine


def test_a_torque_put_on_at_once_doubles_and_the_default_lies_between():
    """Undamped spring under a step: 1 - cos(w t), at most 2."""
    times = np.linspace(0.0, 10.0, 5001)
    assert 1.0 < screening.SHOCK_FACTOR < (1.0 - np.cos(times)).max() <= 2.0
    assert screening.GRIP["slick"] >= 2 * 60 * 0.3048 / 1.05**2 / G  # 60 ft in 1.05 s


def test_the_assumed_cases_are_the_defaults_and_every_one_can_be_set():
    assert screening.cases() == mounts_load.ASSUMED_CASES
    other = {case.name: case for case in screening.cases(1.0, 2.0, 3.0, 4.0, 0.25)}
    assert (other["launch"].forward, other["landing"].up, other["braking"].forward) == (1.0, 2.0, -3.0)
    assert (other["side left"].left, other["side right"].left, other["torque reversal"].torque) == (4.0, -4.0, -0.25)
    assert other["launch"].torque == 1.0


# --- shares -----------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", CARS)
def test_forces_and_moments_close(name):
    found = screened(CARS[name])
    points = np.array([spring.point for spring in found.mounts])
    scale = np.abs(found.moment).max()
    np.testing.assert_allclose(found.on_mounts.sum(axis=1), found.force, rtol=0, atol=1e-9 * np.abs(found.force).max())
    np.testing.assert_allclose(np.cross(points, found.on_mounts).sum(axis=1), found.moment, rtol=0, atol=1e-9 * scale)


@pytest.mark.parametrize("name", CARS)
def test_shares_are_those_of_least_energy(name):
    """The force method: of all forces in equilibrium, those of least strain energy in mounts and chassis (Castigliano), by SciPy's
    solver; once with pinned and once with clamped ends of the tubes."""
    found = screened(CARS[name])
    columns, gives = [], []
    for spring in found.mounts:
        # A strut pushes along its axis only: the directions in which a spring has no stiffness carry nothing.
        values, axes = linalg.eigh(spring.stiffness)
        kept = values > 1e-9 * values.max()
        columns.append(np.vstack([axes[:, kept], np.cross(np.asarray(spring.point), axes[:, kept].T).T]))
        gives.append(1.0 / values[kept])
    balance, give = np.hstack(columns), np.concatenate(gives)
    scale = np.array([1.0, 1.0, 1.0, 1e3, 1e3, 1e3])[:, None]
    balance = balance / scale
    onto = linalg.block_diag(*(column[:3] for column in columns))
    for case, ends in enumerate(np.repeat(range(len(found.gives)), len(NAMES))):
        whole = np.diag(give) + onto.T @ found.gives[ends] @ onto
        system = np.block([[whole * 1e5, balance.T], [balance, np.zeros((6, 6))]])
        load = np.concatenate([found.force[case], found.moment[case]]) / scale[:, 0]
        solution = linalg.solve(system, np.concatenate([np.zeros(len(give)), load]))[:len(give)]
        start = 0
        for i, (column, one) in enumerate(zip(columns, gives)):
            expected = column[:3] @ solution[start:start + len(one)]
            np.testing.assert_allclose(found.on_mounts[case, i], expected, rtol=0, atol=1e-6 * np.abs(found.force).max())
            start += len(one)


@trying(max_examples=30, deadline=None)
@given(st.lists(st.floats(-1e4, 1e4), min_size=6, max_size=6), st.lists(st.floats(50.0, 1e5), min_size=12, max_size=12))
def test_springs_along_the_axes_share_as_weighted_least_squares_do(load, stiffness):
    """Least energy sum f^2 / k under A f = load is sqrt(K) pinv(A sqrt(K)) load (SciPy's pseudoinverse)."""
    points = [(2600.0, 230.0, 150.0), (2600.0, -230.0, 170.0), (2100.0, 340.0, 130.0), (1570.0, 0.0, 140.0)]
    force, moment, rows = np.array(load[:3]), np.array(load[3:]) * 300.0, np.reshape(stiffness, (4, 3))
    balance = np.vstack([np.tile(np.eye(3), 4), np.hstack([np.cross(p, np.eye(3)).T for p in points])])
    scale = np.array([1.0, 1.0, 1.0, 1e3, 1e3, 1e3])
    root = np.sqrt(rows.ravel())
    known = root * (linalg.pinv(balance * root / scale[:, None]) @ (np.concatenate([force, moment]) / scale))
    found = mounts_load.shares([mounts_load.Spring(str(i), p, np.diag(k)) for i, (p, k) in enumerate(zip(points, rows))], force, moment)
    np.testing.assert_allclose(found, known.reshape(4, 3), rtol=1e-6, atol=1e-3)


def test_standard_rotation_lifts_the_left_side():
    """Torque alone, no weight: on a car that is the same left and right each pair carries a couple, the left one upward."""
    found = screened(AUTOMATIC)
    torque = found.torque
    only = mounting.shares(found.mounts, np.zeros(3), mounts_load.reaction_torque(torque, found.mounting.output_axis))
    by_name = {spring.name: force for spring, force in zip(found.mounts, only)}
    for pair in ("mid plate", "plate foot"):
        left, right = by_name[f"{pair} left"], by_name[f"{pair} right"]
        assert left[2] > 0.0 and right[2] == pytest.approx(-left[2])
    # What the pairs hold by up and down, and by sideways forces at their heights, is the torque.
    held = sum(np.cross(spring.point, force) for spring, force in zip(found.mounts, only))
    assert held == pytest.approx(torque * np.array(found.mounting.output_axis), rel=1e-9, abs=1e-3)


def test_a_pair_of_rails_alone_holds_the_couple_of_the_closed_form():
    """Mid plate on its rails and a tail mount that does not resist roll: T / spacing up and down (``rail_couple``)."""
    springs = [mounting.Spring(name, point, np.diag(k)) for name, point, k in (
        ("left", (2000.0, 300.0, 100.0), (1e3, 1e4, 1e4)), ("right", (2000.0, -300.0, 100.0), (1e3, 1e4, 1e4)),
        ("tail", (1500.0, 0.0, 100.0), (1e3, 1e3, 1e3)))]
    found = mounting.shares(springs, np.zeros(3), mounts_load.reaction_torque(3e6))
    np.testing.assert_allclose(found[:2, 2], rail_couple(3e6, 600.0), rtol=1e-12)


@pytest.mark.parametrize("case", ["landing", "braking"])
def test_symmetric_cases_load_both_sides_alike(case):
    found = screened(AUTOMATIC)
    for pair in ("mid plate", "plate foot", "tie tab"):
        left, right = (found.on(f"{pair} {side}")[NAMES.index(case)] for side in ("left", "right"))
        assert left == pytest.approx(right * np.array([1.0, -1.0, 1.0]), abs=1e-6)
    left, right = found.on("mid plate left")[NAMES.index("side left")], found.on("mid plate right")[NAMES.index("side right")]
    assert left == pytest.approx(right * np.array([1.0, -1.0, 1.0]), abs=1e-6)


def test_a_powertrain_that_can_still_move_is_refused():
    car = AUTOMATIC
    bare = replace(car, plates=replace(car.plates, front=None), mounts=model.Mounts(rail_tabs=car.mounts.rail_tabs))
    with pytest.raises(ValueError, match="no mount holds"):
        screened(bare)


def test_a_limiter_strut_takes_the_load_along_the_car():
    without, held = screened(CARS["automatic"]), screened(CARS["automatic with strut"])
    # The rail that it stands on gives under it, more with pinned ends than with clamped ones; floor tubes hold the tail too.
    pinned, clamped = (abs(held.on("limiter strut")[place, 0] / held.force[LAUNCH, 0]) for place in (LAUNCH, len(NAMES) + LAUNCH))
    assert 0.35 < pinned < clamped < 1.0
    assert abs(held.on("plate foot left")[LAUNCH, 0]) < 0.5 * abs(without.on("plate foot left")[LAUNCH, 0])
    push = held.on("limiter strut")[LAUNCH]
    assert np.linalg.norm(np.cross(push, held.mounting.strut.direction)) < 1e-6 * np.linalg.norm(push)


def test_a_transmission_alone_rests_on_its_tail_by_its_lever():
    """Demo A: 210 lb whose center stands 12.0 in behind the bell's face, pad 20.9 in behind it; 5 g at landing, 2 g aside."""
    found = screened(AUTOMATIC)
    held = screening.tail_alone(found.mounting, found.cases)
    a = math.radians(2.0)
    # Level distances from the hinge: the pad hangs 3.40 in below the axis, which leans by 2 deg.
    lever = 20.9 * math.cos(a) + 3.40 * math.sin(a)
    assert held[NAMES.index("landing"), 2] == pytest.approx(-5.0 * 210 * POUND * G * 12.0 * math.cos(a) / lever)
    assert held[NAMES.index("side left"), 1] == pytest.approx(-2.0 * 210 * POUND * G * 12.0 * math.cos(a) / lever)
    assert not held[:, 0].any()
    # The pitched axis puts the center 12 sin 2 deg over the hinge: what pushes it back at launch presses the tail down by that arm.
    lifted = 3.5 * 12.0 * math.sin(a) + 12.0 * math.cos(a)
    assert held[LAUNCH, 2] == pytest.approx(-210 * POUND * G * lifted / lever, rel=1e-6)


# --- springs ----------------------------------------------------------------------------------------------------------

TUBE = mounting.Bar(1.25 * INCH, 0.065 * INCH, 200.0, 60 * KSI)
EI, EA = 200_000.0 * 0.04260 * INCH**4, 200_000.0 * 0.2420 * INCH**2  # published table: 1-1/4 x .065 in
GJ = 77_000.0 * 0.08520 * INCH**4
STRIP = mounting.Strip(69e3, 0.33, 255.0, 6.35, 70.0, 130.0)
BOLT = fasteners.Bolt(10.0, 58.0, 830.0, 1040.0)


def foot(direction, **more):
    return mounting.FootSeat("foot", (0.0, 0.0, 0.0), "front_plate", "plate_foot/left", STRIP, BOLT, 2, 30.0, TUBE, direction, 2.5, 480.0,
                             11.0,
                             20.0, ((6.35, 290.0), (4.76, 621.0)), (38.1, 45.0))


def test_the_web_of_a_foot_by_hand():
    """1 kN fore-aft and 4 kN up: the web alone, 38.1 x 4.76 mm, 45 mm from the bolts; laps of plate and web stand 5.555 mm apart, and each
    takes half of that moment."""
    force = np.array([[1000.0, 0.0, 4000.0]])
    found = {item.margin.item: item.margin for item in screening._foot(foot((0.0, -1.0)), ["c"], force, strength.Allowables())}
    area, section = 38.1 * 4.76, 38.1 * 4.76**2 / 6.0
    assert found["foot: web"].actual == pytest.approx(4000.0 / area + (1000.0 * 45.0 + 4000.0 * 0.5 * (6.35 + 4.76) / 2.0) / section)
    # Two bolts 30 mm apart: half of the pull each, and the lap's moment over their distance.
    pull = 500.0 + 4000.0 * 0.5 * 5.555 / 30.0
    assert found["foot: bolts"].actual == pytest.approx(float(fasteners.utilisation(2000.0, pull, BOLT)))


def test_foot_straight_down_by_hand():
    give = np.linalg.inv(mounting.foot_spring(foot((0.0, -1.0))).stiffness)
    strip = STRIP.stiffness
    assert np.diag(give) == pytest.approx([1 / strip.normal + 200.0**3 / 3 / EI, 1 / strip.along + 200.0**3 / 12 / EI,
                                           1 / strip.across + 200.0 / EA], rel=1e-3)
    assert give - np.diag(np.diag(give)) == pytest.approx(np.zeros((3, 3)))


def test_a_leaning_foot_pushes_outward_when_it_is_pressed_down():
    """At 45 deg, a rigid plate: K_yz = (k_axial - k_bent) sin cos, with the sign of its lean."""
    rigid = replace(STRIP, thickness=1e5)
    turned = math.sqrt(0.5)
    for side in (1.0, -1.0):
        found = mounting.foot_spring(replace(foot((side * turned, -turned)), strip=rigid)).stiffness
        assert found[1, 2] == pytest.approx(-side * 0.5 * (EA / 200.0 - 12 * EI / 200.0**3), rel=1e-3)
        # Force on the foot for a plate moved down by 1 mm: down, and away from the rail it leans to.
        moved = found @ np.array([0.0, 0.0, -1.0])
        assert moved[2] < 0.0 and moved[1] * side > 0.0


def tie_of(width, thickness, up, back):
    return mounting.Tie("tie", (0.0, 0.0, 0.0), "tie_tab/left", STRIP, BOLT, width, thickness, 414.0, up, back, 200.0, weld=16.0,
                        weld_leg=2.5,
                        tube_leg=2.5, filler_strength=480.0, hole=11.0, edge=20.0, bearing=((6.35, 290.0), (thickness, 621.0)))


def test_tie_and_support_tube_by_hand():
    tie = tie_of(44.45, 4.76, 19.0, 23.0)
    tube = replace(TUBE, length=600.0)
    give = np.linalg.inv(mounting.tie_spring(tie, tube).stiffness)
    second = 44.45 * 4.76**3 / 12
    # Two equal forces at 200 of 600 mm: the work 2 F d / 2 is the strain energy, integral of M^2 / 2 E I.
    energy = quad(lambda x: min(x, 200.0, 600.0 - x) ** 2, 0.0, 600.0, points=[200.0, 400.0])[0] / (2 * EI)
    assert give[0, 0] == pytest.approx(1 / STRIP.stiffness.normal + 19.0**3 / (3 * 200e3 * second) + energy, rel=1e-3)
    assert give[2, 2] == pytest.approx(1 / STRIP.stiffness.along + 23.0**3 / (3 * 200e3 * second) + energy, rel=1e-3)


AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
TAB = tail_mount.Tab(90.0, 5.0, 0.0, 11.5, 2, 0.0, 23.0, 60 * KSI, 90 * KSI)


def tail(reach=0.0, head=85.0, seat=30.0, tab=TAB, **more):
    """Pad at 90 mm over the member's axis, tab of 5 mm, tube from its underside down to the cross bolt, all upright."""
    into = tail_mount.TailBolts(BOLT, ((0.0, 20.0), (0.0, -20.0)), 15.0, 200.0, 16.0)
    receiver = tail_mount.Receiver(32.0, 3.0, 0.25, 10.5, 20.0, 18.0, (reach, 0.0, 16.0), 60 * KSI, 90 * KSI, 2.5, 480.0)
    made = tail_mount.TailMount((0.0, 0.0, 90.0), (reach, 0.0, head), (reach, 0.0, seat), (reach, 0.0, 0.0), AXES, tab, into,
                                replace(TUBE, length=head - seat), BOLT, receiver, 2.5, replace(TUBE, length=600.0), 2.4)
    return replace(made, **more)


def test_tail_mount_over_its_member_by_hand():
    """A rigid tab right over the tube: tube as a cantilever of 60 mm from the cross bolt, the load 5 mm beyond its head."""
    give = np.linalg.inv(mounting.tail_spring(tail()).stiffness)
    bent, sag = (60.0**3 - 5.0**3) / 3 / EI, 600.0**3 / 48 / EI
    # Twist at the middle of a tube held at both ends: T L / 4 G J; a couple there: M L / 12 E I.
    assert np.diag(give) == pytest.approx([bent + sag + 90.0**2 * 600.0 / 4 / GJ, bent + 90.0**2 * 600.0 / 12 / EI, 55.0 / EA + sag],
                                          rel=1e-3)


def test_a_tab_that_reaches_gives_by_its_own_length():
    """Up and down, the member as good as rigid: tab F r^3 / 3 E I_t, tube turned by F r over its 55 mm: r^2 h / E I."""
    rigid = replace(TUBE, length=1e-3)
    give = np.linalg.inv(mounting.tail_spring(tail(reach=-60.0, member=rigid)).stiffness)
    assert give[2, 2] == pytest.approx(60.0**3 / 3 / (200e3 * 90.0 * 125.0 / 12) + 60.0**2 * 55.0 / EI + 55.0 / EA, rel=1e-3)
    flanged = np.linalg.inv(mounting.tail_spring(tail(reach=-60.0, tab=replace(TAB, flange=19.0), member=rigid)).stiffness)
    assert flanged[2, 2] < 0.5 * give[2, 2]


def test_give_of_a_bar_is_the_energy_integral_by_scipy():
    point, start, end = np.array([10.0, -20.0, 30.0]), np.array([1.0, 2.0, 3.0]), np.array([61.0, -18.0, 13.0])
    along = (end - start) / np.linalg.norm(end - start)
    first = np.cross(along, [0.0, 0.0, 1.0])
    first = first / np.linalg.norm(first)
    second = np.cross(along, first)
    found = beams.cantilever_give(point, start, end, (first, second), (3e8, 5e8), 2e8, 4e6)
    force = np.array([300.0, -500.0, 700.0])

    def energy(share):
        moment = np.cross(point - start - share * (end - start), force)
        return ((moment @ first) ** 2 / 3e8 + (moment @ second) ** 2 / 5e8 + (moment @ along) ** 2 / 2e8 + (force @ along) ** 2 / 4e6)

    # Clapeyron: the work F . u is twice the strain energy.
    assert force @ found @ force == pytest.approx(quad(energy, 0.0, 1.0)[0] * np.linalg.norm(end - start), rel=1e-9)
    assert found == pytest.approx(found.T)


# --- margins by hand --------------------------------------------------------------------------------------------------

def used(mount, force):
    """Every item of a tail mount at the worst of forces (cases, 3) on its pad."""
    return [use.worst(["a"]) for use in tail_mount.uses(mount, force)]


def items(found):
    return {item.margin.item.split(": ")[1]: item.margin for item in found}


def test_plate_foot_by_hand():
    """1 kN fore-aft bends the foot by F L; 1 kN across it in the plate by F L / 2, which also turns the two bolts."""
    w = 2 * 0.04260 / 1.25 * INCH**3
    fore = items(screening._foot(foot((0.0, -1.0)), ["a"], np.array([[1000.0, 0.0, 0.0]]), strength.Allowables()))
    assert fore["tube"].actual == pytest.approx(1000.0 * 200.0 / w, rel=1e-3)
    assert fore["tube"].margin == pytest.approx(60 * KSI / 1.5 / fore["tube"].actual - 1)
    across = items(screening._foot(foot((0.0, -1.0)), ["a"], np.array([[0.0, 1000.0, 0.0]]), strength.Allowables()))
    assert across["tube"].actual == pytest.approx(1000.0 * 100.0 / w, rel=1e-3)
    shear = 1000.0 / 2 + 1000.0 * 100.0 / 30.0  # evenly, and the couple over the pitch of 30 mm
    assert across["bolts"].actual == pytest.approx(shear / (0.5 * 1040 * 58.0 / 1.25))
    pushed = items(screening._foot(foot((0.0, -1.0)), ["a"], np.array([[0.0, 0.0, -1000.0]]), strength.Allowables()))
    assert pushed["tube"].actual == pytest.approx(1000.0 / (0.2420 * INCH**2), rel=1e-3)
    d = 1.25 * INCH
    assert fore["weld"].actual == pytest.approx(np.hypot(1000.0 * 200.0 / (np.pi * d**2 / 4), 2 * 1000.0 / np.pi / d))
    assert fore["weld"].allowable == pytest.approx(0.30 * 480.0 * 0.707 * 2.5)


@pytest.mark.parametrize("bolts, share", [(2, 1.0), (3, 0.5), (4, 0.3)])
def test_a_column_of_bolts_shares_a_couple_by_distance(bolts, share):
    """M r / sum r^2 at the outermost: M/p, M/2p, 0.3 M/p for two, three and four bolts of pitch p."""
    seat = replace(foot((0.0, -1.0)), bolts=bolts)
    used = items(screening._foot(seat, ["a"], np.array([[0.0, 1000.0, 0.0]]), strength.Allowables()))["bolts"].actual
    assert used == pytest.approx((1000.0 / bolts + share * 1000.0 * 100.0 / 30.0) / (0.5 * 1040 * 58.0 / 1.25))


def test_tie_tab_by_hand():
    tie = tie_of(45.0, 5.0, 20.0, 25.0)
    found = items(screening._tie(tie, ["a"], np.array([[300.0, 0.0, 600.0]]), strength.Allowables()))
    assert found["bending"].actual == pytest.approx((300.0 * 20.0 + 600.0 * 25.0) / (45.0 * 25.0 / 6))
    assert found["bolt"].actual == pytest.approx(600.0 / (0.5 * 1040 * 58 / 1.25) + 300.0 / (0.9 * 1040 * 58 / 1.25) / 1.4)


def test_tail_mount_by_hand():
    w, j = 2 * 0.04260 / 1.25 * INCH**3, 0.08520 * INCH**4
    found = items(used(tail(), np.array([[1000.0, 0.0, 0.0]])))
    # Loose at the pad: F x 60 mm at the cross bolt, whose hole stands in the neutral fibers for a push along the car.
    net = beams.tube_net_section(1.25 * INCH, 0.065 * INCH, 10.5)
    assert found["tube"].actual == pytest.approx(max(1000.0 * 60.0 / net[2], 1000.0 * 55.0 / w), rel=1e-3)
    # Member: F L / 4 level, half of F x 90 mm of twist; von Mises.
    bent, twist = 1000.0 * 600.0 / 4 / w, 500.0 * 90.0 * 0.625 * INCH / j
    assert found["bending and twist"].actual == pytest.approx(math.sqrt(bent**2 + 3 * twist**2), rel=1e-3)
    # Clamped ends get F L / 8, half of F, and the twist.
    d = 1.25 * INCH
    normal, along = 1000.0 * 600.0 / 8 / (np.pi * d**2 / 4), 2 * 500.0 / np.pi / d + 500.0 * 90.0 * d / 2 / (np.pi * d**3 / 4)
    assert found["end welds"].actual == pytest.approx(np.hypot(normal, along))
    d, arm = 32.0, 90.0 - 16.0
    assert found["weld"].actual == pytest.approx(np.hypot(1000.0 * arm / (np.pi * d**2 / 4), 2000.0 / np.pi / d))
    assert found["bending at the cross member"].actual == pytest.approx(1000.0 * arm / beams.tube_modulus(32.0, 3.0))
    # Tube to tab: the harder of 5 mm above it and 55 mm below.
    d = 1.25 * INCH
    assert found["weld of tube to tab"].actual == pytest.approx(np.hypot(1000.0 * 55.0 / (np.pi * d**2 / 4), 2000.0 / np.pi / d))
    assert found["cross bolt shear"].allowable == pytest.approx(2 * 0.5 * 1040 * 58.0 / 1.25)
    # Two walls of 1.651 mm bear on the bolt: arm lug/2 + fit + wall/2.
    assert found["cross bolt bending"].actual == pytest.approx(500.0 * (1.5 + 0.25 + 1.651 / 2))
    assert found["tube on the cross bolt"].actual == pytest.approx(500.0)
    # e1 / 3 d0 = 20 / 31.5, ample aside: 2.5 f_u d t / gamma.
    assert found["tube on the cross bolt"].allowable == pytest.approx(2.5 * 20.0 / 31.5 * 90 * KSI * 10.0 * 1.651 / 1.25, rel=1e-3)
    weight = items(used(tail(offset=80.0), np.array([[0.0, 0.0, -1000.0]])))
    assert weight["bending and twist"].actual == pytest.approx(
        math.sqrt((1000.0 * 600.0 / 4 / w) ** 2 + 3 * (500.0 * 80.0 * 0.625 * INCH / j) ** 2), rel=1e-3)
    assert weight["tube"].actual == pytest.approx(1000.0 / net[0], rel=1e-3)
    assert weight["tube as a strut"].actual == 1000.0 and weight["tab bending"].actual == 0.0
    assert items(used(tail(), np.array([[0.0, 0.0, 1000.0]])))["tube as a strut"].actual == 0.0


@pytest.mark.parametrize("reach", [60.0, -60.0])
def test_a_tab_that_reaches_is_bent_by_weight_at_its_real_lever(reach):
    found = items(used(tail(reach=reach), np.array([[0.0, 0.0, -1000.0]])))
    # Through the row of two 11.5 mm holes, 60 mm from the tube: 90 - 23 mm wide.
    assert found["tab bending"].actual == pytest.approx(1000.0 * 60.0 / ((90.0 - 23.0) * 25.0 / 6))
    # The tube gets the same at its head and hands it to the receiver.
    w = 2 * 0.04260 / 1.25 * INCH**3
    assert found["tube"].actual >= 1000.0 / (0.2420 * INCH**2) + 1000.0 * 60.0 / w - 0.5
    d = 32.0
    assert found["weld"].actual == pytest.approx(1000.0 / np.pi / d + 1000.0 * 60.0 / (np.pi * d**2 / 4))
    # A row of bolts 20 mm nearer leaves 40 mm; but loose at the pad the whole tab at the tube is bent by all 60.
    near = items(used(tail(reach=reach, tab=replace(TAB, row=20.0)), np.array([[0.0, 0.0, -1000.0]])))
    assert near["tab bending"].actual == pytest.approx(1000.0 * 60.0 / (90.0 * 25.0 / 6))
    flanged = items(used(tail(reach=reach, tab=replace(TAB, flange=19.0)), np.array([[0.0, 0.0, -1000.0]])))
    assert flanged["tab bending"].actual < 0.4 * found["tab bending"].actual


def test_tail_bolts_by_hand():
    """A push of the tail forward by 1 kN is answered 60 mm below the pad: two bolts in one row tip about a line 16 mm from it."""
    pushed = items(used(tail(), np.array([[1000.0, 0.0, 0.0]])))
    pull, t_rd, v_rd = 1000.0 * 60.0 / (2 * 16.0), 0.9 * 1040 * 58 / 1.25, 0.5 * 1040 * 58 / 1.25
    assert pushed["threads in the tail"].actual == pytest.approx(pull)
    assert pushed["tail bolts"].actual == pytest.approx(500.0 / v_rd + pull / t_rd / 1.4)
    assert pushed["threads in the tail"].allowable == pytest.approx(0.875 * math.pi * 10.0 * 15.0 * 0.6 * 200.0 / 1.25)
    # Sideways they stand 40 mm apart: 16 and 56 mm from the line.
    aside = items(used(tail(), np.array([[0.0, 1000.0, 0.0]])))
    assert aside["threads in the tail"].actual == pytest.approx(1000.0 * 60.0 * 56.0 / (16.0**2 + 56.0**2))
    # A tail that lifts hangs the mount on its bolts, one that presses does not.
    lifted, pressed = (items(used(tail(), np.array([[0.0, 0.0, z]]))) for z in (1000.0, -1000.0))
    assert lifted["threads in the tail"].actual == pytest.approx(500.0) and pressed["threads in the tail"].actual == 0.0
    # Over a reach it lifts one edge of the pad: 500 N and the couple, the bolts' line 16 mm inside the edge it tips about.
    reached = items(used(tail(reach=-60.0), np.array([[0.0, 0.0, -1000.0]])))
    assert reached["threads in the tail"].actual == pytest.approx(1000.0 * 60.0 / (2 * 16.0))


def test_a_receiver_beside_the_member_hangs_on_two_plates():
    beside = replace(tail().receiver, weld=(-20.0, 0.0, 0.0), plates=(3.0, 20.0, 25.0, 9.0))
    found = items(used(tail(receiver=beside), np.array([[0.0, 0.0, -1000.0]])))
    # Each plate is bent by half of F x 20 mm; the four lines, 20 mm high, take F and that moment: S = 4 d^2 / 6.
    assert found["bending at the cross member"].actual == pytest.approx(500.0 * 20.0 / (3.0 * 20.0**2 / 6))
    assert found["weld"].actual == pytest.approx(np.hypot(1000.0 / 80.0, 1000.0 * 20.0 / (4 * 20.0**2 / 6)))


def test_every_item_of_the_tail_grows_with_its_load_and_none_is_hidden():
    rng = np.random.default_rng(3)
    for reach, plates in ((0.0, None), (-45.0, None), (30.0, (3.0, 20.0, 25.0, 9.0))):
        mount = tail(reach=reach)
        mount = replace(mount, receiver=replace(mount.receiver, plates=plates))
        force = rng.normal(size=(1, 3)) * 1000.0
        single, double = (used(mount, scale * force) for scale in (1.0, 2.0))
        assert len({item.margin.item for item in single}) == len(single) == 16
        for one, two in zip(single, double):
            assert two.margin.actual == pytest.approx(2.0 * one.margin.actual) and one.margin.allowable > 0.0


# 7/8 x .065 in: I .01365 in4, A .1654 in2 (published table); 60 ksi.
def strut(length=300.0, direction=(0.8, 0.6, 0.0)):
    clevis = limiter_strut.Clevis(30.0, 5.0, 20.0, 16.0, 10.8, 15.0, 60 * KSI, 90 * KSI, 3.0, 480.0)
    return limiter_strut.Strut((0.0, 0.0, 0.0), direction, mounting.Bar(0.875 * INCH, 0.065 * INCH, length, 60 * KSI), "front_plate", AXES,
                               BOLT, 58.0,
                               clevis, limiter_strut.PlateEnd(27.0, 10.8, 15.0, 25.0, 6.35, 290.0),
                               limiter_strut.RailEnd(34.0, 20.0, 15.0, 4.0, 350.0))


def pushed(made, force):
    return items(limiter_strut.margins(made, ["a"], np.array([force])))


@pytest.mark.parametrize("length, holds", [
    # Long: Euler; short: J. B. Johnson's f_y (1 - f_y (L / r)^2 / 4 pi^2 E).
    (800.0, math.pi**2 * 200e3 * 0.01365 * INCH**4 / 800.0**2),
    (250.0, 0.1654 * INCH**2 * 60 * KSI * (1 - 60 * KSI * 250.0**2 / (0.01365 / 0.1654 * INCH**2) / (4 * math.pi**2 * 200e3)))])
def test_limiter_strut_by_hand(length, holds):
    found = pushed(strut(length), [-800.0, -600.0, 0.0])
    assert found["push"].actual == pytest.approx(1000.0) and found["push"].allowable == pytest.approx(holds / 1.5, rel=1e-3)
    assert found["pull"].actual == 0.0
    pulled = pushed(strut(length), [800.0, 600.0, 0.0])
    assert pulled["pull"].actual == pytest.approx(1000.0) and pulled["push"].actual == 0.0
    assert pulled["pull"].allowable == pytest.approx(60 * KSI * 0.1654 * INCH**2 / 1.5, rel=1e-3)
    assert pulled["threads of the rod ends"].allowable == pytest.approx(60 * KSI * 58.0 / 1.5)


def test_limiter_bolts_by_hand():
    found = pushed(strut(), [800.0, 600.0, 0.0])
    # A pin between ears of 5 mm that a ball of 20 mm fills: F / 8 (b + 2 a).
    assert found["rod ends' bolts bending"].actual == pytest.approx(1000.0 / 8 * (20.0 + 2 * 5.0))
    assert found["rod ends' bolts shear"].actual == pytest.approx(1000.0)
    # Two bolts share 800 N of pull and 600 N of shear; 600 N at 21 mm from the plate tips the web about an edge 15 mm from both.
    v_rd, t_rd = 0.5 * 1040 * 58 / 1.25, 0.9 * 1040 * 58 / 1.25
    assert found["bolts"].actual == pytest.approx(300.0 / v_rd + (400.0 + 600.0 * 21.0 / (2 * 15.0)) / t_rd / 1.4)
    assert found["plate bearing"].actual == pytest.approx(300.0) and found["ear bearing"].actual == pytest.approx(500.0)
    # Pushed, only the tipping pulls.
    back = pushed(strut(), [-800.0, -600.0, 0.0])
    assert back["bolts"].actual == pytest.approx(300.0 / v_rd + 600.0 * 21.0 / (2 * 15.0) / t_rd / 1.4)


def test_limiter_brackets_by_hand():
    found = pushed(strut(), [800.0, 600.0, 0.0])
    # Each ear: 400 N through 30 - 10.8 mm, 300 N at 16 mm in its plane.
    assert found["ears"].actual == pytest.approx(400.0 / (19.2 * 5.0) + 300.0 * 16.0 / (5.0 * 900.0 / 6))
    # Its weld all round, 30 x 5: pull over 2 (b + d), S = b d + d^2/3 along the width, J = (b + d)^3/6 is not asked.
    normal = 400.0 / 70.0 + 300.0 * 16.0 / (30.0 * 5.0 + 30.0**2 / 3)
    assert found["welds of the ears"].actual == pytest.approx(np.hypot(normal, 300.0 / 70.0))
    # Web of the bracket: half of 800 N on a strip of 27 - 10 - 5 mm held at both ends.
    webs = [item.margin for item in limiter_strut.margins(strut(), ["a"], np.array([[800.0, 600.0, 0.0]]))
            if item.margin.item.endswith(": web")]
    assert webs[0].actual == pytest.approx(400.0 * 12.0 / 2 / (30.0 * 25.0 / 6))
    # Seat: fore-aft the web shares with a 10 mm bolt by their second moments, as posts of 25 mm clamped at both ends.
    share = (30.0 * 125.0 / 12) / (30.0 * 125.0 / 12 + math.pi / 64 * 1e4)
    assert webs[1].actual == pytest.approx(400.0 * share * 12.5 / (30.0 * 25.0 / 6) + 300.0 * 25.0 / (5.0 * 900.0 / 6))
    # Weld on the rail, a frame of 34 x 20 mm, for a push straight along the car at 15 mm over it: S = d b + d^2/3 with d along the car.
    straight = pushed(strut(direction=(1.0, 0.0, 0.0)), [-1000.0, 0.0, 0.0])["weld on the rail"]
    assert straight.actual == pytest.approx(np.hypot(1000.0 / 108.0, 1000.0 * 15.0 / (34.0 * 20.0 + 34.0**2 / 3)))
    assert straight.margin == pytest.approx(350.0 / straight.actual - 1.0)


def test_welds_of_tie_tabs_and_ends_of_the_support_tube_by_hand():
    tie = tie_of(45.0, 5.0, 20.0, 25.0)
    found = items(screening._tie(tie, ["a"], np.array([[0.0, 900.0, 0.0]]), strength.Allowables()))
    # Sideways at 20 mm below and 25 mm ahead: S = d^2/3 along the two lines, J = d (3 b^2 + d^2)/6, worst at a corner.
    j, u, v = 45.0 * (3 * 16.0**2 + 45.0**2) / 6, 22.5, 8.0
    spin = 900.0 * 25.0 / j
    known = math.sqrt((900.0 / 90.0 + spin * v) ** 2 + (spin * u) ** 2 + (900.0 * 20.0 / (45.0**2 / 3)) ** 2)
    assert found["weld"].actual == pytest.approx(known) and found["weld"].allowable == pytest.approx(0.30 * 480.0 * 0.707 * 2.5)
    assert found["tab bearing"].actual == pytest.approx(900.0)
    ties = (replace(tie, name="one", along=200.0), replace(tie, name="two", along=400.0))
    held = mounting.Mounting(400.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), ties=ties, support_tube=replace(TUBE, length=600.0))
    pull = {name: np.array([[0.0, 0.0, 600.0]]) for name in ("one", "two")}
    welded = items(screening._support_tube(held, ["a"], pull, strength.Allowables()))["end welds"]
    # Clamped, two equal forces at the thirds: 2 F L / 9 (any beam table); F at each end; both stand 25 mm ahead of the axis: F x 25 of
    # twist.
    d = 1.25 * INCH
    normal, along = 2 * 600.0 * 600.0 / 9 / (np.pi * d**2 / 4), 2 * 600.0 / np.pi / d + 600.0 * 25.0 * d / 2 / (np.pi * d**3 / 4)
    assert welded.actual == pytest.approx(np.hypot(normal, along))


def test_twist_and_bending_join_as_von_mises():
    # Pure twist at the yield in shear of von Mises, f / sqrt 3, is f.
    torque = 100.0 / math.sqrt(3) * 0.08520 * INCH**4 / (0.625 * INCH)
    assert TUBE.stress(0.0, 0.0, torque) == pytest.approx(100.0, rel=1e-3)


def test_weld_leg_is_the_least_of_the_table_or_what_the_thin_wall_holds():
    import crankline.catalog as catalog
    steel = catalog.material("4130N")
    # AWS D1.1: 3 mm up to 6 mm. A wall of .065 in holds 0.40 x 60 ksi x 1.651 mm in shear.
    assert assembling.weld_leg((steel, 4.76), (steel, 4.0)) == 3.0
    leg = assembling.weld_leg((steel, 3.0), (steel, 0.065 * INCH))
    assert float(welds.allowable_force(assembling.FILLER_STRENGTH, leg)) == pytest.approx(0.40 * 60 * KSI * 0.065 * INCH)
    # A36 yields at 36 ksi (ASTM A36): the weaker wall caps the fillet, not the thinner one.
    leg = assembling.weld_leg((steel, 0.065 * INCH), (catalog.material("A36"), 0.083 * INCH))
    assert float(welds.allowable_force(assembling.FILLER_STRENGTH, leg)) == pytest.approx(0.40 * 36 * KSI * 0.083 * INCH)


@pytest.mark.parametrize("name", ["automatic with strut", "clutch with strut"])
def test_weaker_rails_lower_every_weld_on_them(name):
    car = CARS[name]
    weak = replace(car, chassis=replace(car.chassis, rails=replace(car.chassis.rails, material="A36")))
    strong, found = ({item.margin.item: item.margin for item in screened(each).items} for each in (car, weak))
    assert strong.keys() == found.keys()
    # The shear moduli of both steels, 76 and 77 GPa, share the load a little otherwise.
    assert all(found[name].margin <= strong[name].margin + 0.02 * (1.0 + abs(strong[name].margin)) for name in strong)
    lowered = {name for name in strong if found[name].allowable < strong[name].allowable}
    welded = {name for name in strong
              if name.endswith(("tab welds", "foot left: weld", "foot right: weld", "end welds", "weld on the rail"))}
    tubes = {name for name in strong if name.endswith(" in the chassis") and not name.startswith(("support", "tube"))}
    assert {name.split(":")[0] for name in welded} >= {"mid plate left", "support tube", "cross member"}
    # Where the rail's wall is the thicker one, a fillet on it is not held back by it.
    assert lowered >= tubes and lowered <= welded | tubes and lowered - tubes


# --- assembled from the demos -----------------------------------------------------------------------------------------

def test_demo_mounts_stand_where_the_car_file_says():
    found = screened(CARS["automatic with strut"])
    by_name = {spring.name: np.array(spring.point) for spring in found.mounts}
    assert by_name["mid plate left"][1] == pytest.approx(13.25 * INCH, abs=0.01)
    assert by_name["plate foot right"][1] == pytest.approx(-9.0 * INCH, abs=0.01)
    # Engine frame (-21.275, 0, -3.40) in at 2 deg, crank at 10 in.
    a = math.radians(2.0)
    assert by_name["tail"][2] == pytest.approx((10.0 + 21.275 * math.sin(a) - 3.40 * math.cos(a)) * INCH, abs=0.01)
    assert found.mounting.mass == pytest.approx(910 * POUND)
    seat = found.mounting.rails[0]
    # Two bolts, 3 diameters apart, the first 2 diameters over the ear's edge, which clears the rail by 1/8 in and its slope.
    reach = (0.25 + 0.015 + 0.1875) * math.tan(a)
    assert seat.mount.bolt_height / INCH == pytest.approx(0.125 + (2 + 1.5) * 0.375, abs=reach)
    assert seat.strip.span == pytest.approx((13.25 - 1.0 - 6.95) * INCH, abs=0.1)
    assert seat.strip.width == pytest.approx((2 + 3 + 2) * 0.375 * INCH)
    assert seat.strip.poisson == pytest.approx(69 / 26 / 2 - 1)


def test_every_group_is_screened_and_every_item_has_its_parts():
    seen = set()
    for car in CARS.values():
        found = screened(car)
        names = [item.margin.item for item in found.items]
        assert len(set(names)) == len(names)
        seen |= {item.group for item in found.items}
        for some in found.together:         # a group that is asked for alone lacks none of its items
            assert {item.group for item in some.items} <= set(some.groups), some.groups
        for group in screening.GROUPS:
            assert found.of([group]) == tuple(item for item in found.items if item.group == group), group
        assert all(item.subjects and np.isfinite(item.margin.margin) and item.margin.case.split(" (")[0] in NAMES for item in found.items)
    assert seen == set(screening.GROUPS)


def test_double_rails_hold_by_four_ears():
    car = AUTOMATIC
    rails = replace(car.chassis.rails, kind="double", upper_height=14.0 * INCH)
    both = replace(car, chassis=replace(car.chassis, rails=rails),
                   plates=replace(car.plates, mid=replace(car.plates.mid, kind="double_rail")))
    found = screened(both)
    assert [seat.name for seat in found.mounting.rails] == ["mid plate left", "mid plate right", "mid plate left upper",
                                                            "mid plate right upper"]
    assert found.mounting.rails[2].tabs == ("rail_tab/left_front_upper", "rail_tab/left_rear_upper")
    assert abs(found.on("mid plate left")[LAUNCH, 2]) < abs(screened(car).on("mid plate left")[LAUNCH, 2])


def test_everything_is_linear_in_the_load():
    single = screened(CARS["automatic with strut"])
    held = single.mounting
    heavy = replace(held, mass=2.0 * held.mass, hung=replace(held.hung, mass=2.0 * held.hung.mass))
    double = screening.screen(heavy, 2.0 * single.torque, screening.cases(3.5))
    for one, two in zip(single.items, double.items):
        assert two.margin.actual == pytest.approx(2.0 * one.margin.actual) and two.margin.case == one.margin.case
