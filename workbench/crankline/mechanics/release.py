"""What happens to the driveshaft if its front joint lets go: how far loops and enclosure let the free front end go.

Assumed: the rear joint holds and turns as far as it must; shaft, loops and enclosure are rigid; the shaft does not slide
along itself; the front joint's yoke stays on the shaft, the slip yoke in the transmission. What loops and enclosure carry
is the bare tube (no whip, its yokes are thicker: the true shaft drops less); what may touch track or driver is as thick as
the joints' swing. A loop holds only where the free end still reaches through it; an open one lets the shaft sink into its
gap, or fall through. Two views, both in closed form:

* side view: the shaft lies in the vertical plane through the lowest inside of what carries it. Exact contact of a straight
  shaft with a round section, the edges of a strap, the ends and the floor of the enclosure's bore.
* all directions: at a station D ahead of the rear joint the shaft's centre stays in the opening less the tube's radius, so
  its slope in a direction n of the cross plane is at most b(n) = (reach of the opening - radius) / D, and at most the
  least of all stations'. That is on the careful side: it counts as reachable what may not be reachable.

mm and rad in the car frame, one entry for each position of a `travel.Sweep`.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .. import model
from .frames import Frame
from .scene import shaft_frame
from .travel import Bore, Opening, Sweep, body_of

DIRECTIONS = 144
"""Directions about the shaft in which the driver's envelope is looked for; left, right, up and down are among them."""

ENCLOSURE, NOTHING = "enclosure", "nothing"


@dataclass(frozen=True, eq=False)
class Release:
    """The released shaft at n positions of the axle.

    droop: largest angle of the shaft below level, rad (inf is never given: what nothing holds lies on the track); held_by:
    name of the loop, `enclosure`, or `nothing` for the track; overlap: how much of the shaft reaches past the place that
    carries it, mm (nan where nothing does); tip: free joint centre then (n, 3); drop: how far that lies below the joint's
    place before, mm; lowest: its lowest point, mm; above_track: that over the track, mm, 0 where it
    lies on it. left, right: how far the free joint centre can go to either side of the rear joint's plane, mm (inf where
    nothing holds it). driver_clearance: least distance to the driver's envelope, mm, negative where the shaft can enter
    it; None where no envelope was given.
    """
    travel: np.ndarray
    droop: np.ndarray
    held_by: tuple[str, ...]
    overlap: np.ndarray
    tip: np.ndarray
    drop: np.ndarray
    lowest: np.ndarray
    above_track: np.ndarray
    left: np.ndarray
    right: np.ndarray
    driver_clearance: np.ndarray | None

    @property
    def worst(self) -> int:
        """Position at which the free end comes nearest to the track."""
        return int(np.argmin(self.above_track))

    @property
    def reaches_track(self) -> bool:
        """Whether the free end can touch the track at any position."""
        return bool(np.any(self.above_track <= 1e-9))

    @property
    def enters_driver_envelope(self) -> bool | None:
        """Whether any part of the shaft can enter the driver's envelope at any position; None without an envelope."""
        return None if self.driver_clearance is None else bool(np.any(self.driver_clearance <= 0.0))


