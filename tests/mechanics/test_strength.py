"""Strength screening against published tables and worked examples, exact closed forms and numerical integration."""
import numpy as np
import pytest
from closed_forms import rail_couple
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_bvp

from crankline.mechanics import beams, fasteners, shaft, strength, welds
from crankline.mechanics import mounts_load as loads

INCH, LBF, KSI = 25.4, 4.4482216152605, 6.894757293168361
KIP_PER_INCH = 1000.0 * LBF / INCH


# --- fasteners --------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("diameter, pitch, area, digits", [  # ISO 898-1 table, as printed
    (6, 1.0, 20.1, 0.05), (8, 1.25, 36.6, 0.05), (10, 1.5, 58.0, 0.05), (12, 1.75, 84.3, 0.05), (14, 2.0, 115.0, 0.5),
    (16, 2.0, 157.0, 0.5), (20, 2.5, 245.0, 0.5)])
def test_metric_stress_area(diameter, pitch, area, digits):
    assert fasteners.stress_area(diameter, pitch) == pytest.approx(area, abs=digits)


@pytest.mark.parametrize("diameter, threads, area", [  # A = 0.7854 (d - 0.9743 / n)^2, square inches
    (1 / 4, 20, .03182), (5 / 16, 18, .05243), (3 / 8, 16, .07749), (7 / 16, 14, .10631), (1 / 2, 13, .14190),
    (5 / 8, 11, .22600), (3 / 4, 10, .33446)])
def test_inch_stress_area(diameter, threads, area):
    found = fasteners.stress_area(diameter * INCH, INCH / threads, fasteners.INCH_FACTOR) / INCH**2
    assert found == pytest.approx(area, abs=1e-5)


@pytest.mark.parametrize("area, proof, load", [  # ISO 898-1 proof loads, N, printed to three digits
    (58.0, 580.0, 33_700), (58.0, 830.0, 48_100), (58.0, 970.0, 56_300),
    (84.3, 580.0, 48_900), (84.3, 830.0, 70_000), (84.3, 970.0, 81_800)])
def test_proof_load(area, proof, load):
    assert fasteners.proof_load(proof, area) == pytest.approx(load, abs=65)


@pytest.mark.parametrize("diameter, threads, clamp, torque", [  # published bolt torque table, SAE J429 grade 2, dry
    (3 / 8, 16, 3197.0, 20.0), (1 / 2, 13, 5853.0, 48.8)])
def test_clamp_load_and_torque(diameter, threads, clamp, torque):
    area = fasteners.stress_area(diameter * INCH, INCH / threads, fasteners.INCH_FACTOR)
    found = fasteners.clamp_load(55.0 * KSI, area)
    assert found / LBF == pytest.approx(clamp, abs=1.0)
    assert fasteners.tightening_torque(found, diameter * INCH) / (LBF * 12 * INCH) == pytest.approx(torque, abs=0.05)


M20 = {"4.6": fasteners.Bolt(20.0, 245.0, 225.0, 400.0), "8.8": fasteners.Bolt(20.0, 245.0, 600.0, 800.0)}


def test_bolt_resistances_of_published_eurocode_examples():
    # Published sheet for one M20 4.6: F_v,Rd 47.04 kN, F_t,Rd 70.56 kN. Published example and steel maker's table for M20
    # 8.8: 94.08 kN single, 188 kN double shear.
    assert fasteners.shear_resistance(M20["4.6"]) == pytest.approx(47_040.0)
    assert fasteners.tension_resistance(M20["4.6"]) == pytest.approx(70_560.0)
    assert fasteners.shear_resistance(M20["8.8"]) == pytest.approx(94_080.0)
    assert fasteners.shear_resistance(M20["8.8"], planes=2) == pytest.approx(188_000.0, abs=500.0)


def test_bearing_of_a_published_example():
    # The same sheet: e1 = e2 = 1.2 d0 = 26.4, t 8, d 20, d0 22; it enters 400 MPa and prints 33.997 kN (k1 1.66, alpha .4).
    found = fasteners.bearing_resistance(20.0, 8.0, 22.0, 26.4, 26.4, 400.0, 400.0)
    assert found == pytest.approx(33_997.0, abs=1.0)
    assert fasteners.least_edge_distance(22.0) == pytest.approx(26.4)
    # Ample edges: 2.5 f_u d t / gamma; no edge at all: nothing.
    assert fasteners.bearing_resistance(20.0, 8.0, 22.0, 200.0, 200.0, 400.0) == pytest.approx(2.5 * 400 * 160 / 1.25)
    assert fasteners.bearing_resistance(20.0, 8.0, 22.0, 26.4, 5.0, 400.0) == 0.0


def test_shear_factor_of_high_strength_bolts():
    # EN 1993-1-8 table 3.4: 0.5 for 10.9 with the thread in the plane, 0.6 through the shank of any grade.
    assert fasteners.shear_factor([800.0, 1000.0, 1040.0]).tolist() == [0.6, 0.5, 0.5]
    assert fasteners.shear_factor([800.0, 1040.0], False).tolist() == [0.6, 0.6]
    shank = fasteners.Bolt(10.0, 58.0, 830.0, 1040.0, threads_in_shear=False)
    assert fasteners.shear_resistance(shank) == pytest.approx(0.6 * 1040.0 * np.pi * 25.0 / 1.25)


