"""Driveline parts over a seeded sweep of valid car files around both demo cars: 500 as numbers, some of them as solids.

Random are placement, driveshaft, travel, every loop (kind, form, size, station, opening), enclosure and tunnel. Each car is written and
read as a car file before its solids are made. Volumes are compared with closed forms. All 500 as solids: ``--solids 250`` (a quarter of an
hour).
"""
from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import cars
import numpy as np
import pytest
from conftest import ROOT
from oracles import closed_angle, envelope_volume, outside, row_volume, tunnel_volume

from crankline import carfile, model
from crankline.geometry import (
    driveshaft,
    enclosure,
    enclosure_mount,
    firewall,
    fixed_loop,
    measure,
    shaft_envelope,
    split_loop,
    tube,
    tunnel,
)
from crankline.mechanics import envelope, travel
from crankline.mechanics import scene as scenes
from crankline.record import filled

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")
NUMBERS, SOLIDS = 250, 5
MOUNTS = [f"enclosure_mount/{end}_{side}" for end in enclosure_mount.ENDS for side in enclosure_mount.SIDES]
BUILDERS = {"fixed": fixed_loop, "split": split_loop}
TRAVEL = {"full_bodied_automatic": (3.0, 4.0), "open_clutch": (3.0, 4.0)}
"""Greatest bump and droop in inches that the demo's links reach."""


@cache
def demo(name):
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


def random_loop(rng, name, x, member_x):
    kind = rng.choice(["split", "fixed"])
    width = rng.uniform(5.5, 8.5) * INCH
    height = width * (1.0 if rng.random() < 0.4 else rng.uniform(0.8, 1.4))
    strap = rng.random() < 0.3
    made = dict(form="strap", section=None, strap_thickness=rng.uniform(0.125, 0.375) * INCH,
                strap_width=rng.uniform(1.0, 2.5) * INCH) if strap else dict(
        section=model.Section(outer_diameter=rng.uniform(0.75, 1.25) * INCH, wall=rng.uniform(0.049, 0.12) * INCH))
    opening = 0.0 if rng.random() < 0.7 else float(rng.uniform(0.05, 1.0))
    return model.Loop(name=name, kind=str(kind), x=float(member_x if kind == "fixed" and rng.random() < 0.5 else x),
                      inner_width=float(width),
                      inner_height=float(height), open_angle=opening, pins_split=int(rng.integers(0, 5)), pins_feet=int(rng.integers(0, 3)),
                      center_z=None if rng.random() < 0.5 else float(rng.uniform(11.0, 13.0) * INCH), **made)


