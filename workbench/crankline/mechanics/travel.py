"""The driveshaft over axle travel: where it stands, what the slip does, and how near it comes to what is around it.

Positions are those of `poses.evaluate_travel`: the rear joint goes with the housing in side view, the shaft keeps its
length, the front joint slides along the output axis. mm and rad in the car frame. Every result is an array over the
positions of a sweep; a thousand positions are a few array operations.

Clearances. A plane square to an opening's axis cuts the shaft in an ellipse, which is taken as an upright stadium that
holds it (`_stadium`): exact for a shaft in a vertical plane through the opening's axis, otherwise on the careful side, by
no more than half its radius times sideways lean times both leans together (hundredths of a millimeter on a usual car).
The shaft counts as a tube, and as a cylinder of the joints' swing diameter near each joint center and beyond it as far
as the ball of that diameter reaches. All radii include the whip allowance.
"""
from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from ..record import filled
from ..units import sized
from . import frames, poses, shaft
from .fourbar import SuspensionError
from .scene import Scene, shaft_frame
from .suspension import NOT_YET, closing_error, pinion_pose, suspension_of

JOINT_REACH = 0.75
"""How far a joint with its weld yoke reaches along the shaft from the joint center, over its swing diameter."""


class TravelError(ValueError):
    """A travel that the suspension or the shaft does not reach. One sentence: what stops it, where, the way out."""


@dataclass(frozen=True)
class Body:
    """What the shaft fills about its axis, mm: radius of the tube; radius of the joints and how far it counts along the
    shaft from each joint center. Whip allowance included."""
    tube: float
    joint: float
    reach: float


def body_of(driveshaft: model.Driveshaft, whip: float | None = None) -> Body:
    """The body of a driveshaft; whip: mm, the record's own allowance where it is not given (0 for the bare shaft)."""
    given = filled(driveshaft)
    whip = given.whip_allowance if whip is None else whip
    return Body(given.outer_diameter / 2 + whip, given.joint_swing_diameter / 2 + whip, JOINT_REACH * given.joint_swing_diameter)


# --- positions --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Sweep:
    """A driveshaft at n positions; arrays of shape (n,) or (n, 3), nan where the suspension or the slip does not reach.

    travel: axle travel, mm, bump positive; windup: rad, nose up positive; rear, front: joint centers; axis: forward unit
    vectors; length: between joint centers, mm, the same everywhere; plunge: slip into the transmission since static, mm;
    exposure: slip yoke exposed, mm, at or below 0 = bottomed; engagement: spline engaged, mm, at or below 0 = come out.
    """
    travel: np.ndarray
    windup: np.ndarray
    rear: np.ndarray
    front: np.ndarray
    axis: np.ndarray
    length: np.ndarray
    plunge: np.ndarray
    exposure: np.ndarray
    engagement: np.ndarray

    def __getitem__(self, key: Any) -> Sweep:
        """Some of the positions: an index array, a mask or a slice."""
        return Sweep(*(getattr(self, field.name)[key] for field in fields(self)))

    @property
    def reached(self) -> np.ndarray:
        """Which positions exist."""
        return np.isfinite(self.plunge)


def travels(scene: Scene, count: int = 101) -> np.ndarray:
    """Axle travels from full droop to full bump, mm, evenly spaced, static among them; SuspensionError without a rear suspension."""
    given = scene.rear_end.suspension
    if given is None:
        raise SuspensionError(NOT_YET)
    if given.kind == "rigid" or given.bump + given.droop == 0.0:
        return np.zeros(1)
    return np.union1d(np.linspace(-given.droop, given.bump, count), [0.0])


def sweep(scene: Scene, travel: ArrayLike, windup: ArrayLike = 0.0) -> Sweep:
    """The shaft at axle travels (mm, bump positive) and wind-ups (rad, nose up positive), which broadcast to (n,)."""
    travel, windup = np.broadcast_arrays(*(np.atleast_1d(np.asarray(value, dtype=float)) for value in (travel, windup)))
    found = poses.evaluate_travel(travel, windup, suspension_of(scene.rear_end), axle(scene), scene.rear_joint,
                                  scene.rear_end.pinion_pitch, scene.front_joint, scene.engine_frame.axis)
    slip = shaft.slip(-found.plunge, 0.0, scene.transmission.slip_exposed, scene.transmission.spline_engaged)
    length = np.full(travel.shape, float(np.linalg.norm(scene.front_joint - scene.rear_joint)))
    return Sweep(travel, windup, found.joint, found.front_joint, found.shaft_axis, length, found.plunge, slip.exposure,
                 slip.engagement)


