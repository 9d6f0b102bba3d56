"""Driveshaft against tabulated sections, handbook and published values, and SciPy's eigenvalues and quadrature."""

import numpy as np
import pytest
from closed_forms import critical_speed_of_steel
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.linalg import eigh

from crankline.mechanics import shaft
from crankline.mechanics.shaft import RPM

INCH = 25.4
FOOT_POUND = 1355.818  # N.mm
PSI = 0.006894757293168361  # N/mm2
POUND = 0.45359237
STEEL = dict(axial_modulus=205.0e3, density=7850e-9)

outers = st.floats(20.0, 150.0)
wall_shares = st.floats(0.01, 0.5)


def test_section_table():
    """standards C7 tube table (in): 7/8 x .065, 1-5/8 x .083, 2 x .120, 3.5 x .083; lb/ft at .2836 lb/in3."""
    outer = np.array([0.875, 1.625, 2.0, 3.5]) * INCH
    wall = np.array([0.065, 0.083, 0.120, 0.083]) * INCH
    section = shaft.tube_section(outer, wall)
    assert section.area / INCH**2 == pytest.approx([0.1654, 0.4021, 0.7087, 0.8910], abs=5.1e-5)
    assert section.second_moment / INCH**4 == pytest.approx([0.01365, 0.11985, 0.31440, 1.30116], abs=5.1e-6)
    assert section.polar_moment / INCH**4 == pytest.approx([0.02731, 0.23971, 0.62880, 2.60231], abs=5.1e-6)
    mass = section.area * 12.0 * INCH * 0.2836 * POUND / INCH**3
    assert mass / POUND == pytest.approx([0.563, 1.368, 2.412, 3.032], abs=6e-4)


@settings(deadline=None)
@given(outers, wall_shares)
def test_section_by_quadrature(outer, share):
    wall = share * outer
    section = shaft.tube_section(outer, wall)
    inner_radius, outer_radius = outer / 2.0 - wall, outer / 2.0
    assert section.area == pytest.approx(quad(lambda r: 2.0 * np.pi * r, inner_radius, outer_radius)[0], rel=1e-9)
    polar = quad(lambda r: 2.0 * np.pi * r**3, inner_radius, outer_radius)[0]
    assert section.polar_moment == pytest.approx(polar, rel=1e-9)
    assert section.second_moment == pytest.approx(polar / 2.0, rel=1e-9)


def test_solid_bar_is_the_thickest_tube():
    assert shaft.tube_section(40.0, 20.0).second_moment == pytest.approx(np.pi * 40.0**4 / 64.0, rel=1e-14)


@pytest.mark.parametrize("wall", [0.0, -1.0, 20.1, np.nan])
def test_wall_that_does_not_fit_is_one_sentence(wall):
    with pytest.raises(ValueError, match="wall: found one that is not above 0"):
        shaft.tube_section(40.0, wall)


# --- critical speed ---------------------------------------------------------------------------------------------------


def test_handbook_form():
    """standards B3.1 and B3.3 (handbook K = 1.21e8 mm): 3.0 x .083 x 48 in 8533 rpm, 4.0 x .125 x 50 in 10 448 rpm."""
    outer, wall, length = np.array([3.0, 4.0]) * INCH, np.array([0.083, 0.125]) * INCH, np.array([48.0, 50.0]) * INCH
    speed = critical_speed_of_steel(outer, wall, length) / RPM
    assert speed == pytest.approx([8533.0, 10448.0], abs=1.0)
    assert 0.70 * speed == pytest.approx([5973.0, 7313.0], abs=1.0)


@pytest.mark.parametrize(
    "modulus, density, factor",
    [(207.0e3, 7850e-9, 1.20993e8), (205.0e3, 7850e-9, 1.20407e8), (68.9e3, 2700e-9, 1.19025e8)],
)
def test_theory_behind_the_handbook_form(modulus, density, factor):
    """standards B3: n_c = K sqrt(D2 + d2) / L2 rpm, K from the pinned uniform tube."""
    outer, wall, length = 76.2, 2.1082, 1219.2
    speed = shaft.critical_speed(outer, wall, length, modulus, density) / RPM
    assert speed * length**2 / np.hypot(outer, outer - 2.0 * wall) == pytest.approx(factor, rel=5e-6)


def test_aluminium_and_composite_of_the_same_size():
    """standards B3.1, B3.3: aluminum 8394 / 10 277 rpm, composite (E 120 GPa, 1600 kg/m3) 14 390 / 17 619 rpm."""
    outer, wall, length = np.array([3.0, 4.0]) * INCH, np.array([0.083, 0.125]) * INCH, np.array([48.0, 50.0]) * INCH
    aluminium = shaft.critical_speed(outer, wall, length, 68.9e3, 2700e-9) / RPM
    composite = shaft.critical_speed(outer, wall, length, 120.0e3, 1600e-9) / RPM
    assert aluminium == pytest.approx([8394.0, 10277.0], abs=1.0)
    assert composite == pytest.approx([14390.0, 17619.0], rel=1e-4)