def random_car(name, rng):
    """A valid car: what the rules think of it does not matter here."""
    car = demo(name)
    car = replace(car, placement=replace(car.placement, axle_to_block=rng.uniform(79, 88) * INCH, crank_height=rng.uniform(9, 11.5) * INCH,
                                         pitch_mode="fixed",
                                         pitch=math.radians(rng.uniform(0.0, 3.5)), lateral=rng.uniform(-1.0, 1.0) * INCH))
    diameter = rng.uniform(2.5, 4.5) * INCH
    bump, droop = TRAVEL[name]
    car = replace(car, driveshaft=replace(car.driveshaft, outer_diameter=diameter, wall=rng.uniform(0.049, 0.25) * INCH,
                                          joint_swing_diameter=rng.uniform(3.4, 6.0) * INCH, phase=math.radians(rng.uniform(-20, 20)),
                                          whip_allowance=rng.uniform(0.0, 0.5) * INCH),
                  rear_end=replace(car.rear_end, windup=math.radians(rng.uniform(0.0, 3.0)), suspension=replace(
                      car.rear_end.suspension, bump=rng.uniform(0.0, bump) * INCH, droop=rng.uniform(0.0, droop) * INCH)))
    place = scenes.of(car)
    front, rear = float(place.front_joint[0]), float(place.rear_joint[0])
    member = car.chassis.rear_cross_member.x
    stations = [front - rng.uniform(2.5, 8.0) * INCH, front - rng.uniform(10.0, 16.0) * INCH, rear + rng.uniform(4.0, 12.0) * INCH]
    loops = tuple(random_loop(rng, f"l{i}", x, member + 0.1 * i * INCH) for i, x in enumerate(stations))
    x_front = front + rng.uniform(-1.0, 3.0) * INCH
    # Now and then as in practice: centered on the shaft, or ending just behind the output seal.
    if rng.random() < 0.5:
        loops = tuple(replace(loop, center_z=None) for loop in loops)
    if rng.random() < 0.3:
        x_front = front + (place.transmission.joint_from_seal - rng.uniform(-0.5, 1.0) * INCH)
    tube_ = replace(car.containment.enclosure, x_front=x_front, x_rear=x_front - rng.uniform(8.0, 28.0) * INCH,
                    outer_diameter=rng.uniform(5.0, 7.0) * INCH,
                    wall=rng.uniform(0.049, 0.15) * INCH, front_support=str(rng.choice(["loop", "transmission_tail"])),
                    mount_thickness=rng.uniform(0.06, 0.25) * INCH, mount_width=rng.uniform(0.75, 3.0) * INCH)
    cover = replace(car.containment.tunnel, thickness=rng.uniform(0.03, 0.12) * INCH, clearance=rng.uniform(0.25, 1.25) * INCH)
    return replace(car, containment=replace(car.containment, loops=loops, enclosure=tube_, tunnel=cover))


def specs(car, place):
    """(part, module, spec) of every driveline part; refused: sentences of parts that the numbers cannot make."""
    full = filled(car)
    loops = full.containment.loops
    wanted = [("driveshaft", driveshaft, (full.driveshaft, place)), ("shaft_envelope", shaft_envelope, (full.driveshaft, place)),
              ("enclosure", enclosure, (full.containment.enclosure, place, loops)),
              ("tunnel", tunnel, (full.containment.tunnel, full.containment, place)),
              ("firewall", firewall, (full.plates.mid, full.mounts.rail_tabs, place))]
    wanted += [(loop, BUILDERS[loop.kind], (loop, place)) for loop in loops]
    wanted += [(key, enclosure_mount, (full.containment.enclosure, place, loops, *key.partition("/")[2].split("_"))) for key in MOUNTS]
    made, refused = [], []
    for part, module, given in wanted:
        try:
            made.append((part, module, module.spec(*given)))
        except ValueError as reason:
            refused.append((part, str(reason)))
    return made, refused