def test_interaction_of_shear_and_tension():
    bolt = M20["8.8"]
    v, t = fasteners.shear_resistance(bolt), fasteners.tension_resistance(bolt)
    assert fasteners.utilisation(v, 0.0, bolt) == pytest.approx(1.0)
    assert fasteners.utilisation(0.0, t, bolt) == pytest.approx(1.0)
    assert fasteners.utilisation(v * (1.0 - 0.5 / 1.4), 0.5 * t, bolt) == pytest.approx(1.0)
    assert fasteners.utilisation([v, v], [0.0, t], bolt, planes=2) == pytest.approx([0.5, 0.5 + 1.0 / 1.4])


def test_a_published_bolt_group_under_an_eccentric_load():
    """Published exercise: four bolts at (+-40, +-30), 10 kN at 100 mm: 2.5 kN direct and 5 kN of torsion make 7.16 kN."""
    places = [(40.0, 30.0), (40.0, -30.0), (-40.0, 30.0), (-40.0, -30.0)]
    shear, pull = fasteners.group_forces(places, 10.0, [0.0, 10_000.0, 0.0], [0.0, 0.0, 10_000.0 * 100.0])
    assert shear == pytest.approx(7160.0, abs=5.0) and pull == 0.0
    # The same by the place of the load, wherever the origin lies.
    moved = [(u + 7.0, v - 3.0) for u, v in places]
    assert fasteners.group_forces(moved, 10.0, [0.0, 10_000.0, 0.0], [0.0, 0.0, 10_000.0 * 107.0])[0] == pytest.approx(float(shear))


def test_a_bracket_tips_about_its_lower_edge():
    """Textbook wall bracket (Khurmi, from memory): 12 kN at 400 mm, bolts 50 and 375 mm over the lower edge, two in each row:
    W L L2 / 2 (L1^2 + L2^2) = 6.29 kN."""
    places = [(u, v) for u in (-50.0, 50.0) for v in (50.0, 375.0)]
    # v up, normal off the wall: the load at 400 mm from it, pointing down, lifts the upper bolts (about +u).
    moment = np.cross([0.0, 0.0, 400.0], [0.0, -12_000.0, 0.0])
    shear, pull = fasteners.group_forces(places, 50.0, [0.0, -12_000.0, 0.0], moment)
    assert pull == pytest.approx(6290.0, abs=5.0)
    assert fasteners.group_forces(places, 50.0, [0.0, 12_000.0, 0.0], -moment)[1] == pytest.approx(6290.0, abs=5.0)
    # A pull in the middle of the bolts is shared and adds up, a press there does not help.
    for along, added in ((4000.0, 1000.0), (-4000.0, 0.0)):
        both = moment + np.cross([0.0, 212.5, 0.0], [0.0, 0.0, along])
        assert fasteners.group_forces(places, 50.0, [0.0, -12_000.0, along], both)[1] == pytest.approx(float(pull) + added)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(-80.0, 80.0), min_size=8, max_size=8), st.lists(st.floats(-5e3, 5e3), min_size=3, max_size=3))
def test_bolt_forces_balance_what_they_hold(places, moment):
    """About one axis the pulls of a rigid plate, in proportion to their distance from its edge, make up the moment about that edge."""
    places = np.reshape(places, (4, 2))
    if np.ptp(places[:, 1]) < 1.0:
        return
    tipping = abs(moment[0]) * 50.0
    _shear, pull = fasteners.group_forces(places, 12.0, np.zeros(3), np.array([tipping, 0.0, 0.0]))
    arm = places[:, 1] - places[:, 1].min() + 12.0
    pulls = pull * arm / arm.max()
    assert (pulls * arm).sum() == pytest.approx(tipping)


def test_one_bolt_alone():
    shear, pull = fasteners.group_forces([(0.0, 0.0)], 15.0, [300.0, 400.0, 100.0], [3000.0, 0.0, 1e6])
    assert shear == pytest.approx(500.0) and pull == pytest.approx(100.0 + 3000.0 / 15.0)


def test_stripping_of_a_published_example():
    """Published calculator, FED-STD-H28 model: M10 x 1.5 of 830 MPa in 6061-T6 of 310 MPa asks for about 9.4 mm."""
    load = 830.0 * fasteners.stress_area(10.0, 1.5)
    per_mm = fasteners.strip_resistance(10.0, 1.0, 310.0, gamma=1.0)
    assert load / per_mm == pytest.approx(9.4, abs=0.05)
    assert fasteners.strip_resistance(10.0, 15.0, 310.0) == pytest.approx(15.0 * per_mm / 1.25)


# --- welds ------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("filler, per_inch", [(60, 12.73), (70, 14.85), (80, 16.97), (90, 19.09), (110, 23.33)])
def test_allowable_force_of_published_fillet_table(filler, per_inch):
    # Kip per inch for a leg of 1 in, machine-design table after Lincoln D412.
    assert welds.allowable_force(filler * KSI, INCH) / KIP_PER_INCH == pytest.approx(per_inch, abs=0.006)


