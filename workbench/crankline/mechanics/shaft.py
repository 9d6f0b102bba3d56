"""The driveshaft: tube section, first critical speed, torsion, shaft torque and slip; mm, kg, N, s, rad.

Torque N.mm, stress and modulus N/mm2 (= MPa), density kg/mm3, speed rad/s. One newton is 1000 kg.mm/s2: wherever a
stiffness meets a mass, that factor stands in the open.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

KG_MM_PER_NEWTON = 1000.0
"""1 N in kg.mm/s2."""

RPM = np.pi / 30.0
"""One turn a minute in rad/s."""


class TubeSection(NamedTuple):
    """Section of a round tube: area mm2, second_moment (bending) mm4, polar_moment (torsion) mm4."""

    area: np.ndarray
    second_moment: np.ndarray
    polar_moment: np.ndarray


def tube_section(outer_diameter: ArrayLike, wall: ArrayLike) -> TubeSection:
    """Area and second moments of a round tube, mm. ValueError if the wall does not fit into the diameter."""
    outer = np.asarray(outer_diameter, dtype=float)
    wall = np.asarray(wall, dtype=float)
    if not np.all((wall > 0.0) & (2.0 * wall <= outer)):
        raise ValueError("wall: found one that is not above 0 and at most half the outer diameter; give one that is.")
    inner = outer - 2.0 * wall
    area = np.pi * wall * (outer - wall)
    second_moment = area * (outer**2 + inner**2) / 16.0
    return TubeSection(area, second_moment, 2.0 * second_moment)


# --- speed ------------------------------------------------------------------------------------------------------------


def critical_speed(
    outer_diameter: ArrayLike, wall: ArrayLike, length: ArrayLike, axial_modulus: ArrayLike, density: ArrayLike
) -> np.ndarray:
    """First critical (whirl) speed of a uniform tube pinned at both joint centers, rad/s.

    (pi / length)^2 sqrt(E I / (density A)). length: joint distance, mm. axial_modulus: of the tube along its axis; for
    a composite tube that of its lay-up. Ignored: joints' own flexibility and mass, shear, both of which lower it.
    """
    section = tube_section(outer_diameter, wall)
    stiffness = np.asarray(axial_modulus, dtype=float) * KG_MM_PER_NEWTON * section.second_moment
    return (np.pi / np.asarray(length, dtype=float)) ** 2 * np.sqrt(stiffness / (density * section.area))


def maximum_speed(engine_limit: ArrayLike, top_gear: ArrayLike) -> np.ndarray:
    """Highest speed the driveshaft can reach: engine limit over top gear ratio, in the unit of engine_limit.

    Not road speed: in a burnout or with the wheels spinning the engine reaches its limiter in top gear.
    """
    return np.asarray(engine_limit, dtype=float) / top_gear


# --- torque -----------------------------------------------------------------------------------------------------------


def torsion_stress(torque: ArrayLike, outer_diameter: ArrayLike, wall: ArrayLike) -> np.ndarray:
    """Shear stress in N/mm2 at the outside of a round tube under torque in N.mm: 16 T D / (pi (D^4 - d^4))."""
    polar = tube_section(outer_diameter, wall).polar_moment
    return np.asarray(torque, dtype=float) * 0.5 * np.asarray(outer_diameter, dtype=float) / polar


def twist(
    torque: ArrayLike, length: ArrayLike, outer_diameter: ArrayLike, wall: ArrayLike, shear_modulus: ArrayLike
) -> np.ndarray:
    """Twist in rad of a round tube of this length (mm) under torque (N.mm): T L / (G J)."""
    polar = tube_section(outer_diameter, wall).polar_moment
    return np.asarray(torque, dtype=float) * length / (np.asarray(shear_modulus, dtype=float) * polar)


def grip_torque(mu: ArrayLike, rear_load: ArrayLike, tyre_radius: ArrayLike, axle_ratio: ArrayLike) -> np.ndarray:
    """Shaft torque in N.mm at which the rear tires slip: mu, rear axle load N, loaded radius mm, axle ratio."""
    return np.asarray(mu, dtype=float) * rear_load * tyre_radius / axle_ratio


def launch_torque(
    engine_torque: ArrayLike,
    converter_ratio: ArrayLike,
    first_gear: ArrayLike,
    grip_limit: ArrayLike = np.inf,
    shock_factor: ArrayLike = 1.0,
) -> np.ndarray:
    """Shaft torque at launch, N.mm: engine times converter times first gear, or what the tires hold if that is less,
    times a stated shock factor. With a clutch give its capacity factor, or 1, as converter_ratio."""
    engine_side = np.asarray(engine_torque, dtype=float) * converter_ratio * first_gear
    return np.minimum(engine_side, grip_limit) * shock_factor


# --- slip -------------------------------------------------------------------------------------------------------------


class Slip(NamedTuple):
    """State of the slip spline, mm: exposure left before it bottoms, engagement of the spline."""

    exposure: np.ndarray
    engagement: np.ndarray


def slip(
    joint_distance: ArrayLike, static_distance: ArrayLike, exposed: ArrayLike, engaged: ArrayLike
) -> Slip:
    """Exposure and engagement of the slip spline at a joint distance, all mm.

    exposed and engaged are those at static_distance. A longer distance pulls the yoke out. An exposure at or below 0
    is a bottomed yoke, an engagement at or below 0 a yoke that has come out; both are returned as they are.
    """
    pulled = np.asarray(joint_distance, dtype=float) - static_distance
    return Slip(exposed + pulled, engaged - pulled)