@pytest.mark.one_host
@pytest.mark.parametrize("name", CARS)
def test_numbers_over_random_car_files(name):
    rng, refusals, unmounted = np.random.default_rng(41), [], []
    for _ in range(NUMBERS):
        car = random_car(name, rng)
        place = scenes.of(car)
        made, refused = specs(car, place)
        refusals += [one for one in refused if one[0] not in MOUNTS]
        unmounted += [one for one in refused if one[0] in MOUNTS]
        found = {part: spec for part, _module, spec in made if isinstance(part, str)}
        full = filled(car)
        shaft, given = found["driveshaft"], full.driveshaft
        assert shaft.length == pytest.approx(math.dist(place.front_joint, place.rear_joint), rel=1e-12)
        # Weld yokes are what the clearances take as the joints' reach.
        assert driveshaft.tube_length(shaft) == pytest.approx(shaft.length - 2 * travel.body_of(given).reach,
                                                              rel=1e-12) and driveshaft.tube_length(shaft) > 0.0
        # The swept volume holds the shaft where it stands, to its whip allowance.
        row = tuple(envelope.Section(*one) for one in found["shaft_envelope"].sections)
        x = np.linspace(0.0, shaft.length, 9)
        body = travel.body_of(given)
        radius = np.where(np.minimum(x, shaft.length - x) <= body.reach, body.joint, body.tube)
        for way in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            points = np.column_stack([x, radius * way[0], radius * way[1]])
            assert np.all(outside(row, points) < 1e-6)
        assert row_volume(row) > math.pi * body.tube**2 * shaft.length
        if "enclosure" in found:
            ends = enclosure.axis_points(full.containment.enclosure, place, full.containment.loops)
            assert found["enclosure"].length == pytest.approx(math.dist(*ends), rel=1e-12)
            assert (ends[0][0], ends[1][0]) == pytest.approx((full.containment.enclosure.x_rear, full.containment.enclosure.x_front),
                                                             abs=1e-6)
        if {"enclosure", "tunnel"} <= set(found):
            cover = found["tunnel"]
            covered = full.containment.enclosure.outer_diameter / 2 + full.containment.tunnel.clearance
            assert cover.radius >= covered - 1e-9 and min(cover.sides) > 0.0
        for loop, _module, spec in made:
            if isinstance(loop, model.Loop):
                wide, high, deep = spec.ring.inner_width, spec.ring.inner_height, spec.ring.depth
                assert spec.ring.length == pytest.approx(math.pi * (min(wide, high) + deep) + 2 * abs(wide - high), rel=1e-12)
        assert all(hash(spec) for _part, _module, spec in made)
    # A valid car is one whose parts can be made; what is refused says why in one sentence.
    assert all("\n" not in words and ";" in words for _part, words in refusals)
    assert len(refusals) < 0.01 * NUMBERS, refusals[:3]
    # A random tube fits into some of the random loops; where it does not, that is said.
    assert all("\n" not in words and words.startswith("containment.enclosure") and ";" in words for _part, words in unmounted)
    assert 0.1 * 4 * NUMBERS < len(unmounted) < 0.9 * 4 * NUMBERS


@pytest.mark.parametrize("name", cars.EACH)
def test_every_part_is_one_valid_solid(name, solids, seed):
    rng, mounts = np.random.default_rng(seed(17)), 0
    for number in range(solids(SOLIDS)):
        drawn = random_car(name, rng)
        car = carfile.read_text(carfile.write_text(drawn))
        place = scenes.of(car)
        made, _refused = specs(car, place)
        assert len(made) >= 7
        for part, module, spec in made:
            shape = module.build(spec)
            what = (number, getattr(part, "name", part))
            assert shape.ShapeType == "Solid" and shape.isValid() and len(shape.Solids) == 1 and shape.Volume > 0.0, what
            volume = measure.volume(shape)
            if part == "enclosure":
                assert volume == pytest.approx(tube.volume(spec.outer_diameter, spec.wall, spec.length), rel=1e-6), what
            elif part == "tunnel":
                # Less than its openings leave only where they cut a piece off.
                expected, openings = tunnel_volume(spec), spec.slots + spec.notches
                assert volume == pytest.approx(expected, rel=1e-6) or (openings and 0.5 * expected < volume < expected), what
            elif part in MOUNTS:
                mounts += 1
                assert volume > 0.5 * spec.thickness * spec.width * min(spec.width, 12.0), what
            elif part == "shaft_envelope":
                assert volume == pytest.approx(envelope_volume(spec), rel=1e-3), what
            elif part == "driveshaft":
                # Tube by closed form; yokes and crosses are more than none and less than full cylinders of the swing.
                rest = volume - driveshaft.tube_volume(spec)
                assert 0.0 < rest < math.pi / 4 * spec.swing**2 * (4 * driveshaft.yoke_length(spec.swing) + spec.seal), what
            elif isinstance(part, model.Loop):
                angle = closed_angle(shape, (0, 0, 0))
                assert angle == pytest.approx(2 * math.pi - part.open_angle, abs=0.003), what
                assert volume > 0.9 * spec.ring.area * spec.ring.length * (1 - part.open_angle / math.pi), what
    assert mounts >= solids(SOLIDS) // 2
