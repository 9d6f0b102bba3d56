"""The swept volume of the driveshaft as numbers: it holds the shaft wherever it stands, and little else."""
from dataclasses import replace

import numpy as np
import pytest
import swept
from conftest import ROOT
from oracles import outside, row_volume
from scipy.integrate import trapezoid

from crankline import carfile, model
from crankline.mechanics import envelope, travel
from crankline.mechanics import scene as scenes

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")


@pytest.fixture(scope="module")
def cars():
    read = {name: carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml") for name in CARS}
    return {name: (car, scenes.of(car)) for name, car in read.items()}


def random_positions(car, scene, count, rng):
    given = car.rear_end.suspension
    low, high = travel.windups(scene)
    return travel.sweep(scene, rng.uniform(-(given.droop or 0.0), given.bump or 0.0, count), rng.uniform(low, high, count))


def standing_out(car, scene, count=1000, seed=1):
    """How far surface points of so many random positions stand out of the envelope at most, mm."""
    row = envelope.sections(scene, car.driveshaft)
    body, rng = travel.body_of(car.driveshaft), np.random.default_rng(seed)
    found = random_positions(car, scene, count, rng)
    stations, angles = [], []
    for length in found.length:
        stations.append([0.0, body.reach, length - body.reach, length, *rng.uniform(0.0, length, 6)])
        angles.append(rng.uniform(0, 2 * np.pi, 16))
    worst = -np.inf
    for some in np.array_split(np.arange(count), 1 + count // 50):
        side, balls = swept.surface(found.rear[some], found.axis[some], found.length[some], body, np.array(stations)[some],
                                    np.array(angles)[some])
        points = np.concatenate([side.reshape(-1, 3), balls.reshape(-1, 3)])
        worst = max(worst, float(outside(row, scene.shaft_frame.to_local(points)).max()))
    return worst


@pytest.mark.parametrize("name", CARS)
def test_it_holds_the_shaft_at_a_thousand_random_positions(cars, name):
    assert standing_out(*cars[name]) <= 1e-6


def test_it_holds_the_shaft_of_random_cars():
    """Other placements, travels, sizes and whips; a shaft set aside and yawed; joints thinner than the tube; rigid axles."""
    rng = np.random.default_rng(8)
    for number in range(40):
        car = carfile.read(ROOT / "demo_assemblies" / f"{CARS[number % 2]}.yaml")
        suspension = replace(car.rear_end.suspension, bump=rng.uniform(0, 80), droop=rng.uniform(0, 100))
        if number % 7 == 0:
            suspension = model.Suspension(kind="rigid")
        car = replace(
            car, rear_end=replace(car.rear_end, suspension=suspension, windup=rng.uniform(0, 0.03)),
            placement=replace(car.placement, axle_to_block=rng.uniform(74, 88) * INCH, crank_height=rng.uniform(9, 12) * INCH,
                              pitch_mode="fixed", pitch=rng.uniform(0, 0.06), lateral=rng.uniform(-40, 40), yaw=rng.uniform(-0.02, 0.02)),
            driveshaft=replace(car.driveshaft, outer_diameter=rng.uniform(60, 110), joint_swing_diameter=rng.uniform(60, 130),
                               whip_allowance=rng.uniform(0, 20)))
        assert standing_out(car, scenes.of(car), 60, number) <= 1e-6, number


def brute_volume(car, scene, lifts=81, columns=241, stations=161):
    """Volume of the union of the very shafts, mm3: in a plane square to the static shaft the cuts overlap one another all
    the way (travel is continuous), so at each y they fill from the lowest to the highest point."""
    given, body = car.rear_end.suspension, travel.body_of(car.driveshaft)
    low, high = travel.windups(scene)
    t, w = (grid.ravel() for grid in np.meshgrid(np.linspace(-given.droop, given.bump, lifts), np.linspace(low, high, 3)))
    found = travel.sweep(scene, t, w)
    rear, axis = scene.shaft_frame.to_local(found.rear), scene.shaft_frame.directions_to_local(found.axis)
    lean = axis[:, 1:] / axis[:, :1]
    length, big = found.length[0], max(body.joint, body.tube)
    y = np.linspace(-big - 2.0, big + 2.0, columns)[:, None]
    areas, xs = [], np.linspace(rear[:, 0].min() - body.joint, length + 5.0 + body.joint, stations)
    for x in xs:
        along = (x - rear[:, 0]) / axis[:, 0]
        center = rear[:, 1:] + (x - rear[:, :1]) * lean
        beyond = np.maximum(-along, along - length)
        ball = np.sqrt(np.maximum(body.joint ** 2 - np.maximum(beyond, 0.0) ** 2, 0.0))
        joint = np.minimum(along, length - along) <= body.reach
        radius = np.where(beyond > 0.0, ball, np.where(joint, body.joint, body.tube))
        half = np.sqrt(np.maximum(radius ** 2 - (y - center[:, 0]) ** 2, 0.0)) * np.hypot(1.0, lean[:, 1])
        cut = half > 0.0
        top = np.where(cut, center[:, 1] + half, -np.inf).max(axis=1)
        bottom = np.where(cut, center[:, 1] - half, np.inf).min(axis=1)
        areas.append(trapezoid(np.where(top > bottom, top - bottom, 0.0), y[:, 0]))
    return trapezoid(areas, xs)


@pytest.mark.parametrize("name", CARS)
def test_it_is_hardly_larger_than_the_union_of_the_shafts(cars, name):
    car, scene = cars[name]
    ours, union = row_volume(envelope.sections(scene, car.driveshaft)), brute_volume(car, scene)
    assert 1.0 < ours / union < 1.06


def test_without_travel_and_whip_it_is_the_shaft_itself(cars):
    """Closed form: tube, two cylinders with half balls, the balls held by a drum with its edge cut (up to 4 per cent of a ball)."""
    car, _scene = cars["full_bodied_automatic"]
    still = replace(car, rear_end=replace(car.rear_end, suspension=model.Suspension(kind="rigid"), windup=0.0),
                    driveshaft=replace(car.driveshaft, whip_allowance=0.0))
    scene = scenes.of(still)
    row = envelope.sections(scene, still.driveshaft)
    assert all(one.low == one.high for one in row)
    length, joint, tube, reach = float(scene.driveline.length), 2.30 * INCH, 1.875 * INCH, 3.45 * INCH
    exact = np.pi * (tube ** 2 * (length - 2 * reach) + 2 * joint ** 2 * reach) + 4 / 3 * np.pi * joint ** 3
    assert exact < row_volume(row) < 1.02 * exact


def test_whip_makes_it_thicker_and_travel_taller(cars):
    car, scene = cars["full_bodied_automatic"]
    plain = envelope.sections(scene, car.driveshaft)
    thick = envelope.sections(scene, replace(car.driveshaft, whip_allowance=0.5 * INCH))
    assert [b.radius - a.radius for a, b in zip(plain[1:4], thick[1:4])] == pytest.approx([0.25 * INCH] * 3, rel=0.01)
    given = car.rear_end.suspension
    rise = max(one.high - one.low for one in plain)
    # The rear joint turns with the housing, so that it moves a little less than the axle does.
    assert 0.6 * (given.bump + given.droop) < rise < given.bump + given.droop


def test_outside_is_a_distance():
    row = (envelope.Section(0.0, 10.0, -5.0, 5.0), envelope.Section(100.0, 20.0, -5.0, 15.0))
    points = [(0, 0, 15), (0, 10, 3), (50, 15, 0), (50, 0, 28), (100, 0, 35), (50, 0, 0), (-1, 0, 0), (101, 0, 0)]
    assert outside(row, points) == pytest.approx([0, 0, 0, 3, 0, -15, np.inf, np.inf])
    middle = envelope.Section(50.0, 15.0, -5.0, 10.0)
    assert middle.area == pytest.approx(np.pi * 225 + 450)
    fine = [sum(trapezoid([np.pi * r * r + 2 * r * h for r, h in zip(np.linspace(10, 20, 20001), np.linspace(10, 20, 20001))],
                         dx=100 / 20000) for _ in (0,))]
    assert row_volume(row) == pytest.approx(fine[0], rel=1e-8)


def test_a_travel_that_is_not_reached_is_told(cars):
    car, _scene = cars["open_clutch"]
    far = replace(car, rear_end=replace(car.rear_end, suspension=replace(car.rear_end.suspension, bump=30.0 * INCH)))
    with pytest.raises(travel.TravelError, match="ladder bar"):
        envelope.sections(scenes.of(far), far.driveshaft)