@pytest.mark.parametrize("leg, per_inch", [(1 / 8, 1.86), (3 / 16, 2.78), (1 / 4, 3.71), (5 / 16, 4.64), (3 / 8, 5.57),
                                           (1 / 2, 7.42)])
def test_allowable_force_of_e70_legs(leg, per_inch):
    assert welds.allowable_force(70.0 * KSI, leg * INCH) / KIP_PER_INCH == pytest.approx(per_inch, abs=0.0055)


def test_published_fillet_examples():
    # 3/8 in E70, 4 in long: 5.57 x 4 = 22.28 kip.
    assert welds.allowable_force(70.0 * KSI, 3 / 8 * INCH) * 4 * INCH / (1000 * LBF) == pytest.approx(22.28, abs=0.02)


def test_flare_groove_of_a_published_example():
    # AWS 5/16 R, filled flush: R = 2 x 3/8 in gives 0.234 in.
    assert welds.flare_throat(0.75 * INCH) / INCH == pytest.approx(0.234, abs=5e-4)


def test_least_leg_table():
    assert welds.least_leg([4.0, 6.0, 6.5, 12.0, 19.0, 25.0]).tolist() == [3.0, 3.0, 5.0, 5.0, 6.0, 8.0]


def test_weld_groups_as_lines_closed_forms():
    # Design of Welded Structures: pair b apart, length d: S_w = d^2/3, J_w = d (3 b^2 + d^2)/6; box: S_w = bd + d^2/3,
    # J_w = (b + d)^3/6; circle: S_w = pi d^2/4, J_w = pi d^3/4.
    b, d = 30.0, 70.0
    two = welds.line_properties(welds.pair(b, d))
    assert two.length == 2 * d and two.polar == pytest.approx(d * (3 * b**2 + d**2) / 6)
    assert two.i_v / (d / 2) == pytest.approx(d**2 / 3)
    around = welds.line_properties(welds.box(b, d))
    assert around.polar == pytest.approx((b + d) ** 3 / 6) and around.i_u / (d / 2) == pytest.approx(b * d + d**2 / 3)
    angle = np.linspace(0.0, 2 * np.pi, 2001)
    rim = 0.5 * d * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    ring = welds.line_properties(np.stack([rim[:-1], rim[1:]], axis=1))
    modulus, polar = welds.circle_modulus(d)
    assert ring.i_u / (d / 2) == pytest.approx(modulus, rel=1e-5) and ring.polar == pytest.approx(polar, rel=1e-5)


coordinates = st.floats(-100.0, 100.0)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(coordinates, coordinates, coordinates, coordinates), min_size=1, max_size=4))
def test_line_properties_by_numerical_integration(lines):
    segments = np.array(lines).reshape(-1, 2, 2)
    lengths = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=-1)
    if lengths.min() < 1.0:
        return
    found = welds.line_properties(segments)

    def integral(quantity):
        return sum(length * quad(lambda s, a=a, b=b: quantity(*(a + s * (b - a))), 0.0, 1.0)[0]
                   for (a, b), length in zip(segments, lengths))

    u0, v0 = integral(lambda u, v: u) / lengths.sum(), integral(lambda u, v: v) / lengths.sum()
    assert found.centroid == pytest.approx([u0, v0], abs=1e-9)
    scale = 1e-9 * (1.0 + found.polar)
    assert found.i_u == pytest.approx(integral(lambda u, v: (v - v0) ** 2), abs=scale)
    assert found.i_v == pytest.approx(integral(lambda u, v: (u - u0) ** 2), abs=scale)
    assert found.i_uv == pytest.approx(integral(lambda u, v: (u - u0) * (v - v0)), abs=scale)


def test_eccentric_weld_group_of_a_published_example():
    # Elastic vector method: two upright 200 mm lines 100 mm apart, 50 kN upright at 150 mm: J 2.333e6 mm3, direct 125,
    # from the moment 321.43 and 160.71, together 430.06 N/mm.
    group = np.array([[[-50.0, -100.0], [-50.0, 100.0]], [[50.0, -100.0], [50.0, 100.0]]])
    assert welds.line_properties(group).polar == pytest.approx(2.333e6, abs=500.0)
    found = welds.peak_line_force(group, [0.0, 50e3, 0.0], [0.0, 0.0, 7.5e6])
    assert found == pytest.approx(430.06, abs=0.01)


def test_weld_round_a_tube_by_numerical_integration():
    # Per length q at angle a: bending q = M cos(a) / S_w must give back M, torque T / (2 pi r^2) must give back T.
    d = 31.75
    bending = welds.tube_weld_force(d, 0.0, 0.0, 1e5)
    assert quad(lambda a: bending * np.cos(a) * 0.5 * d * np.cos(a) * 0.5 * d, 0.0, 2 * np.pi)[0] == pytest.approx(1e5)
    torsion = welds.tube_weld_force(d, 0.0, 0.0, 0.0, 1e5)
    assert torsion * np.pi * d * 0.5 * d == pytest.approx(1e5)
    # Thin ring in shear: q = 2 V sin(a) / (pi d), whose parts along V add up to V.
    shear = welds.tube_weld_force(d, 0.0, 1000.0, 0.0)
    assert quad(lambda a: shear * np.sin(a) ** 2 * 0.5 * d, 0.0, 2 * np.pi)[0] == pytest.approx(1000.0)
    assert welds.tube_weld_force(d, -500.0, 0.0, 0.0) == pytest.approx(500.0 / np.pi / d)


