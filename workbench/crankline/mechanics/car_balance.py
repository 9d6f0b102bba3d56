"""The balance of a car over arrays of placements: split, height of the center of gravity, launch, wheelstand, anti-squat; and what a move
of ballast or battery does instead. mm, kg, N, rad in the car frame; accelerations in g.

The car is rigid, on level ground, driven by the rear axle, without aerodynamic forces. What a placement moves is engine and transmission;
everything else stays. Where the car was weighed, the scales say what it has and the list of components what a placement changes of it.
"""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from . import balance, components, mount_screening, scene
from .components import Component
from .scene import Scene
from .suspension import InstantCentre, anti_squat

COMPONENTS, SCALES = "list of components", "scales"


@dataclass(frozen=True, eq=False)
class Weighed:
    """What scales say of a whole car: mass, kg; center of gravity (3,), nan in what they do not tell: y without both tracks, z without
    the second weighing. corners: front left, front right, rear left, rear right, kg."""
    mass: float
    cg: np.ndarray
    corners: tuple[float, float, float, float]

    @property
    def front_share(self) -> float:
        """Share of the mass on the front axle."""
        return (self.corners[0] + self.corners[1]) / self.mass

    @property
    def left_share(self) -> float:
        """Share of the mass on the left wheels."""
        return (self.corners[0] + self.corners[2]) / self.mass

    @property
    def cross_share(self) -> float:
        """Share of the mass on right front and left rear: what wedge changes."""
        return (self.corners[1] + self.corners[2]) / self.mass


def weighed(car: model.Car) -> Weighed | None:
    """The scales of a car with its defaults filled in; None where it was not weighed. ValueError where an axle has no load, or the second
    weighing is not whole or cannot be; it begins with the key."""
    given, record = car.car.scales, car.car
    if given is None:
        return None
    corners = (given.front_left, given.front_right, given.rear_left, given.rear_right)
    mass = sum(corners)
    front, rear = corners[0] + corners[1], corners[2] + corners[3]
    if min(front, rear) <= 0.0:
        raise ValueError("car.scales: an axle without load was found; give what each of the four scales shows, driver in")
    x = float(balance.cg_x_from_loads(front, rear, record.wheelbase))
    y = z = np.nan
    if record.front_track is not None and record.rear_track is not None:
        y = 0.5 * ((corners[0] - corners[1]) * record.front_track + (corners[2] - corners[3]) * record.rear_track) / mass
    if (given.front_raised is None) != (given.rear_gain is None):
        there, other = ("front_raised", "rear_gain") if given.rear_gain is None else ("rear_gain", "front_raised")
        raise ValueError(f"car.scales.{there}: it was given without {other}; give both, or neither")
    if given.front_raised is not None and given.rear_gain is not None:
        if given.rear_gain >= front:
            raise ValueError("car.scales.rear_gain: it is as much as both front scales together show, or more; give what the rear scales "
                             "gained, not what they showed")
        if given.front_raised >= 0.7 * record.wheelbase:
            raise ValueError("car.scales.front_raised: it is more than 7/10 of the wheelbase, which tips a car over; give how high the "
                             "front wheels were raised")
        tilt = balance.tilt_angle(given.front_raised, record.wheelbase)
        z = float(balance.cg_height_from_tilt(given.rear_gain, mass, record.wheelbase, tilt, car.chassis.rear_tire.loaded_radius))
    return Weighed(mass, np.array([x, y, z]), corners)


@dataclass(frozen=True, eq=False)
class Balance:
    """The balance of a car at placements (...). mass: kg; cg: (..., 3); source: what they follow from; front_share: of the weight.

    friction: of the rear tires (assumed, ``mount_screening.GRIP``). launch: acceleration in g that torque and tires give, of which the
    lesser counts. tire_limited: the most that the tires hold as the load goes back, wheelstand the acceleration at which the front wheels
    carry nothing, wheelstand_margin what is left to it at the launch, negative: they come off the track. transfer: load that goes to the
    rear axle at the launch, N, no more than the front axle has. anti_squat: 1 is 100 %; None where the car has no instant center.
    """
    mass: float
    cg: np.ndarray
    wheelbase: float
    source: str
    friction: float
    launch: np.ndarray
    tire_limited: np.ndarray
    wheelstand: np.ndarray
    transfer: np.ndarray
    anti_squat: np.ndarray | None

    @property
    def front_share(self) -> np.ndarray:
        """Share of the weight on the front axle, standing."""
        return balance.split(self.cg[..., 0], self.wheelbase)[0]

    @property
    def wheelstand_margin(self) -> np.ndarray:
        """What is left, in g, between the launch and the acceleration that lifts the front wheels."""
        return self.wheelstand - self.launch

    def corners(self, front_track: float, rear_track: float) -> np.ndarray:
        """Load on each wheel, standing, N: front left, front right, rear left, rear right on the last axis (`balance.corner_loads`)."""
        front, rear = balance.axle_loads(self.mass, self.cg, self.wheelbase)
        return np.stack(balance.corner_loads(front, rear, self.cg[..., 1], front_track, rear_track), axis=-1)


