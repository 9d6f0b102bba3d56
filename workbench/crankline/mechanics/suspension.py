"""Rear suspension in side view: four-link, ladder bars and rigid; mm and rad in the car frame (X forward, Z up).

The car frame stays fixed to the chassis at static ride height; the axle moves in it. **Travel** is the axle centre's
rise toward the chassis: bump positive, droop negative. **Rotation** is the housing's turn from static about +Y:
positive lowers the front end of the pinion. A point is a pair (x, z). Inside, a point is the complex number x + i z,
so a rotation of a about +Y is a factor exp(-i a). Lateral motion, bushings and flexing links are out of scope.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, wraps
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from ..units import points_text
from . import frames
from .fourbar import FourBar, SuspensionError, cross

SidePoint = tuple[float, float]


@dataclass(frozen=True)
class FourLink:
    """Four-link in side view: link ends (x, z) in mm at static ride height, `axle` ends on the housing.

    SuspensionError if a link or the distance between the two axle ends has no length.
    """

    lower_axle: SidePoint
    lower_chassis: SidePoint
    upper_axle: SidePoint
    upper_chassis: SidePoint

    def __post_init__(self) -> None:
        _points(self, "lower_axle", "lower_chassis", "upper_axle", "upper_chassis")
        _apart(self.lower_axle, self.lower_chassis, "lower link: both its ends")
        _apart(self.upper_axle, self.upper_chassis, "upper link: both its ends")
        _apart(self.lower_axle, self.upper_axle, "four-link: the axle ends of both links")


@dataclass(frozen=True)
class Ladder:
    """Ladder bars in side view: rigid with the housing, turning about one chassis pivot (x, z), mm at static."""

    pivot: SidePoint

    def __post_init__(self) -> None:
        _points(self, "pivot")


@dataclass(frozen=True)
class Rigid:
    """Axle bolted or welded to the chassis: no travel."""


Suspension = FourLink | Ladder | Rigid

FEW = 16
"""Travels up to which a reading of a four-link is kept: the poses of a car are a few, a sweep is many."""

NOT_YET = "no rear suspension yet"
"""Said where a car has no rear suspension yet, and what was asked for hangs on it."""


def suspension_of(rear_end: model.RearEnd) -> Suspension:
    """The suspension of a record; SuspensionError names what is missing."""
    if rear_end.suspension is None:
        raise SuspensionError(NOT_YET)
    return _described(rear_end.suspension)


@lru_cache(maxsize=64)
def _described(given: model.Suspension) -> Suspension:
    if given.kind == "four_link":
        if given.lower is None or given.upper is None:
            raise SuspensionError("rear_end.suspension.lower and upper are needed for a four-link; give the ends of both links")
        ends = (given.lower.axle, given.lower.chassis, given.upper.axle, given.upper.chassis)
        return FourLink(*((end.x, end.z) for end in ends))
    if given.kind == "ladder":
        if given.pivot is None:
            raise SuspensionError("rear_end.suspension.pivot is needed for ladder bars; give their front pivot")
        return Ladder((given.pivot.x, given.pivot.z))
    return Rigid()


class AxlePose(NamedTuple):
    """Axle center x, z (mm), turn of the housing (rad about +Y) and whether the links close, shaped as travel.

    x, z and rotation are nan where `closes` is False.
    """

    x: np.ndarray
    z: np.ndarray
    rotation: np.ndarray
    closes: np.ndarray


class PinionPose(NamedTuple):
    """Centre of the rear joint (..., 2 or 3) in mm, pitch of the pinion axis (rad, positive nose down), closes."""

    joint: np.ndarray
    pitch: np.ndarray
    closes: np.ndarray


class InstantCentre(NamedTuple):
    """Side-view instant center of the housing against the chassis, in homogeneous coordinates: X = x / w, Z = z / w.

    w is 0 for parallel links, whose instant center lies infinitely far away: then x, z are their direction, and all
    slopes and rates below are still exact.
    """

    x: np.ndarray
    z: np.ndarray
    w: np.ndarray

    @property
    def near(self) -> np.ndarray:
        """Whether there is a point: False for parallel links, and where the links do not close."""
        return np.isfinite(self.w) & (self.w != 0.0)

    @property
    def point(self) -> np.ndarray:
        """Instant center (..., 2) in the car frame, mm; infinite for parallel links."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.stack([self.x / self.w, self.z / self.w], axis=-1)

    def slope_from(self, x: ArrayLike, z: ArrayLike) -> np.ndarray:
        """Rise over run of the line from the point (x, z) to the instant center."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return (self.z - z * self.w) / (self.x - x * self.w)

    def turn_per_travel(self, axle_x: ArrayLike) -> np.ndarray:
        """Turn of the housing per mm of travel, rad/mm: 1 / (distance of the instant center ahead of the axle).

        That is 57.3 / x_IC degrees an inch with x_IC in inches; droop, being negative, turns the nose up.
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            return self.w / (self.x - axle_x * self.w)