def test_line_forces_integrate_to_the_load():
    """An unsymmetrical group: the field whose peak is reported must balance the load exactly."""
    group = np.array([[[0.0, 0.0], [80.0, 10.0]], [[0.0, 0.0], [15.0, 55.0]], [[80.0, 10.0], [90.0, -20.0]]])
    force, moment = np.array([300.0, -500.0, 900.0]), np.array([4e4, -2.5e4, 6e4])
    properties = welds.line_properties(group)

    # The same field from its definition, by least squares on an independent fine subdivision.
    t = (np.arange(400) + 0.5) / 400
    points = np.concatenate([a + t[:, None] * (b - a) for a, b in group]) - properties.centroid
    weight = np.concatenate([np.full(400, np.linalg.norm(b - a) / 400) for a, b in group])
    basis = np.stack([np.ones(len(points)), points[:, 0], points[:, 1]], axis=-1)
    gram = (basis * weight[:, None]).T @ basis
    normal = basis @ np.linalg.solve(gram, [force[2], -moment[1], moment[0]])
    assert (weight * normal).sum() == pytest.approx(force[2])
    assert (weight * normal * points[:, 1]).sum() == pytest.approx(moment[0])  # v x normal force turns about u
    in_plane = force[:2] / properties.length + moment[2] / properties.polar * np.stack([-points[:, 1], points[:, 0]], -1)
    assert (weight * (points[:, 0] * in_plane[:, 1] - points[:, 1] * in_plane[:, 0])).sum() == pytest.approx(moment[2], rel=1e-4)
    peak = np.sqrt(normal**2 + (in_plane**2).sum(axis=-1)).max()
    assert welds.peak_line_force(group, force, moment) == pytest.approx(peak, rel=5e-3)
    assert welds.peak_line_force(group, force, moment) > peak  # the ends, not the middles of the subdivision


def test_one_straight_line_holds_no_moment_about_itself():
    line = [[[-20.0, 0.0], [20.0, 0.0]]]
    # About the plane's other axis it does: S = d^2/6, 1e4 / (1600/6) = 37.5 N/mm.
    assert welds.peak_line_force(line, np.zeros(3), [0.0, 1e4, 0.0]) == pytest.approx(37.5)
    with pytest.raises(ValueError, match="both sides"):
        welds.peak_line_force(line, np.zeros(3), [1e4, 0.0, 0.0])
    with pytest.raises(ValueError, match="no length"):
        welds.line_properties([[[1.0, 1.0], [1.0, 1.0]]])


# --- beams ------------------------------------------------------------------------------------------------------------

def test_simple_beam_closed_forms():
    # Midspan force: F L/4; two forces at the thirds: F L/3 (any beam table).
    assert beams.simple_beam(900.0, 450.0, [1000.0]).moment == pytest.approx(1000 * 900 / 4)
    thirds = beams.simple_beam(900.0, [300.0, 600.0], [1000.0, 1000.0])
    assert thirds.moment == pytest.approx(1000 * 300) and thirds.reactions == pytest.approx([1000.0, 1000.0])
    with pytest.raises(ValueError, match="off the span"):
        beams.simple_beam(900.0, 901.0, [1.0])


def test_simple_beam_station_by_station():
    span, positions, forces = 700.0, np.array([120.0, 300.0, 610.0]), np.array([900.0, -1500.0, 700.0])
    found = beams.simple_beam(span, positions, forces)

    def moment(x):
        left = (forces * (span - positions)).sum() / span
        return left * x - (forces * np.maximum(x[..., None] - positions, 0.0)).sum(axis=-1)

    grid = np.linspace(0.0, span, 7001)
    assert found.moment == pytest.approx(np.abs(moment(grid)).max(), rel=1e-9)


