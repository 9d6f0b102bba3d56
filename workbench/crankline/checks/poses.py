"""The driveline in the poses of the rear suspension: what rules and the report say about each. Inside units."""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from ..mechanics import poses as posing
from ..mechanics import shaft
from ..mechanics.fourbar import SuspensionError
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene, pinion
from ..mechanics.suspension import Rigid, instant_centre, suspension_of
from ..rules.quantity import NotEvaluated

Point = tuple[float, float, float]


@dataclass(frozen=True)
class PoseFigure:
    """The driveline in one pose; mm, rad, rad/s. shaft_speed: the speed at which the pose is judged. Everything but the
    name is nan where the suspension does not reach the pose."""
    name: str
    axle_travel: float
    windup: float
    shaft_speed: float
    front_joint: float
    rear_joint: float
    residual: float
    joint_distance: float
    plunge: float
    front_point: Point
    rear_point: Point
    intersecting: bool
    """Whether the end centerlines meet between the joints (W form)."""
    instant_centre: tuple[float, float] | None
    """(x, z) of the rear suspension; None where there is none within reach."""


def poses(car: model.Car, scene: Scene) -> tuple[PoseFigure, ...]:
    """The driveline in the six poses; car with its defaults filled in. NotEvaluated where the suspension is not known.

    At static ride height the shaft stands still; its joints are judged at the highest shaft speed, because that is
    about the height at which the car runs down the track.
    """
    rear_end, limit = scene.rear_end, car.engine.rpm_limit
    _joint, pinion_pitch = pinion(scene.chassis, rear_end)
    try:
        linkage = suspension_of(rear_end)
    except SuspensionError as reason:
        raise NotEvaluated(str(reason)) from None
    asked = posing.pose_set(rear_end.suspension.bump, rear_end.suspension.droop, rear_end.windup, limit,
                            car.transmission.first_gear, car.transmission.top_gear,
                            posing.assumptions_of(rear_end.suspension))
    axle = (0.0, scene.chassis.rear_tire.loaded_radius)
    found = posing.evaluate(asked, linkage, axle, scene.rear_joint, pinion_pitch, scene.front_joint,
                            scene.engine_frame.axis, car.driveshaft.phase)
    highest = float(shaft.maximum_speed(limit, car.transmission.top_gear))
    centres = None if isinstance(linkage, Rigid) else instant_centre(linkage, axle, [pose.axle_travel for pose in asked])
    return tuple(
        PoseFigure(pose.name, float(pose.axle_travel), float(pose.windup), float(pose.shaft_speed) or highest,
                   float(found.front_angle[i]), float(found.rear_angle[i]), float(found.residual[i]),
                   float(found.joint_distance[i]), float(found.plunge[i]),
                   as_point(found.front_joint[i]), as_point(found.joint[i]), bool(found.intersecting[i]),
                   None if centres is None or not centres.near[i] else (float(centres.point[i][0]), float(centres.point[i][1])))
        for i, pose in enumerate(asked))
