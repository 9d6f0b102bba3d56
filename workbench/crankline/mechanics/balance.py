"""Mass, center of gravity, axle split, load transfer; mm, kg, N, s in the car frame (X = 0 at the rear axle).

Forces in N, accelerations in mm/s2: mass times acceleration is divided by 1000 kg.mm/s2 a newton, in the open. Every
component is listed once; there is no second total. The car is rigid, on level ground, driven by the rear axle, without
aerodynamic forces.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .shaft import KG_MM_PER_NEWTON

STANDARD_GRAVITY = 9806.65
"""Standard acceleration of free fall, mm/s2 (ISO 80000-3)."""


@dataclass(frozen=True, eq=False)
class Mass:
    """One component: mass in kg, shape (...); cg, its center of gravity in the car frame, mm, shape (..., 3)."""

    mass: ArrayLike
    cg: ArrayLike


def total(masses: Iterable[Mass]) -> tuple[np.ndarray, np.ndarray]:
    """Mass (...) in kg and center of gravity (..., 3) in mm of all components together.

    Components may be arrays over placements; their leading axes broadcast. ValueError if there is no mass.
    """
    mass = np.zeros(())
    moment = np.zeros(3)
    for component in masses:
        share = np.asarray(component.mass, dtype=float)
        mass = mass + share
        moment = moment + share[..., None] * np.asarray(component.cg, dtype=float)
    if not np.all(mass > 0.0):
        raise ValueError("masses: found a total that is not above 0 kg; list every component once, with its mass.")
    return mass, moment / mass[..., None]


# --- standing ---------------------------------------------------------------------------------------------------------


def split(cg_x: ArrayLike, wheelbase: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Shares of the weight on the front and on the rear axle, from the X of the center of gravity (mm)."""
    front = np.asarray(cg_x, dtype=float) / wheelbase
    return front, 1.0 - front