def test_clamped_strip_by_numerical_integration():
    # Two 6.35 mm strips of 6061 as one clamped beam under a midspan force: 192 E I / L^3, and the plate factor.
    modulus, poisson, thickness, width, span = 69e3, 0.33, 6.35, 250.0, 180.0
    found = beams.strip_stiffness(modulus, poisson, thickness, width, span)
    bending = modulus * width * thickness**3 / 12.0
    assert 2.0 * found.normal == pytest.approx(192.0 * bending / (2 * span) ** 3 / (1 - poisson**2))
    # w'''' = 0, w = w' = 0 at the rail, w' = 0 and unit shear at the bolt pattern.
    stiffness = bending / (1 - poisson**2)
    solution = solve_bvp(lambda x, y: np.stack([y[1], y[2], y[3], 0 * x]),
                         lambda a, b: np.array([a[0], a[1], b[1], b[3] + 1.0 / stiffness]),
                         np.linspace(0.0, span, 101), np.zeros((4, 101)), tol=1e-10)
    assert 1.0 / solution.y[0, -1] == pytest.approx(found.normal, rel=1e-6)
    assert abs(solution.y[2, 0]) * stiffness == pytest.approx(span / 2.0, rel=1e-6)  # end moment of a unit force
    assert beams.strip_stress(1.0, thickness, width, span) == pytest.approx(span / 2 / (width * thickness**2 / 6))
    # A slender strip bends (12 E I / L^3 across), a stocky one shears (5/6 G A / L).
    slender = beams.strip_stiffness(modulus, poisson, 6.0, 10.0, 1000.0).across
    assert slender == pytest.approx(12 * modulus * 6.0 * 10.0**3 / 12 / 1000.0**3, rel=1e-3)
    stocky = beams.strip_stiffness(modulus, poisson, 6.0, 1000.0, 10.0).across
    assert stocky == pytest.approx(5 / 6 * modulus / 2 / (1 + poisson) * 6.0 * 1000.0 / 10.0, rel=1e-3)


def test_tube_modulus():
    # 1-1/4 x .065 in: I .04260 in4 (published section table).
    assert beams.tube_modulus(1.25 * INCH, 0.065 * INCH) / INCH**3 == pytest.approx(0.04260 * 2 / 1.25, rel=2e-4)


def test_columns_of_published_examples():
    """Machine design solutions, C1020 of 48 ksi, E 30e6 psi, 30 kip at failure: 1.096 in for 25 in (Johnson), 1.507 in for 50 in (Euler).
    Textbook tube of 75 and 70 mm radius, 7.2 m long, E 200 GPa, 250 MPa: 228.2 kN."""
    for diameter, length in ((1.096, 25.0), (1.507, 50.0)):
        area, second = np.pi / 4 * diameter**2, np.pi / 64 * diameter**4
        assert beams.column_load(30e3, second, area, 48.0, length) == pytest.approx(30.0, rel=3e-3)
    tube = beams.Bar(150.0, 5.0, 7200.0, 250.0)
    assert tube.column() == pytest.approx(228.2e3, rel=1e-3)
    # A mast is a column of twice its length; both formulas meet at half the yield strength, with one tangent.
    assert tube.column(2.0) == pytest.approx(tube.column() / 4.0)
    change = np.pi * np.sqrt(2 * 200e3 / 250.0)
    near = beams.column_load(200e3, 1.0, 1.0, 250.0, change * np.array([1 - 1e-6, 1 + 1e-6]))
    assert near == pytest.approx([125.0, 125.0], rel=1e-5)
    slopes = [np.diff(beams.column_load(200e3, 1.0, 1.0, 250.0, change * np.array([a, a + 1e-4])))[0] for a in (0.9999, 1.0001)]
    assert slopes[0] == pytest.approx(slopes[1], rel=1e-3)


def test_cross_drilled_tube_by_numerical_integration():
    outer, wall, hole = 25.4, 2.1, 10.0
    inner = outer / 2 - wall
    half = np.arcsin(hole / 2 / inner)

    def ring(f):
        parts = [quad(lambda a: quad(lambda r: f(r * np.cos(a), r * np.sin(a)) * r, inner, outer / 2)[0], low, low + np.pi - 2 * half)[0]
                 for low in (-np.pi / 2 + half, np.pi / 2 + half)]
        return sum(parts)

    # The hole runs along v: what is left lies between the sectors at +-v.
    area, square, own = beams.tube_net_section(outer, wall, hole)
    assert area == pytest.approx(ring(lambda u, v: 1.0))
    assert square == pytest.approx(ring(lambda u, v: v * v) / (outer / 2 * np.cos(half)))
    assert own == pytest.approx(ring(lambda u, v: u * u) / (outer / 2))
    whole = beams.tube_net_section(outer, wall, 0.0)
    assert whole[1:] == pytest.approx([beams.tube_modulus(outer, wall)] * 2)
    assert beams.tube_net_section(outer, wall, 40.0)[:2] == pytest.approx((0.0, 0.0), abs=1e-9)


def test_flanged_tab_by_numerical_integration():
    width, thick, flange = 89.0, 4.76, 19.0
    found = beams.flanged(width, thick, flange)
    z = (np.arange(200_000) + 0.5) / 200_000 * (thick + flange)
    wide = np.where(z < thick, width, 2 * thick)
    dz = z[1] - z[0]
    area = wide.sum() * dz
    center = (wide * z).sum() * dz / area
    weak = (wide * (z - center) ** 2).sum() * dz
    assert found.area == pytest.approx(area, rel=1e-4) and found.weak == pytest.approx(weak, rel=1e-4)
    assert found.weak_modulus == pytest.approx(weak / (thick + flange - center), rel=1e-4)
    flat = beams.flanged(60.0, 5.0, holes=20.0)
    assert (flat.area, flat.weak_modulus) == pytest.approx((200.0, 40.0 * 25.0 / 6)) and flat.torsion == pytest.approx(40.0 * 125.0 / 3)


