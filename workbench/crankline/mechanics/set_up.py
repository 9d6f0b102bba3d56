"""How a powertrain is set in a chassis without a fixture: what is measured, from what, in which order, how closely, and what it does to
the driveline where it is off.

Datums are those that tape, plumb bob, straightedge and digital level reach: the rear axle centerline, the center plane, the track plane
(a level floor at ride height), the top of the main rails, and a surface plate where the car names one. Numbers only.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from .. import model
from ..units import DEG, INCH
from . import placement as placing
from . import scene as scenes
from .chassis import cross_member_station
from .scene import Scene, SceneError

TAPE, LEVEL, SQUARE = INCH / 16.0, 0.1 * DEG, INCH / 8.0
"""How closely each is set: along and up, mm; by a digital level, rad; a pair of diagonals against each other, mm (common practice, no
source)."""
INSIDE_OF_RAIL, DIAGONALS = "Center plane to inside of main rail, each side", "Diagonals, rail at axle to other rail at mid plate"
NUMBERS = {"axle_to_block": "Axle to rear face of block, at its base", "crank_height": "Crank above track, rear face of block",
           "front_height": "Crank above track, front face of block", "pitch": "Crank pitch, rear high",
           "lateral": "Center plane to crank, rear face of block", "roll": "Crank level across the car",
           "pinion_pitch": "Pinion pitch, nose low", "rear_joint": "Rear joint above track"}
"""What may be off by its tolerance, each alone, to the reading that finds it."""


@dataclass(frozen=True)
class Reading:
    """One thing to be measured. kind: ``along`` (from the rear axle centerline, forward), ``up`` (above the track plane), ``aside`` (from
    the center plane, left), ``angle`` (a digital level, rear or nose as the name says), ``diagonal``, ``distance``; value and tolerance: mm
    or rad; rail: mm above the top of the main rails, of a height; plate: mm above the surface plate, or the angle that a level zeroed on
    it reads; None where that is not told. points: names of what is measured (``measured_points``; of an angle ``crank``, ``across`` or
    ``pinion``), none where it is a measure of the chassis and says nothing of where the powertrain is."""
    name: str
    kind: str
    value: float
    tolerance: float
    rail: float | None = None
    plate: float | None = None
    points: tuple[str, ...] = ()


@dataclass(frozen=True)
class Effect:
    """What a number (a key of ``NUMBERS``) that is more by a step does, to first order: changes of both joint angles, rad, and of the least
    height of the pans over the track, mm. residual: by how much the residual of both joints grows at most, a step either way, rad; it is no
    straight line where the two angles are nearly equal."""
    number: str
    step: float
    front_joint: float
    rear_joint: float
    residual: float
    pan: float


def readings(car: model.Car, scene: Scene, stands: Sequence[tuple[str, float, float]] = ()) -> tuple[Reading, ...]:
    """What is measured, in the order of the work: the chassis first, then block, crank, plates, pinion, and the driveline last. car with
    its defaults filled in; stands: name, X of the rear face and height of the cradle's lowest point of set-up stands, mm."""
    found = [*_chassis(scene), *_stands(stands), *_block(scene), *_behind(car, scene)]
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
        # A rake tips the plate along the car, not across it.
        return replace(reading, plate=reading.value + (0.0 if reading.points == ("across",) else plate.rake))
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
        found.append((Reading(INSIDE_OF_RAIL, "aside", float(inside), TAPE), None))
        station = float(placing.mid_plate_front(scene.located, scene.block, scene.stack.protector))
        across = 2.0 * rails.half_spacing
        found.append((Reading(DIAGONALS, "diagonal",
                              float(np.hypot(station, across)), SQUARE), None))
    return found


def _stands(stands: Sequence[tuple[str, float, float]]) -> list[tuple[Reading, float | None]]:
    """Stands that hold the block for a trial, before the block."""
    found: list[tuple[Reading, float | None]] = []
    for name, x, seat in stands:
        found += [(Reading(f"Axle to rear face of {name}", "along", x, TAPE), None),
                  (Reading(f"Cradle of {name} above track", "up", seat, TAPE), x)]
    return found


def _block(scene: Scene) -> list[tuple[Reading, float | None]]:
    """The block by its three numbers, and by what a second height and a plug hole say of them."""
    frame, block = scene.engine_frame, scene.block
    base, ends = placing.block_base_rear(frame, block), (0.0, scene.engine.block_length)
    found: list[tuple[Reading, float | None]] = [
        (Reading("Axle to rear face of block, at its base", "along", float(base[0]), TAPE, points=("block_rear",)), None)]
    for name, x in zip(("rear", "front"), ends):
        point = scene.engine_point(x)
        found.append((Reading(f"Crank above track, {name} face of block", "up", float(point[2]), TAPE, points=(f"crank_{name}",)),
                      float(point[0])))
    found.append((Reading("Crank pitch, rear high", "angle", scene.pitch, LEVEL, points=("crank",)), None))
    # The second of the two shows a crank that points aside.
    for name, x in zip(("rear", "front"), ends):
        found.append((Reading(f"Center plane to crank, {name} face of block", "aside", float(scene.engine_point(x)[1]), TAPE,
                              points=(f"crank_{name}",)), None))
    level = float(np.arcsin(frame.rotation[2, 1]))
    found.append((Reading("Crank level across the car", "angle", level, LEVEL, points=("across",)), None))
    plug = scene.engine.number_one_plug
    found.append((Reading("Axle to number one plug", "along",
                          float(placing.number_one_plug_distance(frame, [plug.x, plug.y, plug.z])), TAPE,
                          points=("number_one_plug",)), None))
    return found