class ClosingError(NamedTuple):
    """First travel that the suspension does not reach, and the link that stops it.

    link: "lower link", "upper link", "ladder bar" or "rigid axle"; direction: "bump" or "droop"; travel: mm, signed, the
    last one that closes; asked: mm, signed.
    """

    link: str
    direction: str
    travel: float
    asked: float


# --- where the axle goes ----------------------------------------------------------------------------------------------


def _kept(reading: Callable[[Any, SidePoint, np.ndarray], Any]) -> Callable[..., Any]:
    """A reading of a suspension at some travels; at few of them that of a four-link is kept: whatever else of a car is turned, its poses
    ask for the same again and again."""
    @lru_cache(maxsize=256)
    def known(suspension: FourLink, axle: SidePoint, raw: bytes, shape: tuple[int, ...]) -> Any:
        found = reading(suspension, axle, np.frombuffer(raw).reshape(shape))
        for part in found:
            part.setflags(write=False)
        return found

    @wraps(reading)
    def asked(suspension: Suspension, axle_static: SidePoint, travel: ArrayLike = 0.0) -> Any:
        travel = np.asarray(travel, dtype=float)
        if isinstance(suspension, FourLink) and travel.size <= FEW:
            return known(suspension, tuple(float(value) for value in axle_static), travel.tobytes(), travel.shape)
        return reading(suspension, axle_static, travel)
    return asked


@_kept
def axle_pose(suspension: Suspension, axle_static: SidePoint, travel: ArrayLike) -> AxlePose:
    """Where the axle center goes and how far the housing turns when the axle rises by travel (mm, bump positive).

    axle_static: axle center (x, z) at static ride height. The assembly is the one that is reached from static without
    taking a link apart or past the point where it stands in line with the housing. Ladder bars in closed form; a
    four-link by the closed form of the four-bar in the angle of the lower link, whose angle at a travel is then found by
    Newton's method. Closing means within 1e-9 of the linkage's size. SuspensionError where static ride height itself is no such pose.
    """
    travel = np.asarray(travel, dtype=float)
    axle = _axle(axle_static)
    if isinstance(suspension, FourLink):
        centre, rotation, closes = _four_bar(suspension, axle).at_travel(travel)
    elif isinstance(suspension, Ladder):
        centre, rotation, closes = _ladder_pose(suspension, axle, travel)
    else:
        closes = travel == 0.0
        centre, rotation = np.full(travel.shape, axle), np.zeros(travel.shape)
    x, z, rotation = (np.where(closes, part, np.nan) for part in (centre.real, centre.imag, rotation))
    return AxlePose(x, z, rotation, closes)


def pinion_pose(
    suspension: Suspension,
    axle_static: SidePoint,
    joint_static: ArrayLike,
    pinion_pitch: ArrayLike,
    travel: ArrayLike,
    windup: ArrayLike = 0.0,
) -> PinionPose:
    """Rear joint and pinion pitch at a travel (mm, bump positive) and a wind-up (rad, nose up positive).

    joint_static: (x, z) or (x, y, z) at static ride height, pinion_pitch: rad to the ground there, positive nose down.
    Wind-up is what bars, brackets and bushings give way under torque: it turns the housing about the axle center on top
    of the links' own rotation, at launch nose up. travel and windup broadcast.
    """
    joint = np.asarray(joint_static, dtype=float)
    travel, windup = np.broadcast_arrays(np.asarray(travel, dtype=float), np.asarray(windup, dtype=float))
    pose = axle_pose(suspension, axle_static, travel)
    turn = pose.rotation - windup
    arm = complex(joint[..., 0], joint[..., -1]) - _axle(axle_static)
    moved = pose.x + 1j * pose.z + arm * np.exp(-1j * turn)
    parts = [moved.real, np.full(moved.shape, joint[1]), moved.imag] if joint.shape == (3,) else [moved.real, moved.imag]
    return PinionPose(np.stack(parts, axis=-1), pinion_pitch + turn, pose.closes)


def travel_range(suspension: Suspension, axle_static: SidePoint) -> tuple[float, float]:
    """Lowest (droop, at most 0) and highest (bump, at least 0) travel in mm that the links reach; see `axle_pose`."""
    axle = _axle(axle_static)
    if isinstance(suspension, FourLink):
        return _four_bar(suspension, axle).travel_range
    if isinstance(suspension, Ladder):
        pivot = complex(*suspension.pivot)
        reach = abs(axle - pivot)
        level = pivot.imag - axle.imag
        return level - reach, level + reach
    return 0.0, 0.0


def closing_error(suspension: Suspension, axle_static: SidePoint, travel: ArrayLike) -> tuple[ClosingError, ...]:
    """What does not close among these travels (mm): at most one entry for droop and one for bump; empty if all close.

    The link named is the one that stands in line with the housing (nearest to it, should the axle run out of height
    first): a longer link, or one that lies flatter, is the way out.
    """
    travel = np.asarray(travel, dtype=float)
    lowest, highest = travel_range(suspension, axle_static)
    failing = travel[~axle_pose(suspension, axle_static, travel).closes]
    errors = []
    for direction, reached, side in (("droop", lowest, failing[failing < 0.0]), ("bump", highest, failing[failing > 0.0])):
        if side.size:
            errors.append(ClosingError(_link_at(suspension, axle_static, direction), direction, reached,
                                       float(side[np.argmax(np.abs(side))])))
    return tuple(errors)


