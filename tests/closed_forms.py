"""Closed forms that several tests hold the program against; nothing of the program needs them."""
from __future__ import annotations

import numpy as np

from crankline.mechanics import joints, placement, travel
from crankline.mechanics.fourbar import circle_intersection
from crankline.mechanics.travel import Opening
from crankline.record import filled

RPM = np.pi / 30.0


# --- one Cardan joint: textbook kinematics, theta counted from the position in which the output turns fastest ----------


def speed_ratio(beta, theta):
    """Output over input speed at input angle theta: cos(beta) / (1 - sin^2(beta) cos^2(theta)); 1/cos(beta) at 0."""
    return np.cos(beta) / (1.0 - (np.sin(beta) * np.cos(theta)) ** 2)


def output_rotation(beta, theta):
    """Angle turned by the output at input angle theta, continuous over any number of turns, 0 at 0."""
    sine, cosine = np.sin(theta), np.cos(theta)
    lag = 2.0 * np.sin(0.5 * np.asarray(beta)) ** 2     # 1 - cos(beta), without the cancellation
    return theta + np.arctan2(lag * sine * cosine, 1.0 - lag * cosine**2)


def maximum_phase_error(beta):
    """Largest lead or lag of output against input: atan((1 - cos(beta)) / (2 sqrt(cos(beta))))."""
    return np.arctan(np.sin(0.5 * np.asarray(beta)) ** 2 / np.sqrt(np.cos(beta)))


def angle_at_nonuniformity(spread):
    """Joint angle at which ``joints.nonuniformity`` reaches this spread (the German practice limit is 0.0027)."""
    cosine = 0.5 * (np.sqrt(np.square(spread) + 4.0) - spread)
    return np.arctan2(np.sqrt(spread * cosine), cosine)


def torsional_acceleration(beta, omega, theta):
    """Output's angular acceleration at input angle theta and constant input speed omega, rad/s2; negative while the output slows down from
    the fastest position at theta = 0."""
    sine2 = np.sin(beta) ** 2
    return omega**2 * -np.cos(beta) * sine2 * np.sin(2.0 * theta) / (1.0 - sine2 * np.cos(theta) ** 2) ** 2


def peak_torsional_acceleration(beta, omega):
    """Largest angular acceleration of the output at constant input speed omega, rad/s2: setting the derivative of
    `torsional_acceleration` to zero leaves a quadratic in cos(2 theta)."""
    half = 0.5 * np.sin(beta) ** 2
    rest = 1.0 - half
    cos_2theta = 4.0 * half / (rest + np.sqrt(rest**2 + 8.0 * half**2))
    return np.abs(torsional_acceleration(beta, omega, 0.5 * np.arccos(cos_2theta)))


def second_joint_allowance(beta, omega, acceleration=400.0):
    """Largest angle of the second joint, first joint at beta, both in one plane, that leaves no more torsional acceleration than this:
    sqrt(beta^2 + acceleration / omega^2), the two-joint table that the 6 / 1.5 degree rule is usually printed with."""
    return np.hypot(beta, joints.angle_limit(omega, acceleration))


def secondary_couple(torque, beta):
    """Largest bending couples that one joint under torque puts on its driving and its driven shaft: torque tan(beta), torque sin(beta). The
    cross can pass on a couple only square to its own plane; each swings between zero and this size twice a turn."""
    return torque * np.tan(beta), torque * np.sin(beta)


def compound_angle(plan, side):
    """True angle between two axes from their angles in plan and side view: tan^2 C = tan^2 plan + tan^2 side."""
    return np.arctan(np.hypot(np.tan(plan), np.tan(side)))


def off_square(a, b):
    """Angle by which two directions miss being square to each other, rad."""
    a, b = np.array(tuple(a)), np.array(tuple(b))
    return float(np.arcsin(min(1.0, abs(a @ b) / (np.linalg.norm(a) * np.linalg.norm(b)))))


# --- links ------------------------------------------------------------------------------------------------------------