def test_critical_speed_is_the_lowest_eigenvalue_of_a_beam():
    """Second way: twenty beam elements with consistent mass, pinned at both ends, SciPy's eigenvalues, SI units."""
    outer, wall, length, count = 0.0889, 0.002108, 1.143, 20
    inner = outer - 2.0 * wall
    area, inertia = np.pi / 4.0 * (outer**2 - inner**2), np.pi / 64.0 * (outer**4 - inner**4)
    h = length / count
    stiff = 205e9 * inertia / h**3 * np.array(
        [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
         [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]]
    )  # fmt: skip
    heavy = 7850.0 * area * h / 420.0 * np.array(
        [[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h],
         [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]]
    )  # fmt: skip
    k, m = np.zeros((2, 2 * count + 2, 2 * count + 2))
    for i in range(count):
        at = slice(2 * i, 2 * i + 4)
        k[at, at] += stiff
        m[at, at] += heavy
    free = [i for i in range(2 * count + 2) if i not in (0, 2 * count)]
    lowest = np.sqrt(eigh(k[np.ix_(free, free)], m[np.ix_(free, free)], eigvals_only=True)[0])
    speed = shaft.critical_speed(1e3 * outer, 1e3 * wall, 1e3 * length, **STEEL)
    assert speed == pytest.approx(lowest, rel=1e-5)


@settings(deadline=None)
@given(outers, wall_shares, st.floats(300.0, 2000.0), st.floats(1.1, 3.0))
def test_critical_speed_falls_with_the_square_of_length(outer, share, length, factor):
    short = shaft.critical_speed(outer, share * outer, length, **STEEL)
    assert shaft.critical_speed(outer, share * outer, factor * length, **STEEL) == pytest.approx(short / factor**2)


def test_maximum_speed_is_engine_limit_over_top_gear():
    assert shaft.maximum_speed(8200.0 * RPM, np.array([1.0, 0.8])) / RPM == pytest.approx([8200.0, 10250.0])


# --- torque -----------------------------------------------------------------------------------------------------------


def test_torsion_of_two_tubes():
    """standards B4.1: 3.5 x .083 in, 1500 lbf.ft: 12 105 psi (83.46 MPa), J 2.6023 in4, 45 in at G 79.3 GPa 1.5506 deg;
    B4.2: 90 x 3.32 mm, 3500 N.m: 92.61 MPa."""
    torque, outer, wall = 1500.0 * FOOT_POUND, 3.5 * INCH, 0.083 * INCH
    stress = shaft.torsion_stress(torque, outer, wall)
    assert stress == pytest.approx(83.46, abs=0.005)
    assert stress / PSI == pytest.approx(12105.0, abs=1.0)
    assert shaft.tube_section(outer, wall).polar_moment == pytest.approx(1.08316e6, rel=5e-6)
    turned = shaft.twist(torque, 45.0 * INCH, outer, wall, 79.3e3)
    assert np.degrees(turned) == pytest.approx(1.5506, abs=5e-5)
    assert shaft.torsion_stress(3500.0e3, 90.0, 3.32) == pytest.approx(92.61, abs=0.005)


def test_launch_torque_is_the_engine_or_the_tyre():
    """Closed form in units of a textbook: 1000 N.m x 1.9 x 1.8 = 3420 N.m; 2.0 x 9000 N x 0.4 m / 4 = 1800 N.m."""
    grip = shaft.grip_torque(2.0, 9000.0, 400.0, 4.0)
    assert grip == pytest.approx(1800.0e3)
    assert shaft.launch_torque(1000.0e3, 1.9, 1.8) == pytest.approx(3420.0e3)
    assert shaft.launch_torque(1000.0e3, 1.9, 1.8, grip, shock_factor=1.5) == pytest.approx(2700.0e3)
    many = shaft.launch_torque(np.array([200.0e3, 1000.0e3]), 1.9, 1.8, grip)
    assert many == pytest.approx([684.0e3, 1800.0e3])


# --- slip -------------------------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(900.0, 1200.0), st.floats(5.0, 40.0), st.floats(20.0, 100.0))
def test_slip_keeps_the_sum_of_exposure_and_engagement(distance, exposed, engaged):
    state = shaft.slip(distance, 1000.0, exposed, engaged)
    assert state.exposure + state.engagement == pytest.approx(exposed + engaged, abs=1e-9)
    assert state.exposure - exposed == pytest.approx(distance - 1000.0, abs=1e-9)


def test_slip_bottoms_and_comes_out():
    state = shaft.slip(np.array([970.0, 1000.0, 1090.0]), 1000.0, 22.0, 80.0)
    assert state.exposure == pytest.approx([-8.0, 22.0, 112.0])
    assert state.engagement == pytest.approx([110.0, 80.0, -10.0])


def test_many_shafts_equal_a_loop():
    outer, length = np.linspace(70.0, 105.0, 9), np.linspace(900.0, 1400.0, 6)[:, None]
    grid = shaft.critical_speed(outer, 2.5, length, **STEEL)
    assert grid.shape == (6, 9)
    for i, j in np.ndindex(6, 9):
        assert grid[i, j] == pytest.approx(shaft.critical_speed(outer[j], 2.5, length[i, 0], **STEEL), rel=1e-14)
