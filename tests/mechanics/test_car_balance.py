"""The balance of whole cars: worked examples of textbooks carried through a car's record, and arrays against one placement at a time."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from conftest import ROOT

from crankline import carfile, model, source
from crankline.mechanics import balance, car_balance, components, scene
from crankline.mechanics.suspension import InstantCentre
from crankline.record import filled

INCH, POUND = 25.4, 0.45359237
DEMOS = ("full_bodied_automatic", "open_clutch")


def demo(name: str) -> model.Car:
    return filled(carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml"))


def example(**record) -> model.Car:
    """A car of the size of standards D4 and D10: wheelbase 105 in, loaded radius 16 in, its components weighing 2400 lb with 48 % of it in
    front and a center of gravity at 18 in."""
    car = demo("full_bodied_automatic")
    car = replace(car, car=replace(car.car, wheelbase=105.0 * INCH, **record))
    mass, cg = balance.total(components.powertrain(scene.of(car)))
    whole, target = 2400.0 * POUND, np.array([0.48 * 105.0, 0.0, 18.0]) * INCH
    rest = whole - float(mass)
    at = (whole * target - float(mass) * cg) / rest
    return filled(replace(car, masses=(model.Mass(name="rest", mass=rest, cg=model.Point(x=at[0], y=at[1], z=at[2])),)))


def test_wheelstand_and_transfer_of_a_worked_example():
    """standards D10: 2.80 g lifts the front wheels; at mu 2.5 rear drive gives 2.275 g, at 2 g 822.86 lb go back."""
    car = example()
    found = car_balance.of(car, scene.of(car))
    assert found.mass == pytest.approx(2400.0 * POUND) and found.source == car_balance.COMPONENTS
    assert found.front_share == pytest.approx(0.48, abs=1e-12)
    assert found.wheelstand == pytest.approx(2.80, abs=1e-9)
    # Slicks are taken to hold more than the car can use: it stands on its rear wheels first, and no more than the front's load goes back.
    assert found.tire_limited == pytest.approx(2.80, abs=1e-9)
    assert found.wheelstand_margin == pytest.approx(2.80 - found.launch)
    assert found.transfer == pytest.approx(0.48 * 2400.0 * POUND * 9.80665, rel=1e-9)


def test_anti_squat_of_a_worked_example():
    """standards D11.1, carried to this car: an instant center on the line of slope h/L is 100 %, h 18 in and L 105 in."""
    car = example()
    centre = InstantCentre(np.array(50.0 * INCH), np.array(50.0 * INCH * 18.0 / 105.0), np.array(1.0))
    assert car_balance.of(car, scene.of(car), centre).anti_squat == pytest.approx(1.0, abs=1e-9)


def test_scales_and_tilt_of_a_worked_example():
    """standards D4: front raised 20 in, rear scale from 1248.0 to 1256.870 lb: 18.000 in. The list then only says what a move changes."""
    scales = model.Scales(front_left=576.0 * POUND, front_right=576.0 * POUND, rear_left=624.0 * POUND, rear_right=624.0 * POUND,
                          front_raised=20.0 * INCH, rear_gain=8.870 * POUND)
    car = example(front_track=60.0 * INCH, rear_track=52.0 * INCH, scales=scales)
    # The list is far off what was weighed: twice the rest of the car.
    car = replace(car, masses=(replace(car.masses[0], mass=2.0 * car.masses[0].mass),))
    found = car_balance.of(car, scene.of(car))
    assert found.source == car_balance.SCALES and found.mass == pytest.approx(2400.0 * POUND)
    assert found.cg[2] / INCH == pytest.approx(18.0, abs=5e-4) and found.cg[1] == pytest.approx(0.0, abs=1e-9)
    assert found.front_share == pytest.approx(0.48, abs=1e-12)
    moved = replace(car, placement=replace(car.placement, axle_to_block=car.placement.axle_to_block + INCH))
    # Own closed form: mass x move / wheelbase, over the mass that was weighed.
    share = (car.engine.mass + car.transmission.mass) * 1.0 / (2400.0 * POUND * 105.0)
    there, here = components.whole(moved, scene.of(moved))[1][0], components.whole(car, scene.of(car))[1][0]
    assert there > here
    spread, solved = scene.spread(car, car.placement.axle_to_block + INCH, car.placement.crank_height, car.placement.pitch)
    assert solved and car_balance.of(car, spread).front_share - found.front_share == pytest.approx(share, abs=1e-12)
    corners = found.corners(60.0 * INCH, 52.0 * INCH) / 9.80665 / POUND
    assert corners == pytest.approx([576.0, 576.0, 624.0, 624.0], abs=1e-6)


def test_scales_that_make_no_sense_are_refused():
    scales = model.Scales(front_left=0.0, front_right=0.0, rear_left=500.0, rear_right=500.0)
    car = example(scales=scales)
    with pytest.raises(ValueError, match="axle without load"):
        car_balance.of(car, scene.of(car))
    bare = replace(car, masses=())
    with pytest.raises(ValueError, match="masses"):
        car_balance.of(bare, scene.of(car))


@pytest.mark.parametrize("name", DEMOS)
def test_many_placements_are_as_many_single_ones(name):
    """A grid at once against a car whose file says each placement, in every pitch mode."""
    car = demo(name)
    for pitch in (np.radians([1.5, 2.0, 2.4]), "parallel", "in_line", "balanced"):
        x, z = np.array([78.0, 80.5, 84.0]) * INCH, np.array([9.0, 10.0, 11.5]) * INCH
        spread, solved = scene.spread(car, x, z, pitch)
        many = car_balance.of(car, spread)
        assert solved.all()
        for i in range(3):
            mode = pitch if isinstance(pitch, str) else "fixed"
            angle = None if isinstance(pitch, str) else float(pitch[i])
            one_car = replace(car, placement=replace(car.placement, axle_to_block=float(x[i]), crank_height=float(z[i]), pitch_mode=mode,
                                                     pitch=angle))
            place = scene.of(one_car)
            one = car_balance.of(one_car, place)
            assert spread.front_joint[i] == pytest.approx(place.front_joint, abs=1e-9)
            assert spread.shaft_frame.rotation[i] == pytest.approx(place.shaft_frame.rotation, abs=1e-12)
            assert spread.driveline.residual[i] == pytest.approx(place.driveline.residual, abs=1e-12)
            assert spread.shaft_at(1000.0)[i] == pytest.approx(place.shaft_at(1000.0), abs=1e-9)
            for key in ("cg", "front_share", "launch", "tire_limited", "wheelstand", "transfer"):
                assert np.asarray(getattr(many, key))[i] == pytest.approx(np.asarray(getattr(one, key)), rel=1e-12), key


def test_a_placement_without_a_solution_is_told_apart():
    car = demo("full_bodied_automatic")
    _spread, solved = scene.spread(car, np.array([30.0, 83.5]) * INCH, 254.0, 0.03)
    assert solved.tolist() == [False, True]


@pytest.mark.parametrize("name", DEMOS)
def test_what_gives_the_same_split_gives_it(name):
    """Second way: the car is made with the battery there, or with the ballast added."""
    car = demo(name)
    place = scene.of(car)

    def share(masses):
        changed = replace(car, masses=masses)
        return float(components.whole(changed, place)[1][0]) / car.car.wheelbase

    mass = sum(item.mass for item in car.masses) + car.engine.mass + car.transmission.mass
    wanted = share(car.masses) + (car.engine.mass + car.transmission.mass) * INCH / mass / car.car.wheelbase
    found = car_balance.equal_moves(car, place, INCH)
    assert {one.name for one in found} >= {"battery and electrics", "ballast over the front axle"}
    for one in found:
        if one.move is not None:
            masses = tuple(replace(item, cg=replace(item.cg, x=float(one.at))) if item.name == one.name else item for item in car.masses)
        else:
            masses = (*car.masses, model.Mass(name="added", mass=float(one.added), cg=model.Point(x=float(one.at), y=0.0, z=300.0)))
        assert share(masses) == pytest.approx(wanted, abs=1e-12), one.name


@pytest.mark.parametrize("second, said", [
    ("front_raised: 12 in", "car.scales.front_raised: it was given without rear_gain; give both"),
    ("rear_gain: 80 lb", "car.scales.rear_gain: it was given without front_raised; give both"),
    ("front_raised: 12 in, rear_gain: 1300 lb", "car.scales.rear_gain: it is as much as both front scales together show"),
    ("front_raised: 78.6 in, rear_gain: 80 lb", "car.scales.front_raised: it is more than 7/10 of the wheelbase")])
def test_a_car_file_whose_weighing_cannot_be_is_refused_at_its_line(second, said):
    text = (ROOT / "demo_assemblies" / "minimal.yaml").read_text(encoding="utf-8").replace(
        "body: full}", "body: full, scales: {front_left: 600 lb, front_right: 600 lb, rear_left: 650 lb, rear_right: 640 lb, "
        + second + "}}")
    with pytest.raises(source.SourceError) as error:
        carfile.of_nodes(source.parse(text, "car.yaml"))
    assert str(error.value).startswith("car.yaml:4: " + said)
