"""Where the strength screening takes bolts and seats to be is where the shapes have them."""
from __future__ import annotations

import math
from dataclasses import replace

import FreeCAD  # noqa: F401
import numpy as np
import pytest

from crankline import carfile
from crankline.checks import mounting
from crankline.geometry import front_plate, mid_plate, tie_tab, transmission_mount
from crankline.mechanics import scene as scenes
from crankline.record import filled

from conftest import ROOT

CARS = ("full_bodied_automatic", "open_clutch")
PLACEMENTS = [{}, {"axle_to_block": 2050.0}, {"crank_height": 270.0}, {"lateral": 12.0, "roll": math.radians(0.5)},
              {"yaw": math.radians(0.5)}]


@pytest.mark.parametrize("change", PLACEMENTS, ids=str)
@pytest.mark.parametrize("name", CARS)
def test_seats_are_those_of_the_shapes(name, change):
    car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
    car = replace(car, placement=replace(car.placement, **change))
    scene, full = scenes.of(car), filled(car)
    held = mounting.mounting(full, scene)
    tabs, mounts = full.mounts.rail_tabs, full.mounts
    for i, side in enumerate(("left", "right")):
        lug = front_plate.lug(full.plates.front, tabs, scene, side)
        middle = np.mean([bolt[:2] for bolt in lug.bolts], axis=0)
        seat = held.feet[i] if held.feet else held.rails[2 + i]
        assert scene.engine_frame.to_local(np.array(seat.point))[1:] == pytest.approx(middle, abs=1e-6)
        tie = next(hole for hole in mid_plate.tie_holes(full.plates.mid, tabs, mounts.support_tube, scene) if (hole[0] > 0.0) == (side == "left"))
        assert mounting.tie_hole(full, scene, side) == pytest.approx(tie[:2], abs=1e-9)
        tab = tie_tab.spec(full.plates.mid, tabs, mounts.support_tube, scene, side)
        assert held.ties[i].up == pytest.approx(tab.z_top - tab.hole_z) and held.ties[i].width == tab.width
    made = transmission_mount.spec(mounts.transmission, mounts.cross_member, scene)
    seat = scene.engine_frame.to_car(np.array([*transmission_mount.cross_bolt_seat(made)]))
    assert held.tail.bolt_point == pytest.approx(seat, abs=1e-6)
    assert held.tail.point == pytest.approx(scene.engine_frame.to_car(np.array(made.pad)), abs=1e-6)
    assert held.tail.member_point == pytest.approx(scene.engine_frame.to_car(np.array(made.member_point)), abs=1e-6)
    assert held.tail.receiver_diameter == pytest.approx(made.receiver_diameter)


@pytest.mark.parametrize("name", CARS)
def test_the_report_lists_hardware_for_every_screened_joint(name):
    from crankline.checks import figures
    car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
    listed = figures.hardware_figures(car)
    for hole in mounting.holes(filled(car), scenes.of(car)):
        bolts = [line for line in listed if set(hole.subjects) == set(line["where"]) and "bolt" in line["row"]]
        assert bolts and bolts[0]["length_mm"] > 0.0, hole.name
