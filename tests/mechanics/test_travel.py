"""The driveshaft over travel: positions against SciPy's solvers, clearances against sampled surfaces and closed forms."""
from dataclasses import replace

import numpy as np
import pytest
import swept
from closed_forms import opening_of, sweep_all
from conftest import ROOT
from scipy.optimize import brentq, minimize_scalar, root

from crankline import carfile, model
from crankline.mechanics import scene as scenes
from crankline.mechanics import travel

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")


@pytest.fixture(scope="module")
def cars():
    read = {name: carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml") for name in CARS}
    return {name: (car, scenes.of(car)) for name, car in read.items()}


def solved(car, scene, lift):
    """(rear joint, slip into the transmission) at a travel, from the distances that links and shaft keep, by SciPy."""
    suspension, height = car.rear_end.suspension, scene.chassis.rear_tire.loaded_radius
    joint = scene.rear_joint - [0.0, 0.0, height]

    def housing(unknown, point):
        x, turn = unknown
        c, s = np.cos(turn), np.sin(turn)
        dx, dz = point[0], point[1] - height
        return np.array([x + c * dx + s * dz, height + lift - s * dx + c * dz])

    if suspension.kind == "four_link":
        pairs = [((link.axle.x, link.axle.z), (link.chassis.x, link.chassis.z)) for link in (suspension.lower, suspension.upper)]
    else:                                   # the bar keeps two distances: pivot to axle, pivot to a point over the axle
        pivot = (suspension.pivot.x, suspension.pivot.z)
        pairs = [((0.0, height), pivot), ((0.0, height + 200.0), pivot)]
    squares = [np.sum(np.subtract(a, b) ** 2) for a, b in pairs]
    found = root(lambda u: [(np.sum((housing(u, a) - b) ** 2) - square) / 1e4 for (a, b), square in zip(pairs, squares)],
                 [0.0, 0.0], tol=1e-14).x
    x, z = housing(found, (joint[0], joint[2] + height))
    rear = np.array([x, joint[1], z])
    length = np.linalg.norm(scene.front_joint - scene.rear_joint)
    slip = brentq(lambda s: np.linalg.norm(scene.front_joint + s * scene.engine_frame.axis - rear) - length, -60.0, 60.0, xtol=1e-13)
    return rear, slip


@pytest.mark.parametrize("name", CARS)
def test_positions_agree_with_an_independent_solver(cars, name):
    car, scene = cars[name]
    suspension = car.rear_end.suspension
    lifts = np.random.default_rng(4).uniform(-suspension.droop, suspension.bump, 25)
    found = travel.sweep(scene, lifts)
    for i, lift in enumerate(lifts):
        rear, slip = solved(car, scene, lift)
        assert found.rear[i] == pytest.approx(rear, abs=1e-9)
        assert found.plunge[i] == pytest.approx(slip, abs=1e-9)
    # The shaft keeps its length and ends in both joints; the front joint stays on the output axis.
    assert np.linalg.norm(found.front - found.rear, axis=1) == pytest.approx(found.length, abs=1e-9)
    assert found.rear + found.length[:, None] * found.axis == pytest.approx(found.front, abs=1e-9)
    assert np.cross(found.front - scene.front_joint, scene.engine_frame.axis) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", CARS)
def test_slip_at_static_is_the_stated_one_and_its_sum_never_changes(cars, name):
    car, scene = cars[name]
    found = sweep_all(scene, 101)
    still = int(np.flatnonzero(found.travel == 0.0)[0])
    transmission = car.transmission
    assert found.exposure[still] == pytest.approx(transmission.slip_exposed, abs=1e-9)
    assert found.engagement[still] == pytest.approx(transmission.spline_engaged, abs=1e-9)
    assert found.exposure + found.engagement == pytest.approx(transmission.slip_exposed + transmission.spline_engaged)
    assert found.travel[0] == -car.rear_end.suspension.droop and found.travel[-1] == car.rear_end.suspension.bump


@pytest.mark.parametrize("name", CARS)
def test_slip_extremes_against_a_minimiser(cars, name):
    car, scene = cars[name]
    inward, outward = travel.slip_extremes(sweep_all(scene, 1001))
    given = car.rear_end.suspension
    for extreme, sign in ((inward, -1.0), (outward, 1.0)):
        best = minimize_scalar(lambda t, sign=sign: sign * travel.sweep(scene, t).plunge[0], bounds=(-given.droop, given.bump),
                               method="bounded", options={"xatol": 1e-6})
        ends = [sign * travel.sweep(scene, t).plunge[0] for t in (-given.droop, given.bump)]
        assert sign * extreme.plunge == pytest.approx(min([best.fun, *ends]), abs=1e-4)
    assert inward.exposure < outward.exposure and inward.engagement > outward.engagement


def test_demo_a_slip_has_the_size_that_a_triangle_gives(cars):
    """Worked by hand: shaft 43.301 in, joint 2.124 in up at static; at full bump the joint has risen about 2.2 in and gone
    0.05 in forward, so the shaft spans sqrt(43.301^2 - 4.3^2) - sqrt(43.301^2 - 2.12^2) = -0.16 in less."""
    _car, scene = cars["full_bodied_automatic"]
    found = travel.sweep(scene, 2.5 * INCH)
    moved, still = found.rear[0][2] - found.front[0][2], scene.rear_joint[2] - scene.front_joint[2]
    level_moved, level_still = (np.sqrt(scene.driveline.length ** 2 - rise ** 2) for rise in (moved, still))
    expected = level_moved - level_still + found.rear[0, 0] - scene.rear_joint[0]
    assert (found.front[0] - scene.front_joint)[0] == pytest.approx(expected, abs=1e-9)
    assert found.plunge[0] > 0.0 and 0.1 * INCH < found.plunge[0] < 0.3 * INCH


def test_a_rigid_axle_has_one_position(cars):
    car, _scene = cars["full_bodied_automatic"]
    stiff = replace(car, rear_end=replace(car.rear_end, suspension=model.Suspension(kind="rigid")))
    scene = scenes.of(stiff)
    found = sweep_all(scene)
    assert found.travel.shape == (1,) and found.plunge[0] == 0.0
    assert found.front[0] == pytest.approx(scene.front_joint)


def test_a_travel_that_the_links_do_not_reach_names_link_and_travel(cars):
    car, _scene = cars["open_clutch"]
    far = replace(car.rear_end, suspension=replace(car.rear_end.suspension, bump=30.0 * INCH))
    with pytest.raises(travel.TravelError) as told:
        sweep_all(scenes.of(replace(car, rear_end=far)))
    # The bar stands upright when the axle has risen by its length and by what the axle stands above the pivot.
    assert "rear_end.suspension.bump: the ladder bar stops the axle at" in str(told.value)
    reach = np.hypot(34.0, 16.05 - 7.80) - (16.05 - 7.80)
    assert f"{reach:.3f} in" in str(told.value) and "30.000 in" in str(told.value)


# --- clearance --------------------------------------------------------------------------------------------------------


def leaning(*directions, through=(500.0, 0.0, 0.0), length=1000.0):
    """A sweep of shafts that lean in these ways (dy, dz for dx = 1) and all pass through a point half way along them."""
    axis = np.array([(1.0, *way) for way in directions])
    axis = axis / np.linalg.norm(axis, axis=1, keepdims=True)
    rear = np.asarray(through, dtype=float) - 0.5 * length * axis
    n = len(axis)
    zero = np.zeros(n)
    return travel.Sweep(np.arange(n, dtype=float), zero, rear, rear + length * axis, axis, np.full(n, length), zero, zero, zero)


BODY = travel.Body(50.0, 60.0, 90.0)


def ring(y=0.0, z=0.0, width=180.0, height=180.0, half=11.0, bent=True, x=500.0):
    return travel.Opening("one", (x, y, z), width, height, half, bent)


def test_a_level_shaft_in_a_ring_is_two_circles():
    found = leaning((0.0, 0.0))
    assert travel.ring_clearance(found, BODY, ring()).minimum == pytest.approx(40.0, abs=1e-12)
    off = travel.ring_clearance(found, BODY, ring(3.0, -4.0))                       # the ring moves, the shaft stays
    assert off.minimum == pytest.approx(35.0, abs=1e-12)
    assert off.point == pytest.approx((500.0, 3.0 - 90 * 0.6, -4.0 + 90 * 0.8), abs=1e-9)


def test_straight_legs_give_room_upwards_only():
    tall = ring(0.0, 0.0, 180.0, 260.0)
    for lift in (0.0, 25.0, 39.9):
        found = leaning((0.0, 0.0), through=(500.0, 0.0, lift))
        assert travel.ring_clearance(found, BODY, tall).minimum == pytest.approx(40.0, abs=1e-12)
    assert travel.ring_clearance(leaning((0.0, 0.0), through=(500.0, 0.0, 60.0)), BODY, tall).minimum == pytest.approx(20.0)
    assert travel.ring_clearance(leaning((0.0, 0.0), through=(500.0, 9.0, 52.0)), BODY, tall).minimum == pytest.approx(25.0)


def test_a_leaning_shaft_in_a_thin_strap_is_an_ellipse():
    """Handbook: a plane cuts a cylinder that leans by b in an ellipse with half axes R and R / cos b."""
    lean = np.tan(np.radians(6.0))
    thin = ring(half=1e-9, bent=False)
    assert travel.ring_clearance(leaning((0.0, lean)), BODY, thin).minimum == pytest.approx(90.0 - 50.0 / np.cos(np.radians(6.0)),
                                                                                            abs=1e-8)
    # Over the width of a strap the axis climbs by half the width times the slope.
    wide = travel.ring_clearance(leaning((0.0, lean)), BODY, ring(half=25.0, bent=False))
    assert wide.minimum == pytest.approx(90.0 - 50.0 / np.cos(np.radians(6.0)) - 25.0 * lean, abs=1e-9)
    assert abs(wide.point[0] - 500.0) == 25.0


def test_the_least_position_is_named():
    found = leaning((0.0, 0.0), (0.0, 0.05), (0.0, 0.01))
    got = travel.ring_clearance(found, BODY, ring(x=700.0))
    assert got.travel == 1.0 and got.minimum == got.at[1] and got.at[0] == pytest.approx(40.0)


def test_a_ring_beyond_the_shaft_is_not_passed():
    got = travel.ring_clearance(leaning((0.0, 0.0)), BODY, ring(x=1200.0))
    assert got.minimum == np.inf and got.point is None


def test_joints_are_thicker():
    found = leaning((0.0, 0.0))
    assert travel.ring_clearance(found, BODY, ring(x=950.0)).minimum == pytest.approx(30.0)
    assert travel.ring_clearance(found, BODY, ring(x=1000.0)).minimum == pytest.approx(30.0)
    # The joint's end stands 5 mm off the middle of a bent tube of 22 mm, which has widened there by 11 - sqrt(121 - 25).
    got = travel.ring_clearance(found, BODY, ring(x=905.0))
    assert got.minimum == pytest.approx(30.0 + 11.0 - np.sqrt(96.0)) and got.point[0] == pytest.approx(910.0)


def sampled(found, i, body, inside, span):
    """Least room of sampled surface points between two X: inside(points) gives each point's room."""
    stations = np.linspace(0.0, found.length[i], 5001)
    x = found.rear[i, 0] + stations * found.axis[i, 0]
    near = (x > span[0] - 15.0) & (x < span[1] + 15.0)
    side, balls = swept.surface(found.rear[i], found.axis[i], found.length[i], body, stations[near], np.linspace(0, 2 * np.pi, 361))
    points = np.concatenate([side.reshape(-1, 3), balls.reshape(-1, 3)])
    points = points[(points[:, 0] >= span[0]) & (points[:, 0] <= span[1])]
    return inside(points).min()


@pytest.mark.parametrize("bent", [True, False])
def test_clearance_in_rings_against_sampled_surfaces(bent):
    """Never larger than the room of any point of the surface, and little less (50 x 0.036 x 0.16 / 2 = 0.14 mm,
    and what sampling misses)."""
    rng = np.random.default_rng(11)
    for _try in range(25):
        lean = rng.uniform(-0.12, 0.12, 2) * [0.3, 1.0]
        found = leaning(tuple(lean))
        opening = ring(*rng.uniform(-25, 25, 2), *rng.uniform(170, 260, 2), rng.uniform(5, 25), bent, rng.uniform(150, 850))
        got = travel.ring_clearance(found, BODY, opening)

        def inside(points, opening=opening):
            y, z = points[:, 1] - opening.center[1], points[:, 2] - opening.center[2]
            core = np.subtract((opening.inner_width, opening.inner_height), 2 * opening.radius) / 2
            away = np.hypot(np.maximum(abs(y) - core[0], 0.0), np.maximum(abs(z) - core[1], 0.0))
            wider = opening.half_width - np.sqrt(opening.half_width ** 2 - (points[:, 0] - opening.center[0]) ** 2) if bent else 0.0
            return opening.radius + wider - away

        least = sampled(found, 0, BODY, inside, (opening.center[0] - opening.half_width, opening.center[0] + opening.half_width))
        assert got.minimum <= least + 1e-9
        assert least - got.minimum < 0.2


@pytest.mark.parametrize("seed", range(6))
def test_clearance_in_an_enclosure_against_sampled_surfaces(seed):
    rng = np.random.default_rng(seed)
    found = leaning(tuple(rng.uniform(-0.03, 0.03, 2)))
    rear, front = np.array([350.0, *rng.uniform(-5, 5, 2)]), np.array([rng.uniform(800, 960), *rng.uniform(-20, 20, 2)])
    got = travel.bore_clearance(found, BODY, travel.Bore(tuple(rear), tuple(front), 85.0))
    along = (front - rear) / np.linalg.norm(front - rear)

    def inside(points):
        from_rear = points - rear
        step = from_rear @ along
        room = 85.0 - np.sqrt(np.maximum(np.einsum("ij,ij->i", from_rear, from_rear) - step**2, 0.0))
        return np.where((step >= 0.0) & (step <= np.linalg.norm(front - rear)), room, np.inf)

    least = sampled(found, 0, BODY, inside, (300.0, 1000.0))
    assert got.minimum <= least + 1e-9 and least - got.minimum < 0.2
    # The point named lies on the bore.
    step = (np.array(got.point) - rear) @ along
    assert np.linalg.norm(np.array(got.point) - rear - step * along) == pytest.approx(85.0, abs=1e-6)


def test_whip_takes_its_own_size_off_the_clearance(cars):
    car, scene = cars["full_bodied_automatic"]
    found, second = sweep_all(scene, 51), opening_of(car.containment.loops[1], scene)
    bare = travel.ring_clearance(found, travel.body_of(car.driveshaft, whip=0.0), second).minimum
    assert travel.body_of(car.driveshaft).tube == pytest.approx((1.875 + 0.25) * INCH)     # the default of 1/4 in
    assert bare - travel.ring_clearance(found, travel.body_of(car.driveshaft), second).minimum == pytest.approx(0.25 * INCH, rel=3e-3)


def test_a_ring_too_small_for_the_travel_is_found(cars):
    """One of the bad loops of the demo: at static it clears, over the travel it does not."""
    car, scene = cars["full_bodied_automatic"]
    small = replace(car.containment.loops[2], inner_width=None, inner_height=None, inner_diameter=6.0 * INCH)
    opening, body = opening_of(small, scene), travel.body_of(car.driveshaft)
    assert travel.ring_clearance(travel.sweep(scene, 0.0), body, opening).minimum > 0.7 * INCH
    over = travel.ring_clearance(sweep_all(scene, 101), body, opening)
    assert over.minimum < 0.0 and over.travel == -car.rear_end.suspension.droop