def of(car: model.Car, placed: Scene, centre: InstantCentre | None = None) -> Balance:
    """The balance of a car with its defaults filled in, at one placement or many. centre: side-view instant center of its rear suspension.
    ValueError without a list of masses: engine and transmission alone are no car."""
    if not car.masses:
        raise ValueError("masses: no components are listed; give every component but engine and transmission, once")
    listed, cg = components.whole(car, placed)
    mass, source, scales = float(listed), COMPONENTS, weighed(car)
    if scales is not None:
        # The list tells what a placement changes, the scales what was there when it stood as the car file says.
        before = components.whole(car, scene.of(car))[1]
        moved = (cg - before) * float(listed) / scales.mass
        cg = np.where(np.isfinite(scales.cg), scales.cg, before) + moved
        mass, source = scales.mass, SCALES
    wheelbase, gearing, tire = car.car.wheelbase, car.transmission, placed.chassis.rear_tire
    friction = mount_screening.GRIP[car.car.tires]
    radii = [radius for radius in (tire.loaded_radius, tire.free_radius) if radius]
    multiplier = gearing.converter_ratio or gearing.clutch_capacity_factor or 1.0
    launched = mount_screening.launch(car.engine.peak_torque, multiplier, gearing.first_gear, mass, cg, wheelbase, friction, radii,
                                      placed.rear_end.ratio)
    launch = np.asarray(launched.forward, dtype=float)
    front, _rear = balance.axle_loads(mass, cg, wheelbase)
    transfer = np.minimum(balance.load_transfer(mass, launch * balance.STANDARD_GRAVITY, cg[..., 2], wheelbase), front)
    share = None if centre is None else anti_squat(centre, cg[..., 2], wheelbase)
    return Balance(mass, cg, wheelbase, source, friction, launch,
                   balance.traction_limit(friction, cg[..., 0], cg[..., 2], wheelbase) / balance.STANDARD_GRAVITY,
                   balance.wheelstand_limit(cg[..., 0], cg[..., 2]) / balance.STANDARD_GRAVITY, transfer, share)


# --- the same split by other means ------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Equal:
    """What changes the split as much as a move of the powertrain does: a component moved forward by so much, mm, or mass added there, kg
    (negative: taken off). at: X where it then is."""
    name: str
    move: np.ndarray | None
    added: np.ndarray | None
    at: np.ndarray


def equal_moves(car: model.Car, placed: Scene, forward: ArrayLike) -> tuple[Equal, ...]:
    """What gives the same split as the powertrain moved forward (mm, an array or one): each battery and each piece of ballast moved, by its
    role in the list of masses, and ballast added above the front or the rear axle line. Closed forms (`balance.shift` and its inverses)."""
    listed = components.of(car, placed)
    mass, cg = components.whole(car, placed)
    wheelbase = car.car.wheelbase
    share = balance.shift(powertrain_mass(listed), forward, mass, wheelbase)
    found = []
    for item in listed:
        if item.role in ("battery", "ballast") and np.all(np.asarray(item.mass.mass) > 0.0):
            move = balance.move_for_shift(share, item.mass.mass, mass, wheelbase)
            found.append(Equal(item.name, move, None, np.asarray(item.mass.cg)[..., 0] + move))
    for name, x in (("ballast over the front axle", wheelbase), ("ballast over the rear axle", 0.0)):
        found.append(Equal(name, None, balance.mass_for_shift(share, x, cg[..., 0], mass, wheelbase), np.asarray(x)))
    return tuple(found)


def powertrain_mass(listed: Iterable[Component]) -> float:
    """Mass of what a placement moves, kg."""
    return float(sum(np.asarray(item.mass.mass) for item in listed if item.role in components.POWERTRAIN))