# --- instant center ---------------------------------------------------------------------------------------------------


@_kept
def instant_centre(suspension: Suspension, axle_static: SidePoint, travel: ArrayLike = 0.0) -> InstantCentre:
    """Side-view instant center of the housing at a travel (mm, bump positive); nan where the links do not close.

    Four-link: where the lines of both links meet. Ladder: its pivot. SuspensionError for a rigid axle, which has none.
    """
    travel = np.asarray(travel, dtype=float)
    pose = axle_pose(suspension, axle_static, travel)
    if isinstance(suspension, Ladder):
        x, z = (np.where(pose.closes, value, np.nan) for value in suspension.pivot)
        return InstantCentre(x, z, np.where(pose.closes, 1.0, np.nan))
    if not isinstance(suspension, FourLink):
        raise SuspensionError("suspension: a rigid axle has no instant center; give a four_link or a ladder.")
    centre, turn = pose.x + 1j * pose.z, np.exp(-1j * pose.rotation)
    lines = []
    for axle_end, chassis_end in ((suspension.lower_axle, suspension.lower_chassis),
                                  (suspension.upper_axle, suspension.upper_chassis)):
        fixed = complex(*chassis_end)
        moved = centre + (complex(*axle_end) - _axle(axle_static)) * turn
        lines.append(np.stack([moved.imag - fixed.imag, fixed.real - moved.real, cross(moved, fixed)], axis=-1))
    x, z, w = np.moveaxis(frames.cross(*lines), -1, 0)
    # Lines parallel but for rounding (a few ulp of the products above) are parallel.
    size = np.linalg.norm(lines[0][..., :2], axis=-1) * np.linalg.norm(lines[1][..., :2], axis=-1)
    return InstantCentre(x, z, np.where(np.abs(w) < 1e-13 * size, 0.0, w))


def static_instant_centre(suspension: Suspension, axle_static: SidePoint) -> InstantCentre | None:
    """Instant center at static ride height, numbers of shape (); None for a rigid axle, which has none."""
    return None if isinstance(suspension, Rigid) else instant_centre(suspension, axle_static)


def anti_squat(centre: InstantCentre, cg_height: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """Share of the rear load transfer that the links carry instead of the springs; 1 is 100 %: neither squat nor rise.

    Slope of the line from the rear contact patch to the instant center over the slope that carries everything,
    cg_height / wheelbase (live axle, torque reacted by the links; standard vehicle dynamics). cg_height is above the track, mm; the mass
    of the axle itself is not taken off.
    """
    return centre.slope_from(0.0, 0.0) * wheelbase / np.asarray(cg_height, dtype=float)


# --- small parts ------------------------------------------------------------------------------------------------------


def _four_bar(suspension: FourLink, axle: complex) -> FourBar:
    return FourBar.of(*(complex(*point) for point in (suspension.lower_axle, suspension.lower_chassis,
                                                      suspension.upper_axle, suspension.upper_chassis)), axle)


def _ladder_pose(suspension: Ladder, axle: complex, travel: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    pivot = complex(*suspension.pivot)
    arm = axle - pivot
    if abs(arm.real) <= 1e-6 * abs(arm) or arm == 0.0:
        raise SuspensionError(
            f"ladder pivot: found {points_text([(pivot.real, pivot.imag)])} straight above or below the axle; give a pivot ahead "
            "of the axle.")
    height = arm.imag + travel
    closes = np.abs(height) <= abs(arm)
    across = np.sqrt(np.maximum((abs(arm) - height) * (abs(arm) + height), 0.0))
    moved = np.copysign(across, arm.real) + 1j * height
    return pivot + moved, -np.angle(moved / arm), closes


def _link_at(suspension: Suspension, axle_static: SidePoint, direction: str) -> str:
    if isinstance(suspension, FourLink):
        return _four_bar(suspension, _axle(axle_static)).link_at(direction)
    return "ladder bar" if isinstance(suspension, Ladder) else "rigid axle"


def _axle(axle_static: SidePoint) -> complex:
    x, z = (float(value) for value in axle_static)
    if not (np.isfinite(x) and np.isfinite(z)):
        raise SuspensionError(f"axle: found ({x:g}, {z:g}); give two finite lengths.")
    return complex(x, z)


def _points(suspension: Suspension, *names: str) -> None:
    """Plain floats in place of whatever numbers came, so that equal suspensions are equal and hashable."""
    for name in names:
        given = getattr(suspension, name)
        try:
            x, z = (float(value) for value in given)
        except (TypeError, ValueError):
            x = z = np.nan
        if not (np.isfinite(x) and np.isfinite(z)):
            raise SuspensionError(f"{name}: found {given!r}; give a pair (x, z) of finite lengths.")
        object.__setattr__(suspension, name, (x, z))


def _apart(a: SidePoint, b: SidePoint, what: str) -> None:
    if np.hypot(a[0] - b[0], a[1] - b[1]) < 1e-3:
        raise SuspensionError(f"{what} are at {points_text([a])}; move them apart.")
