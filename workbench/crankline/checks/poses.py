"""The driveline in the poses of the rear suspension: what rules and the report say about each. Inside units."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from .. import model
from ..mechanics import balance, components, shaft
from ..mechanics import poses as posing
from ..mechanics.fourbar import SuspensionError
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene, pinion
from ..mechanics.suspension import Rigid, Suspension, anti_squat, instant_centre, static_instant_centre, suspension_of
from ..rules.quantity import NotEvaluated
from .strength import load_model

Point = tuple[float, float, float]

LAUNCH_SQUAT = "launch_squat"
"""The launch of a car that may squat as well as rise, as nothing says which: its other bound, asked for with the launch."""


def squat(car: model.Car, scene: Scene) -> Any:
    """Anti-squat, 1 = 100 %, of the whole car at static ride height (``suspension.anti_squat``), an array where the scene is of many
    placements; None without masses, or with no instant center. SuspensionError where the links are not known or do not close."""
    linkage, axle = suspension_of(scene.rear_end), (0.0, scene.chassis.rear_tire.loaded_radius)
    centre = static_instant_centre(linkage, axle)
    if centre is None or not car.masses:
        return None
    _mass, cg = components.whole(car, scene)
    share = anti_squat(centre, cg[..., 2], car.car.wheelbase)
    return float(share) if share.ndim == 0 else share


class Separation(NamedTuple):
    """How far the body rises off the axle at launch, mm (of many placements, an array), each way that it may go; and what that follows
    from, in words."""
    ways: tuple[Any, ...]
    source: str


def separation(car: model.Car, scene: Scene) -> Separation:
    """As stated; else as anti-squat and wheel rate give it; else the assumed size the way that the anti-squat says, or both ways.
    SuspensionError where the links are not known."""
    given = scene.rear_end.suspension
    assumed = posing.assumptions_of(given).launch_separation
    if given.launch_separation is not None:
        return Separation((assumed,), "stated")
    share = squat(car, scene)
    torque = load_model.launch(car, scene) if share is not None and given.wheel_rate is not None else None
    if share is not None and np.all(np.isfinite(share)) and torque is not None and torque.forward is not None:
        mass, cg = components.whole(car, scene)
        transfer = mass * torque.forward * balance.STANDARD_GRAVITY / shaft.KG_MM_PER_NEWTON * cg[..., 2] / car.car.wheelbase
        rises = posing.launch_separation(share, transfer, given.wheel_rate)
        return Separation((float(rises) if rises.ndim == 0 else rises,), "anti-squat and wheel rate")
    return Separation(tuple(way * assumed for way in posing.launch_ways(share)),
                      "size assumed, way by anti-squat" if share is not None else "size assumed, way not known")


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
    """The driveline in the six poses, and in the other bound of the launch where it may go either way; car with its defaults filled in.
    Without a rear suspension at static ride height alone. NotEvaluated where the links are not known.

    At static ride height the shaft stands still; its joints are judged at the highest shaft speed, because that is
    about the height at which the car runs down the track.
    """
    linkage, asked = _links(car, scene)
    _joint, pinion_pitch = pinion(scene.chassis, scene.rear_end)
    axle = (0.0, scene.chassis.rear_tire.loaded_radius)
    found = posing.evaluate(asked, linkage, axle, scene.rear_joint, pinion_pitch, scene.front_joint,
                            scene.engine_frame.axis, phase_of(car))
    highest = _highest(car)
    centres = None if isinstance(linkage, Rigid) else instant_centre(linkage, axle, [pose.axle_travel for pose in asked])
    return tuple(
        PoseFigure(pose.name, float(pose.axle_travel), float(pose.windup), float(pose.shaft_speed) or highest,
                   float(found.front_angle[i]), float(found.rear_angle[i]), float(found.residual[i]),
                   float(found.joint_distance[i]), float(found.plunge[i]),
                   as_point(found.front_joint[i]), as_point(found.joint[i]), bool(found.intersecting[i]),
                   None if centres is None or not centres.near[i] else (float(centres.point[i][0]), float(centres.point[i][1])))
        for i, pose in enumerate(asked))


def poses_over(car: model.Car, scene: Scene) -> tuple[PoseFigure, ...]:
    """As ``poses``, of many placements (``scene.spread``): what a placement decides of a figure is an array over them, points (..., 3)."""
    linkage, asked = _links(car, scene)
    _joint, pinion_pitch = pinion(scene.chassis, scene.rear_end)
    axle, highest = (0.0, scene.chassis.rear_tire.loaded_radius), _highest(car)
    figures = []
    for pose in asked:
        given = (linkage, axle, scene.rear_joint, pinion_pitch, scene.front_joint, scene.engine_frame.axis, phase_of(car))
        each = np.ndim(pose.axle_travel) > 0
        found: Any = (posing.evaluate_each if each else posing.evaluate_travel)(pose.axle_travel, pose.windup, *given)
        front, rear, left, length, plunge, at, joint, crossed = (value if each else value[0] for value in (
            found.front_angle, found.rear_angle, found.residual, found.joint_distance, found.plunge, found.front_joint, found.joint,
            found.intersecting))
        figures.append(PoseFigure(pose.name, pose.axle_travel, pose.windup, float(pose.shaft_speed) or highest, front, rear, left, length,
                                  plunge, at, joint, crossed, None))
    return tuple(figures)


def _links(car: model.Car, scene: Scene) -> tuple[Suspension, tuple[posing.Pose, ...]]:
    """The rear suspension and the poses that it has; NotEvaluated where the links are not known."""
    given = scene.rear_end.suspension
    if given is None:
        return Rigid(), (posing.Pose(posing.STATIC, 0.0, 0.0, 0.0),)
    try:
        return suspension_of(scene.rear_end), _asked(car, scene, given)
    except SuspensionError as reason:
        raise NotEvaluated(str(reason)) from None


def _highest(car: model.Car) -> float:
    """Highest speed of the shaft, rad/s."""
    return float(shaft.maximum_speed(car.engine.rpm_limit, car.transmission.top_gear))


def _asked(car: model.Car, scene: Scene, suspension: model.Suspension) -> tuple[posing.Pose, ...]:
    """The poses that a suspension has."""
    assumed = posing.assumptions_of(suspension)
    asked: tuple[posing.Pose, ...] = ()
    for rises in separation(car, scene).ways:
        six = posing.pose_set(suspension.bump, suspension.droop, scene.rear_end.windup, car.engine.rpm_limit, car.transmission.first_gear,
                              car.transmission.top_gear, replace(assumed, launch_separation=rises))
        # Not known which way: the launch is there twice, once rising and once squatting.
        asked = six if not asked else (*asked, *(replace(pose, name=LAUNCH_SQUAT) for pose in six if pose.name == posing.LAUNCH))
    return asked


def phase_of(car: model.Car) -> float:
    """Phase error of the driveshaft's yokes, rad; 0, as they are meant to be, of a car that has no driveshaft yet."""
    return car.driveshaft.phase if car.driveshaft is not None else 0.0