def _behind(car: model.Car, scene: Scene) -> list[tuple[Reading, float | None]]:
    """What is behind the block: mid plate, pinion, joints, and what contains the shaft."""
    mid = float(placing.mid_plate_front(scene.located, scene.block, scene.stack.protector))
    found: list[tuple[Reading, float | None]] = []
    if scene.stack.mid_plate:
        found.append((Reading("Axle to front face of mid plate, at crank", "along", mid, TAPE, points=("mid_plate_front",)), None))
    found += _carried(car, scene)
    pinion = float(-np.arcsin(scene.pinion_axis[2]))
    front, rear = scene.front_joint, scene.rear_joint
    found += [(Reading("Pinion pitch, nose low", "angle", pinion, LEVEL, points=("pinion",)), None),
              (Reading("Rear joint above track", "up", float(rear[2]), TAPE, points=("rear_joint",)), float(rear[0])),
              (Reading("Front joint above track", "up", float(front[2]), TAPE, points=("front_joint",)), float(front[0]))]
    if car.driveshaft is not None:
        found.append((Reading("Joint to joint, center to center", "distance", float(scene.driveline.length), TAPE,
                              points=("front_joint", "rear_joint")), None))
    for loop in car.containment.loops if car.containment else ():
        center = scene.loop_center(loop)
        found += [(Reading(f"Axle to loop {loop.name}, its center", "along", float(center[0]), TAPE), None),
                  (Reading(f"Center of loop {loop.name} above track", "up", float(center[2]), TAPE), float(center[0]))]
    tube = car.containment.enclosure if car.containment else None
    if tube is not None:
        found += [(Reading(f"Axle to enclosure, {end} end", "along", x, TAPE), None)
                  for end, x in (("rear", tube.x_rear), ("front", tube.x_front)) if x is not None]
    return found


def _carried(car: model.Car, scene: Scene) -> list[tuple[Reading, float | None]]:
    """The cross tubes that carry plate and transmission."""
    mounts, found = car.mounts, []
    tube = mounts.support_tube if mounts else None
    if tube is not None and scene.stack.mid_plate:
        middle = scene.engine_point(-(scene.stack.total + tube.behind_plate), 0.0, tube.above_crank)
        found += [(Reading("Rear face of mid plate to support tube", "distance", tube.behind_plate - tube.section.outer_diameter / 2.0,
                           TAPE), None),
                  (Reading("Center of support tube above track", "up", float(middle[2]), TAPE), float(middle[0]))]
    member = mounts.cross_member if mounts else None
    if member is not None and member.z is not None:
        station = float(cross_member_station(member, scene.chassis))
        found += [(Reading("Axle to cross member, its middle", "along", station, TAPE), None),
                  (Reading("Center of cross member above track", "up", member.z, TAPE), station)]
    return found


def effects(scene: Scene) -> tuple[Effect, ...]:
    """What each number does where it is more by the tolerance of its reading and all others are right, by central differences of the
    scene. A pitch that the car has solved is held where it came out: on the floor it is set like any other."""
    found = []
    for number in NUMBERS:
        step = LEVEL if number in ("pitch", "roll", "pinion_pitch") else TAPE
        try:
            low, high = (_moved(scene, number, side * step) for side in (-1.0, 1.0))
        except SceneError:
            continue
        before, (less, more) = float(scene.driveline.residual), (_figures(low), _figures(high))
        front, rear, _residual, pan = ((b - a) / 2.0 for a, b in zip(less, more))
        found.append(Effect(number, step, front, rear, max(less[2], more[2], before) - before, pan))
    return tuple(found)


def together(found: tuple[Effect, ...]) -> tuple[float, float, float]:
    """The most that all of them can do at once to front joint angle, rear joint angle and pans, each off by its step either way: sums of
    their sizes, rad, rad, mm. The height of the block's front face is the pitch by another tool and does not count beside it."""
    each = [one for one in found if one.number != "front_height"]
    front, rear, pan = (sum(abs(getattr(one, name)) for one in each) for name in ("front_joint", "rear_joint", "pan"))
    return front, rear, pan


def _moved(scene: Scene, number: str, by: float) -> Scene:
    """The scene with one number more; heights are those at the rear face of the block, wherever the car states its own."""
    placement = replace(scene.placement, pitch_mode="fixed", pitch=scene.pitch)
    rear_end = scene.rear_end
    if number in ("crank_height", "front_height"):
        placement = replace(placement, height_at="block_rear", crank_height=float(scene.engine_point(0.0)[2]))
    if number == "front_height":
        # The front face of the block comes up about its rear face.
        placement = replace(placement, pitch=scene.pitch - by / (scene.engine.block_length * float(np.cos(scene.pitch))))
    elif number == "pinion_pitch":
        rear_end = replace(rear_end, pinion_pitch=float(-np.arcsin(scene.pinion_axis[2])) + by)
    elif number == "rear_joint":
        x, y, z = (float(value) for value in scene.rear_joint)
        rear_end = replace(rear_end, pinion_joint=model.Point(x=x, y=y, z=z + by))
    else:
        placement = replace(placement, **{number: getattr(placement, number) + by})
    return scenes.build(scene.chassis, rear_end, scene.engine, scene.transmission, placement, scene.stack)


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


def sight(one: Reading) -> tuple[str, tuple[str, ...]]:
    """(kind, names of points) of a reading that says where something is, as ``sighting`` has them."""
    if one.kind == "angle":
        return {"crank": "crank_angle", "across": "cross_angle", "pinion": "pinion_angle"}[one.points[0]], ()
    return one.kind, one.points
