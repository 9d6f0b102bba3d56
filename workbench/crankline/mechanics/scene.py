"""The placed powertrain as every part, rule and drawing sees it: records with defaults filled in, and where things stand.

One scene is one placement of one car. It is computed from records alone, in closed form, and is the same whether the
records came from a car file or from a document. ``spread`` makes one of many placements of a car at once, by the same lines.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from ..record import filled
from ..units import INCH, sized
from . import frames, joints
from . import placement as placing

QUARTER_INCH = INCH / 4.0
NO_PITCH = "placement.pitch is missing; give an angle such as 2.0 deg, or parallel, in_line or balanced"


class SceneError(ValueError):
    """A placement that cannot be computed. The message is one sentence naming the field and the way out."""


@dataclass(frozen=True)
class Stack:
    """What is between block and transmission, mm, in the order from the front; 0 for a plate that is not there."""
    protector: float
    mid_plate: float

    @property
    def total(self) -> float:
        """Distance from the block's rear face to the bell's front face."""
        return self.protector + self.mid_plate


@dataclass(frozen=True)
class Scene:
    """Records (defaults filled) and frames of one placed car. Points are (3,) arrays in the car frame, mm, rad.

    ``engine_frame``: axes x forward along the crank, y left, z up in the plane of the block; ``shaft_frame``: origin in
    the rear joint, x forward along the driveshaft, y left and level.
    """
    chassis: model.Chassis
    rear_end: model.RearEnd
    engine: model.Engine
    transmission: model.Transmission
    placement: model.Placement
    stack: Stack
    pitch: float
    engine_frame: frames.Frame
    front_joint: np.ndarray
    rear_joint: np.ndarray
    pinion_axis: np.ndarray
    shaft_frame: frames.Frame
    driveline: joints.Driveline
    designed: Scene | None = None
    """Of a placement as built, whose ``placement`` and ``rear_end`` are those that were found: the scene as designed."""

    @property
    def as_built(self) -> bool:
        """Whether this is the placement as built."""
        return self.designed is not None

    @property
    def block(self) -> placing.Block:
        """The block as placement mathematics wants it."""
        return placing.Block(self.engine.base_drop, self.engine.block_length)

    @property
    def located(self) -> placing.Placement:
        """The placement with its pitch solved."""
        return located(self.placement, self.pitch)

    def engine_point(self, x: float, y: float = 0.0, z: float = 0.0) -> np.ndarray:
        """A point of the engine frame in the car frame."""
        return self.engine_frame.to_car(np.array([x, y, z], dtype=float))

    def shaft_at(self, x: float) -> np.ndarray:
        """Point of the shaft's axis, produced beyond the joints, at a chassis station."""
        span = self.front_joint - self.rear_joint
        return self.rear_joint + span * ((x - self.rear_joint[0]) / span[..., 0])[..., None]

    def loop_center(self, loop: model.Loop) -> np.ndarray:
        """Centre of a loop: stated, or on the shaft axis to the nearest quarter inch.

        Loops are welded or pinned to chassis tubes, so their seat is a round number and does not follow the shaft by
        hundredths when the placement is adjusted.
        """
        on_axis = np.round(self.shaft_at(loop.x) / QUARTER_INCH) * QUARTER_INCH
        y = on_axis[1] if loop.center_y is None else loop.center_y
        z = on_axis[2] if loop.center_z is None else loop.center_z
        return np.array([loop.x, y, z])


def located(placement: model.Placement, pitch: float) -> placing.Placement:
    """A placement record as the arrays that placement mathematics wants."""
    return placing.Placement(placement.axle_to_block, placement.crank_height, pitch, placement.lateral, placement.roll,
                             placement.yaw, placement.height_at)


def pinion(chassis: model.Chassis, rear_end: model.RearEnd) -> tuple[np.ndarray, float]:
    """Rear joint center (3,) and pinion pitch at static ride height; the housing gives the joint where none is stated."""
    pitch = rear_end.pinion_pitch
    if pitch is None:
        raise SceneError("rear_end.pinion_pitch is missing; give it in degrees, or a pinion line in the side sketch")
    if rear_end.pinion_joint is not None:
        joint = rear_end.pinion_joint
        return np.array([joint.x, joint.y, joint.z]), pitch
    if rear_end.housing is None:
        raise SceneError("rear_end.pinion_joint is missing; give the joint, the housing, or a pinion line in the side sketch")
    turned = frames.rotation(0.0, pitch, 0.0)
    offset = turned @ np.array([rear_end.housing.joint_ahead, 0.0, -rear_end.housing.hypoid_drop])
    return offset + np.array([0.0, 0.0, chassis.rear_tire.loaded_radius]), pitch


def stack_of(plates: model.Plates) -> Stack:
    """The stack that a car's plates make."""
    return Stack(*(plate.thickness if plate is not None else 0.0 for plate in (plates.protector, plates.mid)))


def of(car: model.Car) -> Scene:
    """The scene of a car; SceneError where the placement has no solution."""
    absent: Any = None
    # Further tubes are parts of their own; a document's scene holds none either.
    return build(replace(car.chassis, tubes=absent), car.rear_end, car.engine, car.transmission, car.placement, stack_of(car.plates))


