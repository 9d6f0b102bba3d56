"""Points that a tape, a plumb bob or a level is put to: their names, what body each moves with, and where it is on that body.

Bodies: ``powertrain`` (engine frame), ``rear_end`` (rear joint, X forward along the pinion), ``chassis`` (car frame, which nothing moves).
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from .frames import Frame
from .scene import Scene

POWERTRAIN, REAR_END, CHASSIS = "powertrain", "rear_end", "chassis"
BODIES = (POWERTRAIN, REAR_END, CHASSIS)

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class MeasuredPoint:
    """A point: its body, coordinates on it, mm, and what a builder calls it. mistaken: names of points that are taken for it, such as
    the other face of a plate."""
    name: str
    body: str
    at: Vector
    words: str
    mistaken: tuple[str, ...] = ()


def of(car: model.Car, scene: Scene) -> dict[str, MeasuredPoint]:
    """Name to every point of a car, defaults filled in."""
    found = [*_block(scene), *_plates(car, scene), *_driveline(scene), *_chassis(scene)]
    return {one.name: one for one in found}


def stood(point: MeasuredPoint, engine: Frame, rear_end: Frame) -> Vector:
    """Where a point is in the car frame, mm."""
    if point.body == CHASSIS:
        return point.at
    x, y, z = (engine if point.body == POWERTRAIN else rear_end).to_car(point.at)
    return float(x), float(y), float(z)


def _block(scene: Scene) -> list[MeasuredPoint]:
    engine, drop, length = scene.engine, float(scene.engine.base_drop), float(scene.engine.block_length)
    behind = tuple(name for name, there in (("protector_rear", scene.stack.protector), ("mid_plate_rear", scene.stack.mid_plate)) if there)
    plug, other = engine.number_one_plug, engine.foremost_plug
    found = [MeasuredPoint("block_rear", POWERTRAIN, (0.0, 0.0, -drop), "rear face of the block, at its base", behind),
             MeasuredPoint("block_front", POWERTRAIN, (length, 0.0, -drop), "front face of the block, at its base", ("front_plate_front",)),
             MeasuredPoint("crank_rear", POWERTRAIN, (0.0, 0.0, 0.0), "crank centerline, rear face of the block", ("crank_front",)),
             MeasuredPoint("crank_front", POWERTRAIN, (length, 0.0, 0.0), "crank centerline, front face of the block", ("crank_rear",)),
             MeasuredPoint("number_one_plug", POWERTRAIN, (plug.x, plug.y, plug.z), "number one plug",
                           () if other is None else ("foremost_plug",))]
    if other is not None:
        found.append(MeasuredPoint("foremost_plug", POWERTRAIN, (other.x, other.y, other.z), "foremost plug", ("number_one_plug",)))
    return found


def _plates(car: model.Car, scene: Scene) -> list[MeasuredPoint]:
    """Faces of the plates at the crank, and the ends of the plates where they meet rails or feet, on their centerline."""
    found: list[MeasuredPoint] = []
    stack, rails = scene.stack, scene.chassis.rails
    drop, length = float(scene.engine.base_drop), float(scene.engine.block_length)
    if stack.protector:
        found.append(MeasuredPoint("protector_rear", POWERTRAIN, (-stack.protector, 0.0, -drop), "rear face of the block protector",
                                   ("mid_plate_rear",)))
    mid = car.plates.mid
    if stack.mid_plate and mid is not None:
        front, rear = -stack.protector, -stack.total
        found += [MeasuredPoint("mid_plate_front", POWERTRAIN, (front, 0.0, -drop), "front face of the mid plate", ("mid_plate_rear",)),
                  MeasuredPoint("mid_plate_rear", POWERTRAIN, (rear, 0.0, -drop), "rear face of the mid plate", ("mid_plate_front",))]
        level = 0.0 if rails.height is None else rails.height - float(scene.engine_frame.origin[2])
        for side, sign in (("left", 1.0), ("right", -1.0)):
            found += [MeasuredPoint(f"mid_plate_{side}", POWERTRAIN, (front, sign * mid.half_width, level),
                                    f"{side} edge of the mid plate, front face, at the rail", (f"mid_plate_{side}_rear",)),
                      MeasuredPoint(f"mid_plate_{side}_rear", POWERTRAIN, (rear, sign * mid.half_width, level),
                                    f"{side} edge of the mid plate, rear face, at the rail", (f"mid_plate_{side}",))]
    plate = car.plates.front
    if plate is not None:
        found.append(MeasuredPoint("front_plate_front", POWERTRAIN, (length + plate.thickness, 0.0, -drop), "front face of the front plate",
                                   ("block_front",)))
        half = plate.foot_half_spacing if plate.foot_half_spacing is not None else plate.half_width
        if half is not None:
            low = -float(plate.foot_drop or 0.0)
            for side, sign in (("left", 1.0), ("right", -1.0)):
                found += [MeasuredPoint(f"front_plate_{side}", POWERTRAIN, (length + plate.thickness, sign * half, low),
                                        f"{side} end of the front plate, front face", (f"front_plate_{side}_rear",)),
                          MeasuredPoint(f"front_plate_{side}_rear", POWERTRAIN, (length, sign * half, low),
                                        f"{side} end of the front plate, rear face", (f"front_plate_{side}",))]
    return found


def _driveline(scene: Scene) -> list[MeasuredPoint]:
    box = scene.transmission
    setback = scene.stack.total + box.bell_to_seal + box.joint_from_seal
    pad = box.mount_pad
    return [MeasuredPoint("front_joint", POWERTRAIN, (-setback, 0.0, 0.0), "front joint", ("output_seal",)),
            MeasuredPoint("output_seal", POWERTRAIN, (-scene.stack.total - box.bell_to_seal, 0.0, 0.0), "output seal"),
            MeasuredPoint("tail_mount", POWERTRAIN, (-scene.stack.total - pad.from_bell, 0.0, -pad.below_axis),
                          "mount pad of the transmission's tail"),
            MeasuredPoint("rear_joint", REAR_END, (0.0, 0.0, 0.0), "rear joint")]


def _chassis(scene: Scene) -> list[MeasuredPoint]:
    chassis, rails = scene.chassis, scene.chassis.rails
    found = [MeasuredPoint("axle", CHASSIS, (0.0, 0.0, float(chassis.rear_tire.loaded_radius)), "rear axle centerline")]
    if rails.height is None:
        return found
    radius = rails.section.outer_diameter / 2.0
    top, bottom = rails.height + radius, rails.height - radius
    found += [MeasuredPoint("rail_top", CHASSIS, (0.0, 0.0, top), "top of the main rails", ("rail_bottom",)),
              MeasuredPoint("rail_bottom", CHASSIS, (0.0, 0.0, bottom), "bottom of the main rails")]
    if rails.half_spacing is not None:
        for side, sign in (("left", 1.0), ("right", -1.0)):
            inside, outside = (sign * (rails.half_spacing + way * radius) for way in (-1.0, 1.0))
            found += [MeasuredPoint(f"rail_{side}_inside", CHASSIS, (0.0, inside, rails.height), f"inside of the {side} main rail",
                                    (f"rail_{side}_outside",)),
                      MeasuredPoint(f"rail_{side}_outside", CHASSIS, (0.0, outside, rails.height), f"outside of the {side} main rail"),
                      MeasuredPoint(f"rail_{side}_at_axle", CHASSIS, (0.0, sign * rails.half_spacing, top),
                                    f"top center of the {side} main rail at the axle")]
    return found
