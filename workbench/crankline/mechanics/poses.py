"""The poses in which a driveline is judged, and the driveline in each of them; mm, rad, rad/s in the car frame.

Joints are set for launch, not for standing still: static, launch, full droop, full bump, braking and top end, each with
its own axle travel (mm, bump positive), wind-up (rad, nose up positive) and shaft speed. What a car does in a pose that
nobody has measured is an assumption: `Assumptions` holds every one of them, by name, to be set.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from ..units import INCH
from . import frames, joints
from .suspension import PinionPose, Rigid, SidePoint, Suspension, pinion_pose

STATIC, LAUNCH, FULL_DROOP, FULL_BUMP, BRAKING, TOP_END = NAMES = (
    "static", "launch", "full_droop", "full_bump", "braking", "top_end")


class PoseError(ValueError):
    """Travel, ratios or assumptions that make no poses. One sentence: which value, what is allowed."""


@dataclass(frozen=True)
class Assumptions:
    """What a car does in its poses where nobody has measured it: common practice, no source; set what is known.

    launch_separation: how far the body rises off the axle at launch, mm of droop; negative: how far it squats, mm of bump; never taken
    beyond full droop or full bump. Which way it goes follows from the anti-squat where that is known (`launch_ways`), how far from the
    wheel rate where that is known too (the function of this name).
    brake_dive: how far the body rises off the axle under braking, mm of droop; never beyond full droop.
    top_end_squat: how far air load and drive push the body onto the axle at the finish, mm of bump; never beyond full bump.
    braking_windup, top_end_windup, droop_windup, bump_windup: wind-up in that pose over wind-up at launch; brakes turn the
    housing nose down, hence below 0. Launch itself has 1, static 0.
    launch_speed, droop_speed: engine speed over engine limit, in first gear; braking_speed, top_end_speed, bump_speed: the
    same in top gear. Full speed everywhere is the careful side: an angle limit falls with speed.
    """

    launch_separation: float = INCH
    brake_dive: float = INCH
    top_end_squat: float = 6.35
    braking_windup: float = -0.5
    top_end_windup: float = 0.5
    droop_windup: float = 0.0
    bump_windup: float = 0.0
    launch_speed: float = 1.0
    droop_speed: float = 1.0
    bump_speed: float = 1.0
    braking_speed: float = 1.0
    top_end_speed: float = 1.0

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not np.all(np.isfinite(value)) or (name != "launch_separation" and value < 0.0 and not name.endswith("windup")):
                raise PoseError(f"{name}: found {value!r}; give a finite value of 0 or above (a wind-up or launch "
                                "separation may be negative).")


def launch_ways(anti_squat: Any) -> tuple[Any, ...]:
    """Which way the body goes at launch, 1: rises off the axle, -1: squats onto it; both where it is not known.

    The links of a live axle carry this share of the rear load transfer (`suspension.anti_squat`): more than all of it pushes body and axle
    apart, less leaves the rest to the springs. Of an array over placements the one way is an array too.
    """
    if anti_squat is None or not np.all(np.isfinite(anti_squat)):
        return 1.0, -1.0
    way = np.where(np.asarray(anti_squat) >= 1.0, 1.0, -1.0)
    return (float(way) if way.ndim == 0 else way,)


def launch_separation(anti_squat: ArrayLike, transfer: ArrayLike, wheel_rate: ArrayLike) -> np.ndarray:
    """How far the body rises off the axle at launch, mm, negative where it squats: what the links do not carry of the rear load transfer
    (N), or carry beyond it, bends the springs of both wheels. wheel_rate: at each of them, N/mm. Statics: as long as the car accelerates
    so, no shock, dampers at rest."""
    return (np.asarray(anti_squat, dtype=float) - 1.0) * transfer / (2.0 * np.asarray(wheel_rate, dtype=float))


def assumptions_of(suspension: model.Suspension) -> Assumptions:
    """What the car does in its poses: what the record says, common practice for the rest."""
    stated = {name: value for name, value in (("launch_separation", suspension.launch_separation),
                                              ("brake_dive", suspension.brake_dive)) if value is not None}
    return Assumptions(**stated)


@dataclass(frozen=True)
class Pose:
    """One pose: axle_travel in mm (bump positive), windup in rad (nose up positive), shaft_speed in rad/s."""

    name: str
    axle_travel: float
    windup: float
    shaft_speed: float


@dataclass(frozen=True, eq=False)
class PoseResults:
    """The driveline at P poses (or travels) and any shape of placements: arrays of shape (P, ...).

    joint: rear joint (P, 3); pinion_pitch: rad to the ground (P,); pinion_axis: forward unit vectors (P, 3); closes:
    whether the links reach the pose (P,), everything else is nan where they do not. front_joint: (P, ..., 3), carried
    along the output axis by the slip. front_angle, rear_angle, residual: rad, true angles in space. joint_distance: from
    the front joint's static place to the rear joint, mm: what a shaft without slip would have to be long. plunge: how far
    the slip yoke has gone into the transmission since static, mm; negative = pulled out. shaft_axis: (P, ..., 3) forward.
    intersecting: whether the end centerlines lean off the shaft to opposite sides (W form), so that they meet between the joints, rather
    than to the same side (Z form, nearer to parallel).
    """

    joint: np.ndarray
    pinion_pitch: np.ndarray
    pinion_axis: np.ndarray
    closes: np.ndarray
    front_joint: np.ndarray
    front_angle: np.ndarray
    rear_angle: np.ndarray
    residual: np.ndarray
    joint_distance: np.ndarray
    plunge: np.ndarray
    shaft_axis: np.ndarray
    intersecting: np.ndarray


def pose_set(
    bump: float,
    droop: float,
    windup: float,
    engine_limit: float,
    first_gear: float,
    top_gear: float = 1.0,
    assumptions: Assumptions = Assumptions(),
) -> tuple[Pose, ...]:
    """The six poses of a car, in the order of `NAMES`.

    bump, droop: travel each way from static, mm, both positive numbers; windup: at launch, rad; engine_limit: rad/s. A
    rigid axle has bump and droop 0, and then no travel in any pose. PoseError on a negative travel or a ratio not above 0.
    """
    for name, value, least in (("bump", bump, 0.0), ("droop", droop, 0.0), ("engine_limit", engine_limit, 0.0)):
        if not (np.isfinite(value) and value >= least):
            raise PoseError(f"{name}: found {value!r}; give a finite value of 0 or above.")
    for name, value in (("first_gear", first_gear), ("top_gear", top_gear)):
        if not (np.isfinite(value) and value > 0.0):
            raise PoseError(f"{name}: found {value!r}; give a ratio above 0.")
    if not np.isfinite(windup):
        raise PoseError(f"windup: found {windup!r}; give a finite angle.")
    a = assumptions
    first, top = engine_limit / first_gear, engine_limit / top_gear
    # 0.0 - x, not -x: a rigid axle's travel is 0, never -0, in a report.
    return (
        Pose(STATIC, 0.0, 0.0, 0.0),
        Pose(LAUNCH, _within(a.launch_separation, bump, droop), windup, a.launch_speed * first),
        Pose(FULL_DROOP, 0.0 - droop, a.droop_windup * windup, a.droop_speed * first),
        Pose(FULL_BUMP, bump, a.bump_windup * windup, a.bump_speed * top),
        Pose(BRAKING, 0.0 - min(a.brake_dive, droop), a.braking_windup * windup, a.braking_speed * top),
        Pose(TOP_END, min(a.top_end_squat, bump), a.top_end_windup * windup, a.top_end_speed * top),
    )


def _within(separation: Any, bump: float, droop: float) -> Any:
    """Axle travel of a body that rises off the axle by so much: a number, or an array over placements."""
    travel = 0.0 - np.minimum(np.maximum(separation, -bump), droop)
    return float(travel) if np.ndim(travel) == 0 else travel


def evaluate(
    poses: Sequence[Pose],
    suspension: Suspension,
    axle_static: SidePoint,
    joint_static: ArrayLike,
    pinion_pitch: float,
    front_joint: ArrayLike,
    output_axis: ArrayLike,
    phase: ArrayLike = 0.0,
) -> PoseResults:
    """The driveline in each pose; arguments as in `evaluate_travel`."""
    return evaluate_travel([pose.axle_travel for pose in poses], [pose.windup for pose in poses], suspension, axle_static,
                           joint_static, pinion_pitch, front_joint, output_axis, phase)


def evaluate_travel(
    travel: ArrayLike,
    windup: ArrayLike,
    suspension: Suspension,
    axle_static: SidePoint,
    joint_static: ArrayLike,
    pinion_pitch: float,
    front_joint: ArrayLike,
    output_axis: ArrayLike,
    phase: ArrayLike = 0.0,
) -> PoseResults:
    """The driveline at P axle travels (mm, bump positive) with wind-up (rad, nose up positive), shapes (P,) or scalar.

    axle_static: (x, z) of the axle, joint_static: (3,) rear joint, pinion_pitch: rad, all at static ride height.
    front_joint, output_axis: (..., 3), one placement or an array of them. The shaft keeps the length it has at static; the
    front joint slides along the output axis to keep it (nan where it cannot). A rigid axle is taken to stay where it is.
    """
    travel, windup = np.broadcast_arrays(*(np.atleast_1d(np.asarray(value, dtype=float)) for value in (travel, windup)))
    if isinstance(suspension, Rigid):
        travel = np.zeros(travel.shape)
    joint_static = np.asarray(joint_static, dtype=float)
    front_joint = np.asarray(front_joint, dtype=float)
    output_axis = np.asarray(output_axis, dtype=float)
    output_axis = output_axis / np.linalg.norm(output_axis, axis=-1, keepdims=True)
    pinion = pinion_pose(suspension, axle_static, joint_static, pinion_pitch, travel, windup)
    pinion_axis = frames.direction(pinion.pitch)

    # Poses come first; each stands against all placements.
    placements = np.broadcast_shapes(front_joint.shape, output_axis.shape)[:-1]
    room = (slice(None),) + (None,) * len(placements)
    return _spanned(pinion, pinion.joint[room], pinion_axis[room], joint_static, front_joint, output_axis, phase)


def evaluate_each(
    travel: ArrayLike,
    windup: float,
    suspension: Suspension,
    axle_static: SidePoint,
    joint_static: ArrayLike,
    pinion_pitch: float,
    front_joint: ArrayLike,
    output_axis: ArrayLike,
    phase: ArrayLike = 0.0,
) -> PoseResults:
    """The driveline of many placements (...), each at an axle travel of its own, of shape (...) too: where the links are decides how the
    body rises at launch, and how high the center of gravity is. Otherwise as `evaluate_travel`, without its leading axis."""
    travel = np.asarray(travel, dtype=float)
    # Links are the same for all of them, and most rise by one of a few sizes.
    sizes, which = np.unique(travel, return_inverse=True)
    which = which.reshape(travel.shape)
    if isinstance(suspension, Rigid):
        sizes = np.zeros(sizes.shape)
    joint_static = np.asarray(joint_static, dtype=float)
    few = pinion_pose(suspension, axle_static, joint_static, pinion_pitch, sizes, windup)
    pinion = PinionPose(few.joint[which], few.pitch[which], few.closes[which])
    return _spanned(pinion, pinion.joint, frames.direction(pinion.pitch), joint_static, np.asarray(front_joint, dtype=float),
                    np.asarray(output_axis, dtype=float), phase)


def _spanned(pinion: PinionPose, rear: np.ndarray, axis: np.ndarray, joint_static: np.ndarray, front_joint: np.ndarray,
             output_axis: np.ndarray, phase: ArrayLike) -> PoseResults:
    """The shaft between a moved rear joint and a front joint that slides along the output axis."""
    span = front_joint - rear
    held = front_joint - joint_static
    plunge = _plunge(span, output_axis, np.sqrt(frames.dot(held, held)))
    moved = front_joint + plunge[..., None] * output_axis
    line = joints.driveline(moved, output_axis, rear, axis, phase)
    return PoseResults(
        joint=pinion.joint,
        pinion_pitch=pinion.pitch,
        pinion_axis=axis.reshape((*pinion.pitch.shape, 3)),
        closes=pinion.closes,
        front_joint=moved,
        front_angle=line.front_angle,
        rear_angle=line.rear_angle,
        residual=line.residual,
        joint_distance=np.sqrt(frames.dot(span, span)),
        plunge=plunge,
        shaft_axis=line.shaft_axis,
        intersecting=np.cos(line.front_plane - line.rear_plane) < 0.0,
    )


def _plunge(span: np.ndarray, output_axis: np.ndarray, length: np.ndarray) -> np.ndarray:
    """Slide s along the output axis that makes |span + s axis| the shaft's length; the root at 0 for the static span."""
    now = np.sqrt(frames.dot(span, span))
    return _slide(frames.dot(span, output_axis), (length - now) * (length + now))


