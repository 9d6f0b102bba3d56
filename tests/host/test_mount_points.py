"""Where the strength screening takes bolts and seats to be is where the shapes have them."""
from __future__ import annotations

import math
from dataclasses import replace

import cars
import FreeCAD
import numpy as np
import Part
import pytest
from conftest import ROOT

from crankline import carfile
from crankline.checks.strength import bolt_holes, load_model
from crankline.geometry import front_plate, limiter_bracket, limiter_strut, mid_plate, rail_clamp, receiver, tie_tab, transmission_mount
from crankline.mechanics import scene as scenes
from crankline.record import filled

CARS = ("full_bodied_automatic", "open_clutch")
PLACEMENTS = [{}, {"axle_to_block": 2050.0}, {"crank_height": 270.0}, {"lateral": 12.0, "roll": math.radians(0.5)},
              {"yaw": math.radians(0.5)}]


@pytest.mark.parametrize("change", PLACEMENTS, ids=str)
@pytest.mark.parametrize("name", cars.EACH)
def test_seats_are_those_of_the_shapes(name, change):
    car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
    car = replace(car, placement=replace(car.placement, **change))
    scene, full = scenes.of(car), filled(car)
    held = load_model.mounting(full, scene)
    tabs, mounts = full.mounts.rail_tabs, full.mounts
    for i, side in enumerate(("left", "right")):
        lug = front_plate.lug(full.plates.front, tabs, scene, side)
        middle = np.mean([bolt[:2] for bolt in lug.bolts], axis=0)
        seat = held.feet[i] if held.feet else held.rails[2 + i]
        assert scene.engine_frame.to_local(np.array(seat.point))[1:] == pytest.approx(middle, abs=1e-6)
        tie = next(hole for hole in mid_plate.tie_holes(full.plates.mid, tabs, mounts.support_tube, scene)
                   if (hole[0] > 0.0) == (side == "left"))
        assert scene.engine_frame.to_local(np.array(held.ties[i].point))[1:] == pytest.approx(tie[:2], abs=1e-6)
        tab = tie_tab.spec(full.plates.mid, tabs, mounts.support_tube, scene, side)
        assert held.ties[i].up == pytest.approx(tab.z_top - tab.hole_z) and held.ties[i].width == tab.width
    made = transmission_mount.spec(mounts.transmission, mounts.cross_member, scene)
    seat = scene.engine_frame.to_car(np.array(made.bolt_seat))
    assert held.tail.bolt_point == pytest.approx(seat, abs=1e-6)
    assert held.tail.point == pytest.approx(scene.engine_frame.to_car(np.array(made.pad)), abs=1e-6)
    assert held.tail.member_point == pytest.approx(scene.engine_frame.to_car(np.array(made.member_point)), abs=1e-6)
    assert held.tail.receiver.diameter == pytest.approx(made.receiver_diameter)
    _tail_as_built(held.tail, made, scene)