def positions(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Axle travels and wind-ups of everything that a driveshaft does, (n,) each: full droop to full bump, each at least, no and greatest
    wind-up of the poses. SuspensionError without a rear suspension."""
    travel, windup = travels(scene), np.unique([*windups(scene), 0.0])
    return np.repeat(travel, windup.size), np.tile(windup, travel.size)


def axle(scene: Scene) -> tuple[float, float]:
    """Axle center (x, z) at static ride height."""
    return 0.0, scene.chassis.rear_tire.loaded_radius


def windups(scene: Scene) -> tuple[float, float]:
    """Least and greatest wind-up of all poses, rad: braking turns the nose down, launch up."""
    given = poses.assumptions_of(scene.rear_end.suspension)
    shares = [0.0, 1.0] + [value for name, value in vars(given).items() if name.endswith("windup")]
    found = [share * scene.rear_end.windup for share in shares]
    return min(found), max(found)


def checked(scene: Scene, found: Sweep) -> Sweep:
    """The same sweep; TravelError names what stops it where it does not exist throughout."""
    if found.reached.all():
        return found
    for error in closing_error(suspension_of(scene.rear_end), axle(scene), found.travel):
        raise TravelError(f"rear_end.suspension.{error.direction}: the {error.link} stops the axle at "
                          f"{sized(abs(error.travel))} of {sized(abs(error.asked))} "
                          f"of {error.direction}; give less {error.direction} or a longer link")
    worst = float(found.travel[~found.reached][0])
    raise TravelError(f"driveshaft: it cannot span the joints at {sized(worst)} of axle travel however far it slips; give less "
                      "travel, or check the joint centers")


# --- slip -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SlipExtreme:
    """One end of what the slip does: furthest_in, furthest_out, or static. mm; front_joint: its center then."""
    name: str
    travel: float
    windup: float
    plunge: float
    exposure: float
    engagement: float
    front_joint: tuple[float, float, float]


def slip_extremes(found: Sweep) -> tuple[SlipExtreme, SlipExtreme]:
    """(furthest in, furthest out) among the positions of a sweep that exist; TravelError where none does."""
    if not found.reached.any():
        raise TravelError("driveshaft: no position of the axle is reached; check the suspension's link ends")
    return (extreme("furthest_in", found, int(np.nanargmax(found.plunge))),
            extreme("furthest_out", found, int(np.nanargmin(found.plunge))))


def extreme(name: str, found: Sweep, i: int) -> SlipExtreme:
    """What the slip does at a position of a sweep."""
    return SlipExtreme(name, float(found.travel[i]), float(found.windup[i]), float(found.plunge[i]), float(found.exposure[i]),
                       float(found.engagement[i]), frames.as_point(found.front[i]))


def slip_over(scene: Scene) -> dict[str, shaft.Slip]:
    """What the slip does at many placements (N,) (`scene.spread`): static and at both ends, over the travels and wind-ups of a sweep, each
    as (N,) arrays; nan where a position is not reached."""
    travel, windup = positions(scene)
    joint = pinion_pose(suspension_of(scene.rear_end), axle(scene), scene.rear_joint, scene.rear_end.pinion_pitch, travel, windup).joint
    front, along = np.atleast_2d(scene.front_joint), np.atleast_2d(scene.engine_frame.axis)
    ends = np.empty((2, len(front)))
    for part, found in poses.plunges(joint, scene.rear_joint, front, along):
        ends[0, part], ends[1, part] = found.max(axis=-1), found.min(axis=-1)
    given = scene.transmission
    plunged = {"static": 0.0 * ends[0], "furthest_in": ends[0], "furthest_out": ends[1]}
    return {name: shaft.slip(-plunge, 0.0, given.slip_exposed, given.spline_engaged) for name, plunge in plunged.items()}


# --- openings around the shaft ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Opening:
    """The inside of a loop in a plane square to the car: a circle, or a stadium with straight legs. mm, car frame.

    center: (x, y, z); inner_width, inner_height: clear; half_width: half the ring's width along the car; round_section:
    whether that is a bent tube, whose inside is nearest in its middle plane, or a strap, which is as near at its edges;
    open_angle: rad left open at the bottom, seen from the center. Clearances take the ring as closed.
    """
    name: str
    center: tuple[float, float, float]
    inner_width: float
    inner_height: float
    half_width: float
    round_section: bool
    open_angle: float = 0.0

    @property
    def radius(self) -> float:
        """Inside radius of the bends."""
        return min(self.inner_width, self.inner_height) / 2

    @property
    def core(self) -> tuple[float, float]:
        """Half lengths (across, up) of the line about which the inside is a stadium; (0, 0) for a circle."""
        return self.inner_width / 2 - self.radius, self.inner_height / 2 - self.radius

    def sag(self, radius: float) -> float:
        """How much lower a level shaft of this radius lies in the gap at the bottom than on a closed ring's bottom, mm; inf
        where it falls through. It rests on the two inner corners of the gap, wherever their rays meet the inside."""
        if self.open_angle == 0.0:
            return 0.0
        across, up = self.core
        sine, cosine = np.sin(self.open_angle / 2), np.cos(self.open_angle / 2)
        if up > 0.0:    # the bend's center is below the ring's: on the bend, or on a leg
            ray = up * cosine + np.sqrt(max(self.radius**2 - (up * sine) ** 2, 0.0))
            ray = ray if ray * cosine >= up and ray * sine <= self.radius else self.radius / sine
        else:           # on the straight bottom, or on the bend beside it
            ray = self.radius / cosine if cosine > 0.0 and self.radius * sine <= across * cosine else (
                across * sine + np.sqrt(max(self.radius**2 - (across * cosine) ** 2, 0.0)))
        half, low = ray * sine, ray * cosine
        if half >= radius:
            return float("inf")
        return float(low - np.sqrt(radius**2 - half**2) - (self.inner_height / 2 - radius))


@dataclass(frozen=True)
class Bore:
    """The inside of an enclosure tube: centers of its rear and front end (car frame) and inside radius, mm."""
    rear: tuple[float, float, float]
    front: tuple[float, float, float]
    radius: float


# --- clearance --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Clearance:
    """Radial clearance of the shaft in an opening, mm, negative where they overlap.

    minimum, and at which travel and wind-up; point: (3,) on the opening's inside, car frame, nearest the shaft then. at:
    (n,) for every position. inf (and no point) where the shaft does not pass the opening.
    """
    minimum: float
    travel: float
    windup: float
    point: tuple[float, float, float] | None
    at: np.ndarray


def ring_clearance(found: Sweep, body: Body, opening: Opening) -> Clearance:
    """Least radial clearance of a loop's inside to the shaft over the positions of a sweep.

    A strap is judged over its whole width. For a bent tube each part of the shaft is judged where the ring is narrowest
    to it, less the d/2 (sec - 1) by which a leaning shaft comes nearer to a round section.
    """
    center, half = np.asarray(opening.center, dtype=float), opening.half_width
    frame = frames.Frame(np.eye(3), center)
    if not opening.round_section:
        return _sleeve(found, body, frame, (-half, half), opening.radius, opening.core)
    zones = _zones(found, body, frame)
    # The ring widens by d/2 - sqrt(d^2/4 - x^2) away from its middle plane.
    x = np.clip(0.0, zones.low, zones.high)
    widening = half - np.sqrt(np.maximum(half**2 - x**2, 0.0))
    nearer = half * (np.hypot(1.0, np.hypot(zones.lean[:, 0], zones.lean[:, 1])) - 1.0)
    gap = np.where(np.abs(x) <= half, _gap(zones, x, opening.radius, opening.core) + widening - nearer, np.inf)
    return _least(found, zones, gap, x, opening.radius, opening.core)


def bore_clearance(found: Sweep, body: Body, bore: Bore) -> Clearance:
    """Least radial clearance of the inside of an enclosure tube, over its whole length, to the shaft."""
    rear, front = np.asarray(bore.rear, dtype=float), np.asarray(bore.front, dtype=float)
    return _sleeve(found, body, shaft_frame(rear, front), (0.0, float(np.linalg.norm(front - rear))), bore.radius, (0.0, 0.0))


@dataclass(frozen=True, eq=False)
class _Zones:
    """Rear joint, tube and front joint at n positions in the frame of an opening, x along its axis.

    offset: of the shaft's axis from the opening's at x = 0, (n, 2); lean: of the axis, a unit of x, (n, 2). Of each zone, (3, n):
    round_part, straight: radius and half length of the upright stadium that holds its cut; low, high: least and greatest x at which a plane
    may cut it.
    """
    frame: frames.Frame
    offset: np.ndarray
    lean: np.ndarray
    round_part: np.ndarray
    straight: np.ndarray
    low: np.ndarray
    high: np.ndarray


def _zones(found: Sweep, body: Body, frame: frames.Frame) -> _Zones:
    rear, axis = frame.to_local(found.rear), frame.directions_to_local(found.axis)
    lean = axis[:, 1:] / axis[:, :1]
    joint, reach, start = body.joint, max(body.reach, body.joint), np.zeros(len(rear))
    radius = np.array([[joint], [body.tube], [joint]])
    low = np.stack([start - joint, start + body.reach, found.length - reach])
    high = np.stack([start + reach, found.length - body.reach, found.length + joint])
    spread = radius * np.hypot(lean[:, 0], lean[:, 1])      # a plane that leans to the shaft cuts a stretch of it
    return _Zones(frame, rear[:, 1:] - rear[:, :1] * lean, lean, *_stadium(lean, radius), rear[:, 0] + low * axis[:, 0] - spread,
                  rear[:, 0] + high * axis[:, 0] + spread)


def _stadium(lean: np.ndarray, radius: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(radius, half length) of an upright stadium that holds the cut of a leaning cylinder.

    The cut reaches R sqrt(1 + (n . lean)^2) in a direction n. With no sideways lean sqrt(1 + nz^2 lz^2) is convex in
    |nz| and lies below its chord 1 + |nz| (sqrt(1 + lz^2) - 1): radius R, half length R (sqrt(1 + lz^2) - 1). A sideways
    lean adds at most ((n . lean)^2 - nz^2 lz^2) / 2, and that at most |ly| (|ly| + |lz|) / 2.
    """
    across, up = np.abs(lean[:, 0]), np.abs(lean[:, 1])
    return radius * (1.0 + 0.5 * across * (across + up)), radius * (np.hypot(1.0, up) - 1.0)


def _gap(zones: _Zones, x: np.ndarray, opening_radius: float, core: tuple[float, float]) -> np.ndarray:
    """Clearance (..., 3, n) of each zone in the planes at x (..., 3, n). The end of its stadium that is farther from the core line of the
    opening decides, and that is the one on the side to which the shaft stands off the middle."""
    across, up = (np.abs(zones.offset[:, i] + x * zones.lean[:, i]) for i in (0, 1))
    away = np.hypot(np.maximum(across - core[0], 0.0), np.maximum(up + zones.straight - core[1], 0.0))
    return opening_radius - zones.round_part - away


def _sleeve(found: Sweep, body: Body, frame: frames.Frame, span: tuple[float, float], radius: float,
            core: tuple[float, float]) -> Clearance:
    """Clearance in an opening of constant section: the axes run straight, so the ends of each stretch decide."""
    zones = _zones(found, body, frame)
    low, high = np.maximum(zones.low, span[0]), np.minimum(zones.high, span[1])
    x = np.stack([low, high])
    return _least(found, zones, np.where(low <= high, _gap(zones, x, radius, core), np.inf), x, radius, core)


def _least(found: Sweep, zones: _Zones, gap: np.ndarray, x: np.ndarray, radius: float, core: tuple[float, float]) -> Clearance:
    """The smallest of gaps (..., n) at x (..., n) of the zones."""
    flat = np.where(np.isfinite(gap), gap, np.inf).reshape(-1, gap.shape[-1])
    at = np.where(found.reached, flat.min(axis=0), np.nan)
    if not np.isfinite(at).any():
        return Clearance(np.inf, np.nan, np.nan, None, at)
    i = int(np.nanargmin(at))
    cut = int(np.argmin(flat[:, i]))
    station = x.reshape(flat.shape)[cut, i]
    middle = zones.offset[i] + station * zones.lean[i]
    # Of both ends of the stadium the one that is farther from the core line.
    ends = middle[1] + zones.straight[cut % 3, i], middle[1] - zones.straight[cut % 3, i]
    point = np.array([middle[0], max(ends, key=lambda end: max(abs(end) - core[1], 0.0))])
    away = point - np.clip(point, -np.asarray(core), core)
    size = np.linalg.norm(away)
    outward = away / size if size > 1e-9 else np.array([0.0, -1.0])     # in the middle all ways are alike: straight down
    inside = point - away + radius * outward
    place = zones.frame.to_car(np.array([station, *inside]))
    return Clearance(float(at[i]), float(found.travel[i]), float(found.windup[i]), frames.as_point(place), at)