def build(chassis: model.Chassis, rear_end: model.RearEnd, engine: model.Engine, transmission: model.Transmission,
          placement: model.Placement, stack: Stack) -> Scene:
    """The scene of separate records (a document keeps them on separate objects); SceneError where there is none."""
    placement, designed = filled(placement), None
    if placement.shown == "as_built" and placement.as_built is not None:
        designed = build(chassis, rear_end, engine, transmission, replace(placement, shown="as_designed"), stack)
    placement, rear_end = in_force(chassis, rear_end, placement)
    if placement.pitch_mode == "fixed" and placement.pitch is None:
        raise SceneError(NO_PITCH)
    found, solved = _placed(chassis, rear_end, engine, transmission, placement, stack)
    if not np.isfinite(found.pitch):
        raise SceneError(f"placement.pitch: {placement.pitch_mode} has no solution for this axle-to-block and crank "
                         "height; move the powertrain forward or give an angle")
    if not solved:
        raise SceneError(f"placement.axle_to_block: the front joint comes to X = {sized(found.front_joint[0], 2)}, not ahead "
                         f"of the rear joint at X = {sized(found.rear_joint[0], 2)}; move the powertrain forward")
    return found if designed is None else replace(found, designed=designed)


def spread(car: model.Car, axle_to_block: ArrayLike, crank_height: ArrayLike, pitch: ArrayLike | str) -> tuple[Scene, np.ndarray]:
    """The scene of many placements of a car: mm, and rad or a pitch mode (`parallel`, `in_line`, `balanced`), of shapes that broadcast to
    (...); lateral, roll, yaw and the height's station are the car's own.

    Points and axes of the scene are then (..., 3), its pitch and what its driveline holds (...). Second: where the placement has a
    solution, (...); elsewhere all of it means nothing. SceneError where the car has no pinion.
    """
    mode = pitch if isinstance(pitch, str) else "fixed"
    angle = np.nan if isinstance(pitch, str) else pitch
    x, z, angle = np.broadcast_arrays(*(np.asarray(value, dtype=float) for value in (axle_to_block, crank_height, angle)))
    absent: Any = None
    many: Any = dict(axle_to_block=x, crank_height=z, pitch=angle, as_built=absent, shown="as_designed")
    asked = replace(filled(replace(car.placement, pitch_mode=mode, pitch=0.0)), **many)
    return _placed(replace(car.chassis, tubes=absent), car.rear_end, car.engine, car.transmission, asked, stack_of(car.plates))


AHEAD = 1.0
"""Least distance, mm, of the front joint ahead of the rear one, along the car."""


def _placed(chassis: model.Chassis, rear_end: model.RearEnd, engine: model.Engine, transmission: model.Transmission,
            placement: model.Placement, stack: Stack) -> tuple[Scene, np.ndarray]:
    """The scene of one placement, or of many, and where it has a solution."""
    chassis, rear_end, engine, transmission = filled(chassis), filled(rear_end), filled(engine), filled(transmission)
    rear_joint, pinion_pitch = pinion(chassis, rear_end)
    block = placing.Block(engine.base_drop, engine.block_length)
    setback = stack.total + transmission.bell_to_seal + transmission.joint_from_seal
    pitch: Any = placement.pitch if placement.pitch_mode == "fixed" else placing.solve_pitch(
        placement.pitch_mode, placement.axle_to_block, placement.crank_height, placement.height_at, block, setback, rear_joint,
        pinion_pitch, placement.roll, placement.yaw)
    pitch = float(pitch) if np.ndim(pitch) == 0 else pitch
    frame = placing.locate(located(placement, pitch), block)
    front_joint = placing.front_joint(frame, setback)
    axis = frames.direction(pinion_pitch)
    with np.errstate(invalid="ignore"):
        solved = front_joint[..., 0] - rear_joint[0] >= AHEAD
        line = joints.driveline(front_joint, frame.axis, rear_joint, axis)
        along = shaft_frame(rear_joint, front_joint)
    return Scene(chassis, rear_end, engine, transmission, replace(placement), stack, pitch, frame, front_joint, rear_joint, axis, along,
                 line), solved


def in_force(chassis: model.Chassis, rear_end: model.RearEnd, placement: model.Placement) -> tuple[model.Placement, model.RearEnd]:
    """(placement, rear end) that are shown: as wanted, or as they were found. The placement holds one of them and no other; defaults are
    filled in."""
    absent: Any = None
    found, wanted = placement.as_built, replace(placement, as_built=absent, shown="as_designed")
    if placement.shown != "as_built":
        return wanted, rear_end
    if found is None:
        raise SceneError("placement.shown is as_built, but the car has no placement as built; write as_designed, or fit readings")
    at, pitch = pinion(chassis, rear_end)
    seen = (found.rear_joint_x, found.rear_joint_y, found.rear_joint_z)
    x, y, z = (float(have if one is None else one) for have, one in zip(at, seen))
    turned = pitch if found.pinion_pitch is None else found.pinion_pitch
    return (replace(wanted, axle_to_block=found.axle_to_block, crank_height=found.crank_height, height_at="block_rear", pitch_mode="fixed",
                    pitch=found.pitch, lateral=found.lateral, roll=found.roll, yaw=found.yaw),
            replace(rear_end, pinion_joint=model.Point(x=x, y=y, z=z), pinion_pitch=turned))


def shaft_frame(rear_joint: np.ndarray, front_joint: np.ndarray) -> frames.Frame:
    """Frame of a shaft, or of many: origin in the rear joint, x forward along it, y left and level."""
    forward = front_joint - rear_joint
    forward = forward / np.linalg.norm(forward, axis=-1, keepdims=True)
    left = frames.cross([0.0, 0.0, 1.0], forward)
    left = left / np.linalg.norm(left, axis=-1, keepdims=True)
    return frames.Frame(np.stack([forward, left, frames.cross(forward, left)], axis=-1), np.asarray(rear_joint, dtype=float))
