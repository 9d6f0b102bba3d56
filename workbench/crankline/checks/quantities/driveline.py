"""Quantities of the driveline: joint angles in every pose, what two joints leave over, and the shaft's critical speed."""
from __future__ import annotations

import math

import numpy as np

from ... import sections
from ...mechanics import joints, poses, shaft
from ...rules.quantity import Found, Measurement, NotEvaluated, Reading, Setting, Unmeasured, formula, quantity
from ...sections import DRIVESHAFT
from ...snapshot import Snapshot
from ...units import sized
from ..context import Context
from ..placements import Asked
from ..poses import LAUNCH_SQUAT
from .clearing import ANGLES
from .stock import as_stated

SHAFT = ("driveshaft",)
POSES = poses.NAMES
IN_POSES = Setting("choices", ("static", "launch"), "poses in which it is measured", POSES)
JOINTS = Setting("choices", ("front", "rear"), "which joints", ("front", "rear"))
ENDS = Setting("ratio", 0.95, "share of the critical speed of the tube alone that is left by the mass of the yokes and the give of tail "
                              "and pinion (assumed, no source); 1 leaves them out")
GIVEN = ("joint_distance", "shaft_speed", "intersecting")
"""What a pose gives to limit formulas; the shaft speed only where it is known."""


def _asked_poses(at: Asked):
    """(name, pose or None) of the poses that the rule asks for."""
    known = at.poses
    asked = at.settings["poses"]
    other = (LAUNCH_SQUAT,) if poses.LAUNCH in asked and LAUNCH_SQUAT in known else ()
    return tuple((name, known.get(name)) for name in (*asked, *other))


def _poses(context):
    """(name, pose or reason) of the poses that the rule asks for."""
    for name, pose in _asked_poses(context):
        if pose is None:
            yield name, (sections.not_yet(sections.SUSPENSION) if context.scene.rear_end.suspension is None else
                         f"the pose {name} is not known for this car")
        elif not np.isfinite(pose.front_joint) or not np.isfinite(pose.rear_joint):
            yield name, f"the suspension does not reach the pose {name}"
        else:
            yield name, pose


def _given(pose) -> dict:
    given = {"joint_distance": pose.joint_distance, "intersecting": pose.intersecting}
    if pose.shaft_speed is not None:
        given["shaft_speed"] = pose.shaft_speed
    return given


def _in_poses(at: Asked, value) -> tuple[Reading, ...]:
    """A value of each pose, where the pose is known; nan where the suspension does not reach it."""
    return tuple(Reading(np.nan if pose is None else value(pose), SHAFT, name, {} if pose is None else _given(pose))
                 for name, pose in _asked_poses(at))


def _joint_angle(at: Asked) -> tuple[Reading, ...]:
    return tuple(Reading(np.nan if pose is None else pose.front_joint if joint == "front" else pose.rear_joint, SHAFT,
                         f"{joint} joint, {name}", {} if pose is None else _given(pose))
                 for name, pose in _asked_poses(at) for joint in at.settings["joints"])


@quantity("joint_angle", "angle", reads=_joint_angle, clears=ANGLES, gives=GIVEN, joints=JOINTS, poses=IN_POSES)
def joint_angle(snapshot: Snapshot, context: Context) -> Found:
    """True angle in space between the driveshaft and the shaft beyond the joint, at each joint and pose."""
    found: list[Measurement | Unmeasured] = []
    for name, pose in _poses(context):
        for joint in context.settings["joints"]:
            which = f"{joint} joint, {name}"
            if isinstance(pose, str):
                found.append(Unmeasured(SHAFT, pose, which))
                continue
            angle, point = ((pose.front_joint, pose.front_point) if joint == "front" else
                            (pose.rear_joint, pose.rear_point))
            found.append(Measurement(angle, SHAFT, which, how=f"{joint} joint in the pose {name}", points=(point,),
                                     given=_given(pose)))
    return tuple(found)


def _difference(pose):
    return abs(pose.front_joint - pose.rear_joint)


@quantity("joint_angle_difference", "angle", reads=lambda at: _in_poses(at, _difference), clears=ANGLES, gives=GIVEN, poses=IN_POSES)
def joint_angle_difference(snapshot: Snapshot, context: Context) -> Found:
    """Difference in size of front and rear joint angle, at each pose."""
    return tuple(Unmeasured(SHAFT, pose, name) if isinstance(pose, str) else
                 Measurement(_difference(pose), SHAFT, name, how=f"in the pose {name}",
                             points=(pose.front_point, pose.rear_point), given=_given(pose))
                 for name, pose in _poses(context))


@quantity("residual_angle", "angle", needs=(DRIVESHAFT,), reads=lambda at: _in_poses(at, lambda pose: pose.residual),
          clears=("driveshaft.phase", *ANGLES), gives=GIVEN, poses=IN_POSES)
def residual_angle(snapshot: Snapshot, context: Context) -> Found:
    """Uncancelled joint angle: of the single joint that would shake as much as both together, phase and planes included, at each pose."""
    phase = joints.phase_error(context.car.driveshaft.phase)
    yokes = f"; yokes {math.degrees(phase):.3g} deg out of phase" if phase > 1e-9 else ""
    return tuple(Unmeasured(SHAFT, pose, name) if isinstance(pose, str) else
                 Measurement(pose.residual, SHAFT, name, how=f"in the pose {name}: both joints together leave {_left_over(pose)}{yokes}",
                             points=(pose.front_point, pose.rear_point), given=_given(pose))
                 for name, pose in _poses(context))