def test_clamped_ends_by_numerical_integration():
    span, positions, forces = 700.0, np.array([120.0, 300.0]), np.array([900.0, -1500.0])
    found = beams.fixed_end_moments(span, positions, forces)
    # M(x) = left x - m0 - sum F <x - a>, no turn and no sag at both ends: integrals of M and M x vanish.
    x = np.linspace(0.0, span, 70_001)
    loads_ = (forces * np.maximum(x[:, None] - positions, 0.0)).sum(axis=-1)

    def trapezoid(y):
        return float(((y[1:] + y[:-1]) / 2 * np.diff(x)).sum())

    system = np.array([[trapezoid(x), -span], [trapezoid(x * x), -trapezoid(x)]])
    left, start = np.linalg.solve(system, [trapezoid(loads_), trapezoid(loads_ * x)])
    assert found[0] == pytest.approx(start, rel=1e-6)
    assert -found[1] == pytest.approx(left * span - start - (forces * (span - positions)).sum(), rel=1e-6)
    assert beams.fixed_end_moments(800.0, 400.0, [1000.0]) == pytest.approx([1000 * 800 / 8] * 2)


# --- loads ------------------------------------------------------------------------------------------------------------

def test_standard_rotation_lifts_the_left_side():
    # 1,000 N.m between rails 500 mm apart is a couple of 2,000 N.
    assert rail_couple(1e6, 500.0).tolist() == [2000.0, -2000.0]
    moment = loads.reaction_torque(1e6)
    # A mount 250 mm to the left carries an upward force: r x F of the couple is the moment.
    couple = np.cross([0.0, 250.0, 0.0], [0.0, 0.0, 2000.0]) + np.cross([0.0, -250.0, 0.0], [0.0, 0.0, -2000.0])
    np.testing.assert_allclose(moment, couple)
    assert loads.reaction_torque(1e6, clockwise=False)[0] < 0.0


def spring(name, point, stiffness):
    return loads.Spring(name, point, np.diag(stiffness))


SUPPORTS = [spring(name, point, (500.0, 2e4, 2e4)) for name, point in (
    ("front left", (2700.0, 230.0, 150.0)), ("front right", (2700.0, -230.0, 150.0)),
    ("mid left", (2120.0, 340.0, 130.0)), ("mid right", (2120.0, -340.0, 130.0)))]
SUPPORTS.append(spring("tail", (1570.0, 0.0, 140.0), (50.0, 2e3, 5e3)))


def test_launch_torque_between_two_rails_is_the_couple():
    pair = [spring("left", (0.0, 250.0, 0.0), (1.0, 1.0, 1.0)), spring("right", (0.0, -250.0, 0.0), (1.0,) * 3),
            spring("tail", (-500.0, 0.0, 0.0), (1.0,) * 3)]
    forces = loads.shares(pair, np.zeros(3), loads.reaction_torque(1e6))
    np.testing.assert_allclose(forces[:2, 2], rail_couple(1e6, 500.0), rtol=1e-12)
    np.testing.assert_allclose(forces[2], 0.0, atol=1e-9)


def test_weight_on_three_supports_is_statics():
    """Three supports under a vertical load: statics alone decides, whatever the stiffness."""
    points = [(1000.0, 300.0, 0.0), (1000.0, -300.0, 0.0), (0.0, 0.0, 0.0)]
    supports = [spring(str(i), point, (3.0 + i, 2.0, 9.0 - 4 * i)) for i, point in enumerate(points)]
    cg, force = np.array([700.0, 50.0, 0.0]), np.array([0.0, 0.0, -4000.0])
    found = loads.shares(supports, force, np.cross(cg, force))[:, 2]
    # About the tail: 700/1000 on the front pair; about X: the pair differs by 4000 x 50 / 300.
    both, difference = -4000.0 * 0.7, -4000.0 * 50.0 / 300.0
    assert found == pytest.approx([(both + difference) / 2, (both - difference) / 2, -4000.0 * 0.3])


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-2e4, 2e4), min_size=6, max_size=6), st.lists(st.floats(10.0, 1e5), min_size=15, max_size=15))
def test_shares_balance_the_load(load, stiffness):
    supports = [spring(s.name, s.point, k) for s, k in zip(SUPPORTS, np.reshape(stiffness, (5, 3)))]
    force, moment = np.array(load[:3]), np.array(load[3:]) * 500.0
    found = loads.shares(supports, force, moment)
    np.testing.assert_allclose(found.sum(axis=0), force, atol=1e-5)
    points = np.array([support.point for support in supports])
    np.testing.assert_allclose(np.cross(points, found).sum(axis=0), moment, atol=1e-2)


def test_case_loads():
    force, moment = loads.case_loads(400.0, (2300.0, 0.0, 300.0), 2e6)
    names = [case.name for case in loads.ASSUMED_CASES]
    weight = 400.0 * 9.80665
    launch = names.index("launch")
    assert force[launch] == pytest.approx([-3.0 * weight, 0.0, -weight])  # pushed back in the car, and down
    # About the origin: 2300 mm ahead and down raises the tail (+Y), 300 mm up and rearward lowers it; torque lifts the left.
    assert moment[launch] == pytest.approx([2e6, 2300.0 * weight - 300.0 * 3.0 * weight, 0.0])
    assert force[names.index("landing")] == pytest.approx([0.0, 0.0, -5.0 * weight])


