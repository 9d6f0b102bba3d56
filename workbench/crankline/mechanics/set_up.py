"""How a powertrain is set in a chassis without a fixture: what is measured, from what, in which order, how closely, and what it does to
the driveline where it is off.

Datums are those that tape, plumb bob, straightedge and digital level reach: the rear axle centerline, the center plane, the track plane
(a level floor at ride height), the top of the main rails, and a surface plate where the car names one. Numbers only.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from .. import model
from ..units import DEG, INCH
from . import placement as placing
from . import scene as scenes
from .scene import Scene, SceneError

TAPE, LEVEL, SQUARE = INCH / 16.0, 0.1 * DEG, INCH / 8.0
"""How closely each is set: along and up, mm; by a digital level, rad; a pair of diagonals against each other, mm (common practice, no
source)."""
STEPS = {"axle_to_block": INCH / 16.0, "crank_height": INCH / 16.0, "pitch": 0.1 * DEG}
"""What a placement number is off by where its effect is told: mm, mm, rad."""


@dataclass(frozen=True)
class Reading:
    """One thing to be measured. kind: ``along`` (from the rear axle centerline, forward), ``up`` (above the track plane), ``aside`` (from
    the center plane, left), ``angle`` (a digital level, rear or nose as the name says), ``diagonal``, ``distance``; value and tolerance: mm
    or rad; rail: mm above the top of the main rails, of a height; plate: mm above the surface plate, or the angle that a level zeroed on
    it reads; None where that is not told."""
    name: str
    kind: str
    value: float
    tolerance: float
    rail: float | None = None
    plate: float | None = None


@dataclass(frozen=True)
class Effect:
    """What a placement number that is off by a step does, to first order: changes of both joint angles, the residual of both, rad, and of
    the least height of the pans over the track, mm."""
    number: str
    step: float
    front_joint: float
    rear_joint: float
    residual: float
    pan: float


def readings(car: model.Car, scene: Scene) -> tuple[Reading, ...]:
    """What is measured, in the order of the work: the chassis first, then block, crank, plates, pinion, and the driveline last. car with
    its defaults filled in."""
    found = [*_chassis(scene), *_block(scene), *_behind(car, scene)]
    plate = car.chassis.surface_plate
    rails = scene.chassis.rails
    top = None if rails.height is None else rails.height + rails.section.outer_diameter / 2.0
    return tuple(_from_datums(one, top, plate) for one in found)


def _from_datums(one: tuple[Reading, float | None], top: float | None, plate: model.SurfacePlate | None) -> Reading:
    """A reading with what it is from the other datums; station: X of a height, mm."""
    reading, station = one
    if reading.kind == "up":
        on_plate = None if plate is None or station is None else float(
            placing.to_plate(np.array([station, 0.0, reading.value]), plate.height, plate.rake)[2])
        return replace(reading, rail=None if top is None else reading.value - top, plate=on_plate)
    if reading.kind == "angle" and plate is not None:
        return replace(reading, plate=reading.value + plate.rake)
    return reading


def _chassis(scene: Scene) -> list[tuple[Reading, float | None]]:
    """The chassis itself: what everything else is measured from has to be right first."""
    tire, rails = scene.chassis.rear_tire, scene.chassis.rails
    found: list[tuple[Reading, float | None]] = [(Reading("Rear axle centerline above track", "up", float(tire.loaded_radius), TAPE), 0.0)]
    if rails.height is not None:
        top = rails.height + rails.section.outer_diameter / 2.0
        found.append((Reading("Top of main rails above track", "up", float(top), TAPE), 0.0))
    if rails.half_spacing is not None:
        inside = rails.half_spacing - rails.section.outer_diameter / 2.0
        found.append((Reading("Center plane to inside of main rail, each side", "aside", float(inside), TAPE), None))
        station = float(placing.mid_plate_front(scene.located, scene.block, scene.stack.protector))
        across = 2.0 * rails.half_spacing
        found.append((Reading("Diagonals, rail at axle to other rail at mid plate", "diagonal",
                              float(np.hypot(station, across)), SQUARE), None))
    return found


def _block(scene: Scene) -> list[tuple[Reading, float | None]]:
    """The block by its three numbers, and by what a second height and a plug hole say of them."""
    frame, block, stated = scene.engine_frame, scene.block, scene.placement
    base, ends = placing.block_base_rear(frame, block), (0.0, scene.engine.block_length)
    found: list[tuple[Reading, float | None]] = [(Reading("Axle to rear face of block, at its base", "along", float(base[0]), TAPE), None)]
    for name, x in zip(("rear", "front"), ends):
        point = scene.engine_point(x)
        found.append((Reading(f"Crank above track, {name} face of block", "up", float(point[2]), TAPE), float(point[0])))
    found.append((Reading("Crank pitch, rear high", "angle", scene.pitch, LEVEL), None))
    found.append((Reading("Center plane to crank, rear face of block", "aside", float(stated.lateral), TAPE), None))
    found.append((Reading("Crank level across the car", "angle", float(stated.roll), LEVEL), None))
    plug = scene.engine.number_one_plug
    found.append((Reading("Axle to number one plug", "along",
                          float(placing.number_one_plug_distance(frame, [plug.x, plug.y, plug.z])), TAPE), None))
    return found


def _behind(car: model.Car, scene: Scene) -> list[tuple[Reading, float | None]]:
    """What is behind the block: mid plate, pinion, joints, and what contains the shaft."""
    mid = float(placing.mid_plate_front(scene.located, scene.block, scene.stack.protector))
    found: list[tuple[Reading, float | None]] = []
    if scene.stack.mid_plate:
        found.append((Reading("Axle to front face of mid plate, at crank", "along", mid, TAPE), None))
    pinion = float(-np.arcsin(scene.pinion_axis[2]))
    front, rear = scene.front_joint, scene.rear_joint
    found += [(Reading("Pinion pitch, nose low", "angle", pinion, LEVEL), None),
              (Reading("Rear joint above track", "up", float(rear[2]), TAPE), float(rear[0])),
              (Reading("Front joint above track", "up", float(front[2]), TAPE), float(front[0]))]
    if car.driveshaft is not None:
        found.append((Reading("Joint to joint, center to center", "distance", float(scene.driveline.length), TAPE), None))
    for loop in car.containment.loops if car.containment else ():
        center = scene.loop_center(loop)
        found += [(Reading(f"Axle to loop {loop.name}, its center", "along", float(center[0]), TAPE), None),
                  (Reading(f"Center of loop {loop.name} above track", "up", float(center[2]), TAPE), float(center[0]))]
    return found


def effects(scene: Scene) -> tuple[Effect, ...]:
    """What each of the three placement numbers does where it is off by a step, by central differences of the scene; the pitch is held
    where it is given, and solved again where the car says that it is."""
    found = []
    for number, step in STEPS.items():
        if number == "pitch" and scene.placement.pitch_mode != "fixed":
            continue
        try:
            low, high = (_moved(scene, number, side * step) for side in (-1.0, 1.0))
        except SceneError:
            continue
        found.append(Effect(number, step, *(float(b - a) / 2.0 for a, b in zip(_figures(low), _figures(high)))))
    return tuple(found)


def _moved(scene: Scene, number: str, by: float) -> Scene:
    placement = replace(scene.placement, **{number: getattr(scene.placement, number) + by})
    return scenes.build(scene.chassis, scene.rear_end, scene.engine, scene.transmission, placement, scene.stack)


def _figures(scene: Scene) -> tuple[float, float, float, float]:
    line = scene.driveline
    return float(line.front_angle), float(line.rear_angle), float(line.residual), pan_height(scene)


def pan_height(scene: Scene) -> float:
    """Least height of the bottoms of both pans over the track, mm; of the crank centerline where neither is described."""
    pan, other, back = scene.engine.pan, scene.transmission.pan, scene.stack.total
    corners = [(0.0, 0.0, 0.0)]
    if pan is not None:
        corners = [(x, side * pan.half_width, -pan.depth) for x, side in product((pan.x_rear, pan.x_front), (-1.0, 1.0))]
    if other is not None:
        corners += [(-back - x, side * other.half_width, -other.below_axis)
                    for x, side in product((other.from_bell_front, other.from_bell_rear), (-1.0, 1.0))]
    return min(float(scene.engine_point(*corner)[2]) for corner in corners)