def shift(mass_moved: ArrayLike, move: ArrayLike, total_mass: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """Change of the front axle's share when mass_moved (kg) goes forward by move (mm), wheelbase held.

    Closed form: mass x move / wheelbase is the load (in kg) that changes axles; over the total mass it is a share.
    """
    return np.asarray(mass_moved, dtype=float) * move / (np.asarray(total_mass, dtype=float) * wheelbase)


def move_for_shift(share: ArrayLike, mass_moved: ArrayLike, total_mass: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """How far forward (mm) mass_moved (kg) has to go to change the front axle's share by so much: the inverse of `shift`."""
    return np.asarray(share, dtype=float) * total_mass * wheelbase / mass_moved


def mass_for_shift(share: ArrayLike, x: ArrayLike, cg_x: ArrayLike, total_mass: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """Mass (kg) that has to be added at a station x (mm) to change the front axle's share by so much; negative: taken off there.

    (m cg_x + b x) / ((m + b) wheelbase) = cg_x / wheelbase + share, solved for b. nan where no finite mass does it: a station at which the
    share of the car would be its own.
    """
    wanted = np.asarray(share, dtype=float) * wheelbase
    with np.errstate(divide="ignore", invalid="ignore"):
        found = total_mass * wanted / (np.asarray(x, dtype=float) - cg_x - wanted)
    return np.where(np.isfinite(found), found, np.nan)


def corner_loads(front: ArrayLike, rear: ArrayLike, cg_y: ArrayLike, front_track: ArrayLike,
                 rear_track: ArrayLike) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Load on each wheel: front left, front right, rear left, rear right, in the unit of the axle loads.

    cg_y: center of gravity left of the center plane, tracks: center to center of the tires, mm. Four wheels carry a car in more than one
    way: springs without preload are taken, so that each axle carries its share of the offset, (1/2 + cg_y / track) of its load on the left.
    """
    sides = []
    for load, track in ((np.asarray(front, dtype=float), front_track), (np.asarray(rear, dtype=float), rear_track)):
        left = load * (0.5 + np.asarray(cg_y, dtype=float) / track)
        sides += [left, load - left]
    return sides[0], sides[1], sides[2], sides[3]


def tilt_angle(raised: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """Angle (rad) of a car whose front wheels stand so much (mm) higher than its rear wheels: sin = raised / wheelbase."""
    return np.arcsin(np.asarray(raised, dtype=float) / wheelbase)


def cg_x_from_loads(front_load: ArrayLike, rear_load: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """X of the center of gravity, mm ahead of the rear axle, from the axle loads on a level scale (any one unit)."""
    front = np.asarray(front_load, dtype=float)
    return wheelbase * front / (front + rear_load)


def cg_height_from_tilt(
    load_change: ArrayLike, weight: ArrayLike, wheelbase: ArrayLike, angle: ArrayLike, hub_height: ArrayLike
) -> np.ndarray:
    """Height of the center of gravity above the track, mm: weigh one axle level, and again with the other axle raised.

    load_change: gain of the axle that stays down (unit of weight); angle: tilt in rad; wheelbase and hub_height (loaded
    tire radius) mm. Suspension locked. hub_height + load_change wheelbase / (weight tan(angle)).
    """
    gain = np.asarray(load_change, dtype=float) / weight
    return np.asarray(hub_height, dtype=float) + gain * wheelbase / np.tan(angle)


# --- accelerating -----------------------------------------------------------------------------------------------------


def load_transfer(
    mass: ArrayLike, acceleration: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike
) -> np.ndarray:
    """Load in N that goes from the front to the rear axle under a forward acceleration in mm/s2: m a h / wheelbase."""
    return np.asarray(mass, dtype=float) * acceleration * cg_height / wheelbase / KG_MM_PER_NEWTON


def wheelstand_limit(cg_x: ArrayLike, cg_height: ArrayLike, gravity: float = STANDARD_GRAVITY) -> np.ndarray:
    """Acceleration in mm/s2 at which the front wheels carry nothing: gravity times cg_x over cg_height."""
    return gravity * np.asarray(cg_x, dtype=float) / cg_height


def axle_loads(
    mass: ArrayLike,
    cg: ArrayLike,
    wheelbase: ArrayLike,
    acceleration: ArrayLike = 0.0,
    gravity: float = STANDARD_GRAVITY,
) -> tuple[np.ndarray, np.ndarray]:
    """Front and rear axle load in N at a forward acceleration in mm/s2; cg (..., 3) in the car frame.

    Past the wheelstand limit the front axle carries nothing and the rear everything.
    """
    cg = np.asarray(cg, dtype=float)
    weight = np.asarray(mass, dtype=float) * gravity / KG_MM_PER_NEWTON
    front_share, _rear_share = split(cg[..., 0], wheelbase)
    front = np.maximum(weight * front_share - load_transfer(mass, acceleration, cg[..., 2], wheelbase), 0.0)
    return front, weight - front


def rear_load_at(
    acceleration: ArrayLike, mass: ArrayLike, cg: ArrayLike, wheelbase: ArrayLike, gravity: float = STANDARD_GRAVITY
) -> np.ndarray:
    """Rear axle load in N at a forward acceleration in mm/s2 (see `axle_loads`)."""
    return axle_loads(mass, cg, wheelbase, acceleration, gravity)[1]


def traction_limit(
    mu: ArrayLike, cg_x: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike, gravity: float = STANDARD_GRAVITY
) -> np.ndarray:
    """Largest forward acceleration in mm/s2 of a rear-wheel-drive car on tires of friction coefficient mu.

    mu g a1 / (wheelbase - mu h), with a1 the distance of the center of gravity behind the front axle. More grip than
    cg_x / cg_height only lifts the front wheels, so the limit ends at the wheelstand limit.
    """
    cg_x = np.asarray(cg_x, dtype=float)
    usable = np.minimum(mu, cg_x / cg_height)
    return usable * gravity * (wheelbase - cg_x) / (wheelbase - usable * cg_height)