def four_bar(ground, crank, coupler, rocker, crank_angle):
    """Angles (coupler, rocker) of a four-bar in its open and its crossed assembly, rad, by the program's own intersection of circles;
    nan where it does not close. Ground from (0, 0) to (ground, 0), counter-clockwise from the ground line."""
    crank_pin = crank * np.exp(1j * crank_angle)
    result = []
    for side in (1.0, -1.0):
        rocker_pin = circle_intersection(crank_pin, coupler, ground, rocker, side)
        result.append((np.angle(rocker_pin - crank_pin), np.angle(rocker_pin - ground)))
    return result


# --- shafts and mounts ------------------------------------------------------------------------------------------------


def critical_speed_of_steel(outer_diameter, wall, length):
    """First critical speed of a steel tube, rad/s; an industrial joint maker's handbook: 1.21e8 sqrt(D^2 + d^2) / L^2 rpm, mm."""
    return 1.21e8 * RPM * np.hypot(outer_diameter, outer_diameter - 2.0 * np.asarray(wall)) / np.asarray(length) ** 2


def rail_couple(shaft_torque, rail_spacing):
    """Vertical forces (left, right) on two rails that alone hold the torque of a standard rotation: the left one is pulled up."""
    return np.array([1.0, -1.0]) * shaft_torque / rail_spacing


# --- loops ------------------------------------------------------------------------------------------------------------


def opening_of(loop, scene) -> Opening:
    """The inside of a loop as its record promises it."""
    loop = filled(loop)
    width, height = (size if size is not None else loop.inner_diameter for size in (loop.inner_width, loop.inner_height))
    tube = loop.form == "tube"
    along = loop.section.outer_diameter if tube else loop.strap_width
    return Opening(loop.name, tuple(map(float, scene.loop_center(loop))), width, height, along / 2, tube, loop.open_angle or 0.0)


def sweep_all(scene, count=101):
    """The shaft from full droop to full bump, without wind-up; TravelError where that is not reached."""
    return travel.checked(scene, travel.sweep(scene, travel.travels(scene, count)))


# --- plates -----------------------------------------------------------------------------------------------------------


def least_wall(flat, hole) -> float:
    """Least material between the edge of a hole of a flat and the next edge, mm; negative where they cross."""
    walls = [flat.outer.distance(hole.y, hole.z)]
    for item in flat.inner:
        if item is hole:
            continue
        round_ = hasattr(item, "diameter")
        walls.append(np.hypot(item.y - hole.y, item.z - hole.z) - item.diameter / 2.0 if round_ else item.distance(hole.y, hole.z))
    return min(walls) - hole.diameter / 2.0


# --- a placed powertrain ----------------------------------------------------------------------------------------------


def roll_pitch_yaw(matrix):
    """Roll, pitch and yaw in rad of rotation matrices of shape (..., 3, 3): the inverse of ``frames.rotation``.

    Pitch lies within a quarter turn of level. At exactly a quarter turn roll and yaw turn about the same line and
    only their difference is defined.
    """
    matrix = np.asarray(matrix, dtype=float)
    # atan2 keeps full precision near level and near vertical, where asin and acos lose half the digits.
    pitch = np.arctan2(-matrix[..., 2, 0], np.hypot(matrix[..., 0, 0], matrix[..., 1, 0]))
    yaw = np.arctan2(matrix[..., 1, 0], matrix[..., 0, 0])
    roll = np.arctan2(matrix[..., 2, 1], matrix[..., 2, 2])
    return roll, pitch, yaw


def recover(frame, block, height_at="block_rear"):
    """The placement that ``placement.locate`` turns into this frame: its exact inverse for a pitch within a quarter turn."""
    turned = np.asarray(frame.rotation, dtype=float)
    origin = np.asarray(frame.origin, dtype=float)
    roll, pitch, yaw = roll_pitch_yaw(turned)
    return placement.Placement(
        axle_to_block=origin[..., 0] - block.base_drop * turned[..., 0, 2],
        crank_height=origin[..., 2] + placement.station(block, height_at) * turned[..., 2, 0],
        pitch=pitch,
        lateral=origin[..., 1],
        roll=roll,
        yaw=yaw,
        height_at=height_at,
    )