def _left_over(pose) -> str:
    if pose.shaft_speed is None:
        return "an acceleration that is not known without the shaft speed"
    peak = float(joints.inertia_excitation(pose.residual, pose.shaft_speed))
    return f"{peak:,.0f} rad/s2 of torsional acceleration at {pose.shaft_speed / shaft.RPM:,.0f} rpm"


@quantity("yoke_phase", "angle", needs=(DRIVESHAFT,), clears=("driveshaft.phase",))
def yoke_phase(snapshot: Snapshot, context: Context) -> Found:
    """How far the driveshaft's own two yokes are out of phase: 0 where their ears are in line."""
    context.require_scene()
    error = float(joints.phase_error(context.car.driveshaft.phase))
    return (Measurement(error, SHAFT, how="ears of the front yoke to ears of the rear one",
                        points=(tuple(context.scene.front_joint), tuple(context.scene.rear_joint))),)


def _spread_of_speed(pose):
    return joints.nonuniformity(pose.residual)


@quantity("residual_nonuniformity", "ratio", needs=(DRIVESHAFT,), reads=lambda at: _in_poses(at, _spread_of_speed),
          clears=("driveshaft.phase", *ANGLES), gives=GIVEN, poses=IN_POSES)
def residual_nonuniformity(snapshot: Snapshot, context: Context) -> Found:
    """Speed variation over one turn left after both joints, as a share of the speed, at each pose."""
    return tuple(Unmeasured(SHAFT, pose, name) if isinstance(pose, str) else
                 Measurement(float(_spread_of_speed(pose)), SHAFT, name, how=f"in the pose {name}",
                             points=(pose.front_point, pose.rear_point), given=_given(pose))
                 for name, pose in _poses(context))


def tube_critical_speed(at: Asked):
    """First critical speed, rad/s, of the tube between its joint centers, at static ride height, with what is left of it for the ends."""
    tube = at.car.driveshaft
    return at.settings["ends"] * shaft.critical_speed(tube.outer_diameter, tube.wall, at.scene.driveline.length, tube.axial_modulus,
                                                      tube.density)


def _critical_speed(at: Asked) -> tuple[Reading, ...]:
    return (Reading(tube_critical_speed(at), SHAFT, given={"shaft_speed_max": shaft_speed_max(at.car),
                                                           "joint_distance": at.scene.driveline.length}),)


@quantity("critical_speed", "turning", needs=(DRIVESHAFT,), reads=_critical_speed,
          clears=("engine.rpm_limit", "driveshaft.outer_diameter", "placement.axle_to_block"),
          gives=("shaft_speed_max", "joint_distance"), ends=ENDS)
def critical_speed(snapshot: Snapshot, context: Context) -> Found:
    """First critical speed of the driveshaft as a uniform tube pinned at both joint centers, at static ride height."""
    scene, tube = context.scene, context.car.driveshaft
    length, share, (read,) = float(scene.driveline.length), context.settings["ends"], _critical_speed(context)
    return (Measurement(float(read.value), SHAFT, how=f"tube {sized(length)} between joint centers{as_stated(tube)}, {told_ends(share)}",
                        points=(tuple(scene.rear_joint), tuple(scene.front_joint)),
                        given={name: float(value) for name, value in read.given.items()}),)


def told_ends(share: float) -> str:
    """What was taken off a critical speed for the ends, in words."""
    return (f"times {share:g} for the mass of the yokes and the give of tail and pinion (assumed, no source)" if share < 1.0 else
            "by itself: the mass of the yokes and the give of tail and pinion, which lower it, are left out, so this is optimistic")


def shaft_speed_max(car) -> float:
    """Highest shaft speed in rad/s: engine limiter over top gear; in a burnout no road speed holds it back."""
    return float(shaft.maximum_speed(car.engine.rpm_limit, car.transmission.top_gear))


# --- limits by formula ------------------------------------------------------------------------------------------------


@formula("joint_angle_at_excitation", "angle", "shaft_speed",
         peak_acceleration=Setting("ratio", None, "peak angular acceleration allowed, rad/s2"))
def joint_angle_at_excitation(given, settings):
    """Joint angle at which the peak angular acceleration, (angle x shaft speed)^2, reaches a stated value."""
    if "shaft_speed" not in given:
        raise NotEvaluated("the shaft speed in this pose is not known")
    return joints.angle_limit(given["shaft_speed"], settings["peak_acceleration"])


@formula("joint_angle_by_length", "angle", "joint_distance", "intersecting",
         intersecting=Setting("choice", "as_found", "whether the end centerlines intersect between the joints: as the pose has them, or "
                                                    "taken as such", ("as_found", "true", "false")))
def joint_angle_by_length(given, settings):
    """Workshop limit from the joint distance: inches over 5 in degrees, over 10 where the end centerlines intersect."""
    crossed = settings["intersecting"]
    return joints.length_angle_limit(given["joint_distance"], given["intersecting"] if crossed == "as_found" else crossed == "true")


@formula("critical_speed_for_shaft_speed", "turning", "shaft_speed_max",
         fraction=Setting("ratio", 0.70, "share of the critical speed that the shaft may reach"))
def critical_speed_for_shaft_speed(given, settings):
    """Critical speed of which the highest shaft speed (limiter over top gear) is the stated share."""
    return given["shaft_speed_max"] / settings["fraction"]