@pytest.mark.parametrize("bolt, spacing", [(0.375, 1.25), (0.5, 2.5)])
def test_bolts_of_the_tail_are_screened_as_the_transmission_states_them(bolt, spacing):
    car = filled(carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"))
    pad = replace(car.transmission.mount_pad, bolt=bolt * 25.4, bolt_spacing=spacing * 25.4)
    car = replace(car, transmission=replace(car.transmission, mount_pad=pad))
    scene = scenes.of(car)
    tail = load_model.mounting(car, scene).tail
    assert tail.tail_bolts.bolt.diameter == pytest.approx(bolt * 25.4)
    assert sorted(y for _x, y in tail.tail_bolts.places) == pytest.approx([-spacing * 12.7, spacing * 12.7])
    hole, = [hole for hole in bolt_holes.holes(car, scene) if hole.name == "tail bolts"]
    assert hole.bolt == pytest.approx(bolt * 25.4) and hole.diameter > hole.bolt
    _tail_as_built(tail, transmission_mount.spec(car.mounts.transmission, car.mounts.cross_member, scene), scene)


def _tail_as_built(tail, made, scene):
    """Lever, widths, thicknesses and seats of the screening read off the solids."""
    def local(point):
        return FreeCAD.Vector(*scene.engine_frame.to_local(np.array(point)))

    body, sleeve = transmission_mount.build(made), receiver.build(receiver.taking(made))
    sleeve.translate(FreeCAD.Vector(*made.foot))
    head, pad, seat = local(tail.head), local(tail.point), local(tail.bolt_point)
    # The tab's underside is the highest place at which the tube's bore is covered; just below it the axis is in the open.
    assert body.isInside(head + FreeCAD.Vector(0, 0, 0.5 * tail.tab.thickness), 1e-6, False)
    assert not body.isInside(head - FreeCAD.Vector(0, 0, 0.5), 1e-6, False)
    assert body.distToShape(Part.Vertex(pad))[0] < 1e-6 and body.BoundBox.ZMax == pytest.approx(pad.z, abs=1e-6)
    assert body.BoundBox.YLength == pytest.approx(tail.tab.width, abs=1e-6)
    assert tail.tube.length == pytest.approx((head - seat).Length) and head.x == pytest.approx(seat.x)
    # Pad to tube: the tab's reach; bolts stand at their places in it.
    for x, y in tail.tail_bolts.places:
        hole = pad + FreeCAD.Vector(x, y, -0.5 * tail.tab.thickness)
        assert body.distToShape(Part.Vertex(hole))[0] == pytest.approx(0.5 * tail.tab.hole, abs=1e-6)
    # What is left of tube and sleeve beyond the cross bolt.
    bottom = seat.z - body.BoundBox.ZMin
    assert bottom == pytest.approx(tail.receiver.tube_end, abs=1e-6)
    assert min(sleeve.BoundBox.ZMax - seat.z, tail.receiver.sleeve_end) == pytest.approx(tail.receiver.sleeve_end, abs=1e-6)
    assert sleeve.distToShape(Part.Vertex(local(tail.receiver.weld)))[0] < 0.5 * tail.receiver.diameter + 1e-6
    flanges = [f for f in body.Faces if f.normalAt(0.5, 0.5).z < -0.999 and abs(f.CenterOfMass.z - (head.z - tail.tab.flange)) < 1e-6]
    assert bool(tail.tab.flange) == bool(transmission_mount.layout.flanges(made)) and flanges


@pytest.mark.parametrize("name", cars.EACH)
def test_the_strut_is_screened_as_it_is_built(name):
    car = filled(carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml"))
    scene = scenes.of(car)
    held, record = load_model.mounting(car, scene).strut, car.mounts.limiter_strut
    plate, rail = (limiter_bracket.build(limiter_bracket.spec(record, scene, end)) for end in ("plate", "rail"))
    made = limiter_strut.spec(record, scene)
    end = FreeCAD.Vector(*scene.engine_frame.to_local(np.array(held.point)))
    assert (end - FreeCAD.Vector(*made.front)).Length < 1e-6 and held.tube.length == pytest.approx(limiter_strut.length(made))
    # Ears: their inner faces stand a ball apart, as wide as the bracket; the web's front face lies on the plate.
    up = FreeCAD.Vector(0, 0, 1)
    for shape in (plate, rail):
        assert shape.BoundBox.YLength == pytest.approx(held.clevis.width, abs=1e-6)
    for sign in (1.0, -1.0):
        ear = end + up * sign * 0.5 * (held.clevis.ball + held.clevis.thickness)
        assert plate.distToShape(Part.Vertex(ear))[0] == pytest.approx(0.5 * held.clevis.hole, abs=1e-6)
        bolt = FreeCAD.Vector(plate.BoundBox.XMax - 0.5 * held.clevis.thickness, end.y, end.z + sign * held.plate_end.apart)
        assert plate.distToShape(Part.Vertex(bolt))[0] == pytest.approx(0.5 * held.plate_end.hole, abs=1e-6)
    assert plate.BoundBox.XMax - end.x == pytest.approx(held.clevis.reach + held.clevis.thickness, abs=1e-6)
    assert plate.BoundBox.XMax == pytest.approx(scene.engine.block_length)
    # Edge distance in the plate, measured on the plate's solid: hole wall to the nearest other wall, and half the hole.
    solid = front_plate.build(front_plate.spec(car.plates.front, car.mounts.rail_tabs, scene, record))
    outline = [e for e in solid.Edges if abs(e.CenterOfMass.x - solid.BoundBox.XMin) < 1e-6 and abs(e.BoundBox.XLength) < 1e-6]
    holes = [FreeCAD.Vector(solid.BoundBox.XMin, end.y, end.z + sign * held.plate_end.apart) for sign in (1.0, -1.0)]
    small = [e for e in outline if e.Curve.TypeId == "Part::GeomCircle" and e.isClosed() and e.Curve.Radius < held.plate_end.hole]
    nearest = min(e.distToShape(Part.Vertex(hole))[0] for hole in holes for e in outline if not any(e.isSame(s) for s in small))
    assert held.plate_end.plate_edge == pytest.approx(nearest, abs=1e-6)
    # The rail's bracket sits on the rail over the stated height.
    foot = FreeCAD.Vector(*made.rear)
    line = rail_clamp.rail_line(scene, record.side)
    assert foot.z - held.rail_end.height == pytest.approx(line.at(foot.x)[1] + line.half_height, abs=2.5)
    assert rail.BoundBox.XMin == pytest.approx(foot.x - held.clevis.reach - held.clevis.thickness, abs=0.1)   # a loose box


@pytest.mark.parametrize("name", cars.EACH)
def test_the_report_lists_hardware_for_every_screened_joint(name):
    from crankline.reports import numbers
    car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
    listed = numbers.hardware_figures(car)
    for hole in bolt_holes.holes(filled(car), scenes.of(car)):
        bolts = [line for line in listed if set(hole.subjects) <= set(line["where"]) and "bolt" in line["row"]]
        # Through the bell's flange, whose thickness no record gives, no length is told.
        assert bolts and (bolts[0]["length_mm"] or "transmission" in bolts[0]["where"]), hole.name