def _slide(along: np.ndarray, excess: np.ndarray) -> np.ndarray:
    """Root s of s^2 + 2 along s = excess that is 0 where the excess is."""
    with np.errstate(invalid="ignore"):
        root = np.asarray(along * along)
        root += excess
        np.sqrt(root, out=root)
        if not np.all(along > 0.0):
            np.copysign(root, along, out=root)
        root += along
        # The same as copysign(root, along) - along, without its cancellation.
        return excess / root


def plunges(joint: ArrayLike, joint_static: ArrayLike, front_joint: ArrayLike, output_axis: ArrayLike,
            rows: int = 64) -> Iterator[tuple[slice, np.ndarray]]:
    """Plunge, mm, of N placements (N, 3) at P places (P, 3) of the rear joint: `PoseResults.plunge` and nothing else, (rows, P) at a time
    with the slice of the placements, so that what is worked on stays near the processor.

    With the shaft's length squared, the excess is linear in the front joint, so both come from two products of matrices. output_axis: unit
    vectors.
    """
    joint, static = np.asarray(joint, dtype=float), np.asarray(joint_static, dtype=float)
    front, axis = np.asarray(front_joint, dtype=float), np.asarray(output_axis, dtype=float)
    moved = joint - static
    along = np.column_stack([-axis, frames.dot(front, axis)]), np.column_stack([joint, np.ones(len(joint))]).T
    excess = np.column_stack([front - static, np.ones(len(front))]), np.column_stack([2.0 * moved, -frames.dot(moved, moved)]).T
    for start in range(0, len(front), rows):
        part = slice(start, start + rows)
        yield part, _slide(along[0][part] @ along[1], excess[0][part] @ excess[1])