def release(found: Sweep, driveshaft: model.Driveshaft, openings: Sequence[Opening] = (), bore: Bore | None = None,
            driver: model.DriverEnvelope | None = None) -> Release:
    """The released shaft at every position of a sweep (positions must exist).

    The track counts at the height of the rear tyres' contact patch in bump (the body has come down by the travel) and at
    its static height in droop, over its whole length: the careful side.
    """
    body = body_of(driveshaft, whip=0.0)
    carried, thick = min(body.tube, body.joint), max(body.tube, body.joint)
    rear, length = found.rear, found.length
    track = np.maximum(found.travel, 0.0)

    openings = [opening for opening in openings if np.isfinite(opening.sag(carried))]
    limits = [_on_opening(rear, length, opening, carried) for opening in openings]
    names = [opening.name for opening in openings]
    if bore is not None:
        limits.append(_in_bore(rear, length, bore, carried))
        names.append(ENCLOSURE)
    limits.append(_on_track(rear, length, track, thick))
    names.append(NOTHING)
    angles = np.stack([limit.droop for limit in limits])
    first = np.argmin(angles, axis=0)
    pick = (first, np.arange(first.size))
    droop = angles[pick]
    overlap = np.stack([limit.overlap for limit in limits])[pick]
    slope = np.stack([limit.aside for limit in limits])[pick]
    run = length * np.cos(droop)
    tip = rear + np.column_stack([run, run * slope, -length * np.sin(droop)])
    lowest = tip[:, 2] - thick * np.cos(droop)
    held = tuple(names[i] for i in first)

    ways = np.linspace(0.0, 2.0 * np.pi, DIRECTIONS, endpoint=False)
    normals = np.column_stack([np.cos(ways), np.sin(ways)])
    slopes = _slopes(rear, length, openings, bore, carried, normals)
    aside = slopes[:, [0, DIRECTIONS // 2]]
    side = np.where(np.isfinite(aside), length[:, None] * np.sin(np.arctan(aside)), np.inf)
    clear = None if driver is None else _to_driver(rear, length, thick, slopes, normals, driver)
    return Release(found.travel, droop, held, overlap, tip, found.front[:, 2] - tip[:, 2], lowest,
                   np.maximum(lowest - track, 0.0), side[:, 0], side[:, 1], clear)


# --- side view --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Limit:
    """Largest droop that one thing allows, rad, inf where it does not hold; overlap beyond the contact, mm; slope of the
    shaft to the left there."""
    droop: np.ndarray
    overlap: np.ndarray
    aside: np.ndarray


def _on_point(rear, length, x, z, radius):
    """Droop at which a line through the rear joint passes a point of the side view at a distance, the line above it, and
    where along the line that is: h cos a - D sin a = radius, with D ahead of and h below the rear joint.

    inf where the point does not lie ahead of the joint, or the line does not reach it.
    """
    ahead, below = x - rear[:, 0], rear[:, 2] - z
    size = np.hypot(ahead, below)
    with np.errstate(invalid="ignore", divide="ignore"):
        angle = np.arccos(np.clip(radius / size, -1.0, 1.0)) - np.arctan2(ahead, below)
    along = ahead * np.cos(angle) + below * np.sin(angle)
    holds = (ahead > 0.0) & (size > radius) & (along <= length)
    return np.where(holds, angle, np.inf), np.where(holds, length - along, np.nan)


def _on_opening(rear, length, opening: Opening, radius: float) -> _Limit:
    """Resting on the bottom of a loop, lower by what it sinks into a gap there."""
    x, y, z = opening.center
    bottom, half = z - opening.inner_height / 2 - opening.sag(radius), opening.half_width
    if opening.round_section:
        droop, overlap = _on_point(rear, length, x, bottom - half, radius + half)
    else:
        edges = [_on_point(rear, length, x + way * half, bottom, radius) for way in (1.0, -1.0)]
        droop, overlap = (np.where(edges[0][0] <= edges[1][0], *pair) for pair in zip(*edges))
    return _Limit(droop, overlap, (y - rear[:, 1]) / np.maximum(x - rear[:, 0], 1e-9))


def _in_bore(rear, length, bore: Bore, radius: float) -> _Limit:
    """Resting on the rear edge, the floor or the front edge of the enclosure's bore."""
    frame = shaft_frame(np.asarray(bore.rear, dtype=float), np.asarray(bore.front, dtype=float))
    forward, upward = frame.rotation[:, 0], frame.rotation[:, 2]
    ends = [np.asarray(point) - bore.radius * upward for point in (bore.rear, bore.front)]
    edges = [_on_point(rear, length, end[0], end[2], radius) for end in ends]
    # The free end inside the bore: its lower corner on the floor. With s the floor's own angle below level and k the rear
    # joint's height over the floor: L sin(a - s) + r cos(a - s) = k.
    floor = np.arctan2(-forward[2], np.hypot(forward[0], forward[1]))
    above = (rear - ends[0]) @ upward
    turn = np.arcsin(np.clip(above / np.hypot(length, radius), -1.0, 1.0)) - np.arctan2(radius, length)
    corner_x = rear[:, 0] + length * np.cos(floor + turn) - radius * np.sin(floor + turn)
    within = (corner_x >= ends[0][0]) & (corner_x <= ends[1][0]) & (above > 0.0)
    edges.append((np.where(within, floor + turn, np.inf), np.where(within, 0.0, np.nan)))
    droops, overlaps = np.stack([edge[0] for edge in edges]), np.stack([edge[1] for edge in edges])
    first = np.argmin(droops, axis=0)
    pick = (first, np.arange(first.size))
    # What is carried at the floor or the front end is still held as far as it reaches past the rear end.
    held = np.where(np.isfinite(droops[0]), overlaps[0], overlaps[pick])
    middle = frame.to_car(np.array([0.5 * np.linalg.norm(np.subtract(bore.front, bore.rear)), 0.0, 0.0]))
    aside = (middle[1] - rear[:, 1]) / np.maximum(middle[0] - rear[:, 0], 1e-9)
    return _Limit(droops[pick], held, aside)


def _on_track(rear, length, track, thick: float) -> _Limit:
    """Lying on the track: L sin a + r cos a = height of the rear joint. A shaft too short for that hangs straight down."""
    share = (rear[:, 2] - track) / np.hypot(length, thick)
    droop = np.where(share < 1.0, np.arcsin(np.clip(share, -1.0, 1.0)) - np.arctan2(thick, length), np.pi / 2)
    nothing = np.zeros(droop.shape)
    return _Limit(droop, nothing + np.nan, nothing)


# --- all directions ---------------------------------------------------------------------------------------------------


def _slopes(rear, length, openings: Sequence[Opening], bore: Bore | None, radius: float, normals) -> np.ndarray:
    """Greatest slope of the shaft off the car's X in each direction (n, directions); inf where nothing holds it."""
    best = np.full((rear.shape[0], normals.shape[0]), np.inf)
    for opening in openings:
        reach = opening.radius + np.abs(normals) @ np.asarray(opening.core)
        reach = reach + opening.sag(radius) * np.maximum(0.0, -normals[:, 1])
        best = np.minimum(best, _slope_at(rear, length, np.asarray(opening.center), reach - radius, normals))
    if bore is not None:
        frame = shaft_frame(np.asarray(bore.rear, dtype=float), np.asarray(bore.front, dtype=float))
        # A plane square to the car cuts the bore in an ellipse; the circle around that is taken.
        room = np.full(normals.shape[0], bore.radius / frame.axis[0] - radius)
        at_rear = _slope_at(rear, length, np.asarray(bore.rear), room, normals)
        best = np.minimum(best, at_rear)
        best = np.minimum(best, _slope_at(rear, length, np.asarray(bore.front), room, normals))
        best = np.minimum(best, _slope_of_tip(rear, length, frame, bore, room, normals, at_rear))
    return best


def _slope_at(rear, length, center, room, normals) -> np.ndarray:
    """What the opening at one station allows; inf where the shaft leaning as far as that would not reach it any more."""
    ahead = (center[0] - rear[:, 0])[:, None]
    offset = (rear[:, 1:] - center[1:]) @ normals.T
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (room - offset) / ahead
        reached = length[:, None] / np.hypot(1.0, slope.max(axis=1, keepdims=True)) >= ahead
    return np.where((ahead > 1.0) & reached, slope, np.inf)


def _slope_of_tip(rear, length, frame: Frame, bore: Bore, room, normals, at_rear) -> np.ndarray:
    """What the bore allows the free end within it; inf where the end does not stand between the bore's ends."""
    steepest = at_rear.max(axis=1, keepdims=True)
    found = np.full(at_rear.shape, -np.inf)
    for run in (length[:, None], length[:, None] / np.hypot(1.0, np.where(np.isfinite(steepest), steepest, 0.0))):
        x = rear[:, :1] + run
        step = (x - bore.rear[0]) / frame.axis[0]
        middle = np.asarray(bore.rear)[1:] + step * frame.axis[1:]
        offset = (rear[:, 1:] - middle) @ normals.T
        slope = np.where((x >= bore.rear[0]) & (x <= bore.front[0]), (room - offset) / run, np.inf)
        found = np.maximum(found, slope)
    return np.where(np.isfinite(steepest), found, np.inf)


def _to_driver(rear, length, thick: float, slopes, normals, driver: model.DriverEnvelope) -> np.ndarray:
    """Least distance from the shaft to the driver's box, (n,): the best of all directions that keep them apart."""
    corners = np.array([[y, z] for y in (driver.y_right, driver.y_left) for z in (driver.z_low, driver.z_high)])
    near = (corners @ normals.T).min(axis=0)
    first = np.maximum(rear[:, 0], driver.x_rear)
    last = np.minimum(rear[:, 0] + length + thick, driver.x_front)
    gaps = []
    for x in (first, last):     # the gap runs straight between the two
        run = (x - rear[:, 0])[:, None]
        with np.errstate(invalid="ignore"):
            reach = np.where(run > 0.0, run * slopes, 0.0)
        gaps.append(near - thick - rear[:, 1:] @ normals.T - reach)
    return np.where(first <= last, np.minimum(*gaps).max(axis=1), first - last)