def test_supports_that_leave_a_motion_free_are_refused():
    with pytest.raises(ValueError, match="motion of the powertrain that no mount holds"):
        loads.shares(SUPPORTS[:1], np.zeros(3), np.ones(3))
    with pytest.raises(ValueError, match="stiffness below 0"):
        loads.shares([*SUPPORTS, spring("a", (0.0, 0.0, 0.0), (-1.0, 1.0, 1.0))], np.zeros(3), np.ones(3))
    with pytest.raises(ValueError, match="not finite"):
        loads.shares([*SUPPORTS, spring("a", (0.0, 0.0, 0.0), (np.nan, 1.0, 1.0))], np.zeros(3), np.ones(3))


def test_launch_torque_is_capped_by_grip():
    # Demo A (invented): 980 lbf.ft x 1.90 x 1.80; grip: 2.5 x 8 kN x 16 in / 4.10 is less.
    engine = 980 * LBF * 12 * INCH
    grip = shaft.grip_torque(2.5, 8000.0, 16.0 * INCH, 4.10)
    assert shaft.launch_torque(engine, 1.90, 1.80, grip, 1.5) == pytest.approx(1.5 * 2.5 * 8000 * 406.4 / 4.10)
    assert shaft.launch_torque(engine, 1.90, 1.80) == pytest.approx(980 * 1.9 * 1.8 * 1355.818, rel=1e-6)


# --- screening --------------------------------------------------------------------------------------------------------

THREE_EIGHTHS = fasteners.Bolt(9.525, fasteners.stress_area(9.525, INCH / 16, fasteners.INCH_FACTOR), 120 * KSI, 150 * KSI)
MOUNT = strength.RailMount(
    bolt=THREE_EIGHTHS, bolts=2, tabs=2, hole=0.406 * INCH, edge_distance=0.75 * INCH, plate_thickness=6.35,
    plate_ultimate=290.0, tab_thickness=4.76, tab_width=44.45, tab_yield=414.0, tab_ultimate=621.0, bolt_height=40.0,
    weld_leg=3.0, filler_strength=70 * KSI)


def by_item(margins):
    return {found.item.split(": ")[-1]: found for found in margins}


def test_rail_mount_by_hand():
    force = np.array([[1000.0, 0.0, 6000.0], [-4000.0, 300.0, 400.0]])
    found = by_item(strength.rail_mount("mid left", ("launch", "braking"), force, MOUNT))
    # Launch: 3,000 N a bolt in double shear, 500 N of tension. Shear 0.5 x 1034 x 50.0 x 2 / 1.25 (thread in the plane).
    shear = 0.5 * 150 * KSI * THREE_EIGHTHS.stress_area / 1.25 * 2
    tension = 0.9 * 150 * KSI * THREE_EIGHTHS.stress_area / 1.25
    used = [3000 / shear + 500 / tension / 1.4, 250 / shear + 2000 / tension / 1.4]
    assert found["bolts"].actual == pytest.approx(max(used), rel=1e-9) and found["bolts"].case == "launch"
    assert found["bolts"].margin == pytest.approx(1 / max(used) - 1)
    # Braking bends the two tabs: 2,000 N x 40 mm over 44.45 x 4.76^2 / 6 each, and 150 N sideways, 200 N up.
    bending = (2000 * 40 / (44.45 * 4.76**2 / 6) + 150 * 40 / (4.76 * 44.45**2 / 6) + 200 / (44.45 * 4.76))
    assert found["tab bending"].case == "braking" and found["tab bending"].actual == pytest.approx(bending)
    assert found["tab bending"].allowable == pytest.approx(414.0 / 1.5)
    # Each of the two tabs' welds holds half of it; E70 on a 3 mm leg: 0.3 x 70 ksi x 0.707 x 3.
    assert found["tab welds"].actual == pytest.approx(strength.tab_weld_force([-2000.0, 150.0, 200.0], 40.0, 44.45, 4.76))
    assert found["tab welds"].allowable == pytest.approx(0.3 * 482.633 * 0.707 * 3.0, rel=1e-5)
    assert found["plate bearing"].actual == pytest.approx(3000.0)
    assert found["tab bearing"].actual == pytest.approx(1500.0)
    assert found["edge distance"].margin == pytest.approx(0.75 / (1.2 * 0.406) - 1)


def test_tab_weld_by_hand():
    # X alone: the two lines, t apart, hold F h as a couple and F as shear: hypot(F / 2w, F h / (t w)).
    found = strength.tab_weld_force([2000.0, 0.0, 0.0], 40.0, 44.45, 4.76)
    assert found == pytest.approx(np.hypot(2000 / 2 / 44.45, 2000 * 40 / 4.76 / 44.45))
    # Y alone: S_w = w^2/3 of the pair.
    found = strength.tab_weld_force([0.0, 500.0, 0.0], 40.0, 44.45, 4.76)
    assert found == pytest.approx(np.hypot(500 / 2 / 44.45, 500 * 40 / (44.45**2 / 3)))
    # X pushes the far line down, Z pulls both up: their difference decides, whatever the signs.
    assert strength.tab_weld_force([2000.0, 0.0, 900.0], 40.0, 44.45, 4.76) == pytest.approx(
        strength.tab_weld_force([-2000.0, 0.0, 900.0], 40.0, 44.45, 4.76))


