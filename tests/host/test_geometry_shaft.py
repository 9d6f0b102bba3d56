"""Driveshaft: one solid between its joints, inside its swing diameter, slip yoke on the output axis up to the seal."""
from __future__ import annotations

import math
import random
from dataclasses import replace

import cars
import FreeCAD
import MeshPart
import numpy as np
import pytest
from conftest import ROOT

from crankline import carfile
from crankline.geometry import driveshaft
from crankline.mechanics import scene as scenes

INCH = 25.4
V = FreeCAD.Vector
CARS = ("full_bodied_automatic", "open_clutch")


@pytest.fixture(scope="module", params=cars.EACH)
def placed(request):
    car = carfile.read(ROOT / "demo_assemblies" / f"{request.param}.yaml")
    scene = scenes.of(car)
    spec = driveshaft.spec(car.driveshaft, scene)
    return car, scene, spec, driveshaft.build(spec)


def single(shape) -> None:
    assert shape.ShapeType == "Solid" and shape.isValid() and len(shape.Solids) == 1 and shape.Volume > 0


def test_length_is_the_distance_between_the_joint_centres(placed):
    car, scene, spec, shape = placed
    assert spec.length == pytest.approx(np.linalg.norm(scene.front_joint - scene.rear_joint), rel=1e-12)


def test_one_solid_with_the_volume_of_its_mesh(placed):
    *_, shape = placed
    single(shape)
    mesh = MeshPart.meshFromShape(Shape=shape, LinearDeflection=0.05, AngularDeflection=0.1)
    assert shape.Volume == pytest.approx(mesh.Volume, rel=3e-3)


def test_volume_in_closed_form_is_that_of_the_solid(placed):
    """Joint at any phase and angle; where yokes come near each other nothing is said."""
    *_, spec, shape = placed
    assert driveshaft.closed_volume(spec) == pytest.approx(shape.Volume, rel=1e-9)
    rng = random.Random(7)
    for degrees in (1.0, 3.0, 8.0):
        angle, way = math.radians(degrees), rng.uniform(0.0, math.tau)
        one = replace(spec, phase=rng.uniform(-1.0, 1.0), seal=rng.uniform(0.4, 1.0) * spec.seal,
                      output=(math.cos(angle), math.sin(angle) * math.cos(way), math.sin(angle) * math.sin(way)))
        known = driveshaft.closed_volume(one)
        assert (known is not None) == (degrees < 5.0)
        assert known is None or known == pytest.approx(driveshaft.build(one).Volume, rel=1e-9)
    assert driveshaft.closed_volume(replace(spec, output=(math.cos(0.2), 0.0, math.sin(0.2)))) is None
    assert driveshaft.closed_volume(replace(spec, seal=0.3 * spec.seal)) is None


def test_the_tube_between_the_yokes_is_that_of_the_record(placed):
    car, scene, spec, shape = placed
    middle = shape.common(driveshaft.Part.makeBox(200, 400, 400, V(spec.length / 2 - 100, -200, -200)))
    wall, outer = car.driveshaft.wall, car.driveshaft.outer_diameter
    assert middle.Volume == pytest.approx(math.pi * wall * (outer - wall) * 200, rel=1e-6)
    assert driveshaft.tube_volume(spec) == pytest.approx(math.pi * wall * (outer - wall) * (spec.length - 1.5 * spec.swing), rel=1e-9)


def test_everything_stays_within_the_swing_diameter(placed):
    """Around the shaft's axis behind the front joint, around the output axis ahead of it."""
    car, scene, spec, shape = placed
    cloud = np.array([tuple(p) for p in shape.copy(True, False).tessellate(0.5)[0]])
    reach = spec.swing / 2 + 1e-6
    behind = cloud[cloud[:, 0] < spec.length - 0.2 * spec.swing]
    assert np.hypot(behind[:, 1], behind[:, 2]).max() <= reach
    ahead = cloud[cloud[:, 0] > spec.length + 0.2 * spec.swing] - [spec.length, 0, 0]
    assert np.linalg.norm(np.cross(ahead, spec.output), axis=1).max() <= reach
    # The joints fill most of it, or they would not be the joints that the record describes.
    assert np.hypot(cloud[:, 1], cloud[:, 2]).max() > 0.45 * spec.swing


def test_slip_yoke_ends_at_the_seal(placed):
    car, scene, spec, shape = placed
    seal = scene.engine_point(-(scene.stack.total + car.transmission.bell_to_seal))
    local = scene.shaft_frame.to_local(seal)
    assert local == pytest.approx(np.array([spec.length, 0, 0]) + spec.seal * np.array(spec.output), abs=1e-9)
    inward = V(*local) - V(*spec.output) * 0.5
    assert shape.isInside(inward, 1e-6, False)
    assert not shape.isInside(V(*local) + V(*spec.output) * 0.5, 1e-6, False)


def test_crosses_stand_in_both_joints(placed):
    *_, spec, shape = placed
    for x in (0.0, spec.length):
        for direction in (V(0, 1, 0), V(0, 0, 1)):
            for side in (1, -1):
                assert shape.isInside(V(x, 0, 0) + direction * (side * 0.3 * spec.swing), 1e-6, False)


def test_phase_turns_the_front_joint_only(placed):
    *_, spec, shape = placed
    turned = driveshaft.build(replace(spec, phase=math.radians(30)))
    single(turned)
    assert turned.Volume == pytest.approx(shape.Volume, rel=1e-3)
    ear = V(0.02 * spec.swing, 0, 0.42 * spec.swing)
    front = V(spec.length, 0, 0) + FreeCAD.Rotation(V(1, 0, 0), 30).multVec(V(-ear.x, 0, ear.z))
    assert turned.isInside(front, 1e-6, False) and turned.isInside(ear, 1e-6, False)


def test_random_placements_are_single_solids(placed):
    car = placed[0]
    rng = random.Random(41)
    for _ in range(25):
        moved = replace(car, placement=replace(car.placement, axle_to_block=rng.uniform(78, 88) * INCH, pitch_mode="fixed",
                                               crank_height=rng.uniform(9, 11.5) * INCH, pitch=math.radians(rng.uniform(0, 3.5))))
        single(driveshaft.build(driveshaft.spec(car.driveshaft, scenes.of(moved))))


def test_random_shafts_are_single_solids(placed):
    *_, spec, _ = placed
    rng = random.Random(43)
    for _ in range(20):
        single(driveshaft.build(replace(spec, outer_diameter=rng.uniform(2.5, 4.5) * INCH, wall=rng.uniform(0.065, 0.25) * INCH,
                                        swing=rng.uniform(3.6, 5.5) * INCH, phase=rng.uniform(-0.1, 0.1), seal=rng.uniform(2.0, 6.0) * INCH,
                                        barrel=rng.uniform(1.3, 2.2) * INCH)))


def test_joints_that_leave_no_tube_are_refused(placed):
    car, scene, *_ = placed
    with pytest.raises(ValueError, match="leaves no tube") as raised:
        driveshaft.spec(replace(car.driveshaft, joint_swing_diameter=900.0), scene)
    assert "\n" not in str(raised.value)