def test_cross_bolt_by_hand():
    force = np.array([[3000.0, 999.0, -4000.0]])
    found = by_item(use.worst(("launch",)).margin for use in strength.cross_bolt(
        "cross_bolt", ("receiver",), (0.0, 0.0, 0.0), "transmission mount: cross bolt", force, THREE_EIGHTHS, 4.76, 0.5, 40.0))
    assert found["cross bolt shear"].actual == pytest.approx(5000.0)
    assert found["cross bolt shear"].allowable == pytest.approx(0.5 * 150 * KSI * THREE_EIGHTHS.stress_area / 1.25 * 2)
    # EN 1993-1-8 clause 3.13: M = F/8 (b + 4c + 2a), a lug, b middle plate, c gap.
    assert found["cross bolt bending"].actual == pytest.approx(5000.0 / 8 * (40.0 + 4 * 0.5 + 2 * 4.76))
    shear, bending, both = (found[f"cross bolt {word}"] for word in ("shear", "bending", "shear with bending"))
    assert both.actual == pytest.approx(np.hypot(shear.actual / shear.allowable, bending.actual / bending.allowable))


def test_support_tube_by_hand():
    # Two tie tabs at the quarter points of 700 mm: M = F L/4, X and Z as vectors.
    moment = beams.simple_beam(700.0, [175.0, 525.0], [[[300.0, 300.0]], [[400.0, 400.0]]]).moment
    found = strength.tube_beam("support tube", ("launch",), moment, 31.75, 1.651, 414.0)
    assert found.actual == pytest.approx(500.0 * 175.0 / beams.tube_modulus(31.75, 1.651))
    assert found.margin == pytest.approx(414.0 / 1.5 / found.actual - 1)


def test_thin_plate_asks_for_a_strut_and_a_thick_one_does_not():
    # Invented: 6061 strips 300 wide and 120 long. 400 kg x 3 g over two strips a side.
    force = [400.0 * 9.80665 * 3.0]
    thin, thick = (strength.plate_fore_aft("front plate", ("launch",), force, 69e3, 0.33, 276.0, thickness, 300.0, 120.0)
                   for thickness in (4.76, 12.7))
    assert min(one.margin for one in thin) < 0.0 < min(one.margin for one in thick)
    moved = force[0] / 2 / (69e3 * 4.76**3 * 300.0 / (1 - 0.33**2) / 120.0**3)
    assert thin[0].actual == pytest.approx(moved)


def test_worst_keeps_each_item_once_and_nothing_hides_a_nan():
    margins = [strength.margin("a", ("x", "y"), [1.0, 4.0], 8.0, "N", ""), strength.margin("a", ("z",), 5.0, 8.0, "N", ""),
               strength.margin("b", ("x",), 0.0, 8.0, "N", "")]
    kept = strength.worst(margins)
    assert [(m.item, m.case) for m in kept] == [("a", "z"), ("b", "x")]
    assert kept[0].margin == pytest.approx(0.6) and kept[1].margin == np.inf
    lost = strength.margin("c", ("x", "y"), [1.0, float("nan")], 8.0, "N", "")
    assert np.isnan(lost.margin)


def test_whole_chain_on_demo_numbers():
    """Loads to mounts to margins: linear in the load, and the left rail takes the lift of a standard engine."""
    force, moment = loads.case_loads(410.0, (2250.0, 0.0, 330.0), 3e6)
    forces = loads.shares(SUPPORTS, force, moment)
    names = [case.name for case in loads.ASSUMED_CASES]
    launch = names.index("launch")
    assert forces[launch, 2, 2] > forces[launch, 3, 2]  # mid plate, left over right
    # Screening is about right only if loads double when everything doubles.
    single = strength.rail_mount("mid left", names, forces[:, 2], MOUNT)
    double = strength.rail_mount("mid left", names, 2.0 * forces[:, 2], MOUNT)
    for one, two in zip(single[:5], double[:5]):
        assert two.actual == pytest.approx(2.0 * one.actual) and two.case == one.case


@pytest.mark.parametrize("actual, allowable, case, worst", [
    ([1.0, 4.0, 2.0], 8.0, "b", (4.0, 8.0, 1.0)), (2.0, [8.0, 4.0, 3.0], "c", (2.0, 3.0, 0.5)),
    ([1.0, 4.0, 2.0], [8.0, 8.0, 3.0], "c", (2.0, 3.0, 0.5)), (0.0, 8.0, "a", (0.0, 8.0, np.inf))])
def test_the_worst_case_is_told_with_its_own_actual_and_allowable(actual, allowable, case, worst):
    found = strength.margin("part", ("a", "b", "c"), actual, allowable, "N", "")
    assert found.case == case and (found.actual, found.allowable, found.margin) == pytest.approx(worst)
