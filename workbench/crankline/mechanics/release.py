"""What happens to the driveshaft if its front joint lets go: how far loops and enclosure let the free front end go.

Assumed: the rear joint holds and turns as far as it must; shaft, loops and enclosure are rigid; the shaft does not slide
along itself; the front yoke with what is left of the joint stays on the shaft, the slip yoke in the transmission. The shaft is
a tube with a cylinder as thick as the joints swing about either joint, from the joint center as far as yoke and weld reach
(`travel.Body`), no whip; what may touch track, floor or driver is so thick everywhere. A loop holds only where the free end still
reaches through it; an open one lets the shaft sink into its gap, or fall through. Two views, both in closed form:

* side view: the shaft lies in the vertical plane through the lowest inside of what carries it. Exact contact of the shaft's
  outline (lower sides, shoulder behind the front joint, corners) with a round section, the edges of a strap, the ends and the floor
  of the enclosure's bore. About the rear joint a point of these stands at a fixed radius, and its angle under the shaft's axis
  shrinks as the shaft sinks: it rests where that meets the outline first.
* all directions: at a station D ahead of the rear joint the shaft's center stays in the opening less the radius of what
  stands there, so its slope in a direction n of the cross plane is at most b(n) = (reach of the opening - radius) / D, and at most
  the least of all stations'. That is on the careful side: it counts as reachable what may not be reachable.

mm and rad in the car frame, one entry for each position of a `travel.Sweep`.
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .. import model
from .frames import Frame
from .scene import shaft_frame
from .travel import Body, Bore, Opening, Sweep, body_of

DIRECTIONS = 144
"""Directions about the shaft in which the driver's envelope is looked for; left, right, up and down are among them."""

ENCLOSURE, NOTHING = "enclosure", "nothing"
TRACK, FLOOR, DRIVER = "track", "floor", "driver's envelope"


@dataclass(frozen=True, eq=False)
class Release:
    """The released shaft at n positions of the axle.

    droop: largest angle of the shaft below level, rad (inf is never given: what nothing holds lies on the track); held_by:
    name of the loop, `enclosure`, or `nothing` for the track; overlap: how much of the shaft reaches past the place that
    carries it, mm (nan where nothing does); tip: free joint center then (n, 3); drop: how far that lies below the joint's
    place before, mm; lowest: its lowest point, mm; above_track: that over the track, mm, 0 where it
    lies on it. left, right: how far the free joint center can go to either side of the rear joint's plane, mm (inf where
    nothing holds it). driver_clearance: least distance to the driver's envelope, mm, negative where the shaft can enter
    it; None where no envelope was given. over_floor: lowest point over the floor, mm, negative below it; None where no floor was
    given. first: what the shaft can reach, `track`, `floor` or `driver's envelope`, that it has to turn least for; empty where it
    reaches none.
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
    over_floor: np.ndarray | None = None
    first: tuple[str, ...] = ()

    @property
    def worst(self) -> int:
        """Position at which the free end comes nearest to the track."""
        return int(np.argmin(self.above_track))

def release(found: Sweep, driveshaft: model.Driveshaft, openings: Sequence[Opening] = (), bore: Bore | None = None,
            driver: model.DriverEnvelope | None = None, floor: float | None = None) -> Release:
    """The released shaft at every position of a sweep (positions must exist). floor: its height, mm.

    The track counts at the height of the rear tyres' contact patch in bump (the body has come down by the travel) and at
    its static height in droop, over its whole length: the careful side. The floor holds nothing up.
    """
    body = body_of(driveshaft, whip=0.0)
    thick = max(body.tube, body.joint)
    rear, length = found.rear, found.length
    track = np.maximum(found.travel, 0.0)

    limits = [_on_opening(rear, length, opening, body) for opening in openings]
    names = [opening.name for opening in openings]
    if bore is not None:
        limits.append(_in_bore(rear, length, bore, body))
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
    above = np.maximum(lowest - track, 0.0)

    ways = np.linspace(0.0, 2.0 * np.pi, DIRECTIONS, endpoint=False)
    normals = np.column_stack([np.cos(ways), np.sin(ways)])
    slopes = _slopes(rear, length, openings, bore, body, normals)
    aside = slopes[:, [0, DIRECTIONS // 2]]
    side = np.where(np.isfinite(aside), length[:, None] * np.sin(np.arctan(aside)), np.inf)
    clear = None if driver is None else _to_driver(rear, length, thick, slopes, normals, driver)
    over = None if floor is None else lowest - floor
    # How far the shaft has to turn for each, as a change of its slope; inf for what it does not reach.
    turns = {TRACK: _where(above <= 1e-9, lambda: _turn_down(found, thick, track))}
    if over is not None and floor is not None:
        turns[FLOOR] = _where(over <= 1e-9, lambda: _turn_down(found, thick, np.full(droop.shape, float(floor))))
    if clear is not None and driver is not None:
        turns[DRIVER] = _where(clear <= 0.0, lambda: _turn_to_driver(found, thick, normals, driver))
    table = np.stack(list(turns.values()))
    reached = tuple(list(turns)[i] if np.isfinite(table[i, j]) else "" for j, i in enumerate(np.argmin(table, axis=0)))
    return Release(found.travel, droop, held, overlap, tip, found.front[:, 2] - tip[:, 2], lowest, above, side[:, 0], side[:, 1], clear,
                   over, reached)


def _where(reached: np.ndarray, turn: Callable[[], np.ndarray]) -> np.ndarray:
    """A turn where something is reached, inf elsewhere."""
    return np.where(reached, turn(), np.inf) if reached.any() else np.full(reached.shape, np.inf)


# --- side view --------------------------------------------------------------------------------------------------------


_Resting = tuple[np.ndarray, np.ndarray]
"""Droop and overlap."""


@dataclass(frozen=True, eq=False)
class _Limit:
    """Largest droop that one thing allows, rad, inf where it does not hold; overlap beyond the contact, mm; slope of the
    shaft to the left there."""
    droop: np.ndarray
    overlap: np.ndarray
    aside: np.ndarray


def _on_circle(rear: np.ndarray, length: np.ndarray, x: float, z: float, half: float, body: Body, zones: str) -> _Resting:
    """Droop at which the shaft's outline comes to rest on a circle of the side view (half = 0: a point), and where along the shaft.

    zones: `tube` or `joint`, what of the outline counts. With the circle's center at a distance R from the rear joint and an angle t
    under the shaft's axis, t = (angle under level) - droop. Of all t at which it touches a piece of the outline the largest counts.
    inf where the circle does not lie ahead of the rear joint, or the shaft does not reach it.
    """
    ahead, below = x - rear[:, 0], rear[:, 2] - z
    size, level = np.hypot(ahead, below), np.arctan2(below, ahead)
    shoulder, reach = length - body.reach, np.full(length.shape, body.reach)
    if body.reach >= 0.5 * length.min():        # joints that meet: thick throughout
        shoulder = reach = 0.5 * length
    found = []

    def side(radius: float, *stretches: tuple[ArrayLike, np.ndarray]) -> None:
        turn = np.arcsin(np.minimum((radius + half) / size, 1.0))
        along = size * np.cos(turn)
        rests = np.any([(along >= first) & (along <= last) for first, last in stretches], axis=0)
        found.append(np.where((size > radius + half) & rests, turn, -np.inf))

    if zones == "tube":
        side(body.tube, (reach, shoulder))
    else:
        joint = max(body.joint, body.tube)
        side(joint, (0.0, reach), (shoulder, length))
        with np.errstate(invalid="ignore"):     # against the shoulder, which it runs up to
            turn = np.arccos((shoulder - half) / size)
            high = size * np.sin(turn)
        found.append(np.where((high >= min(body.tube, joint)) & (high <= joint), turn, -np.inf))
        if half > 0.0:      # on one of the corners
            along = np.stack([reach, shoulder, length])
            away = np.hypot(along, joint)
            with np.errstate(invalid="ignore"):
                turn = np.arctan2(joint, along) + np.arccos((size**2 + away**2 - half**2) / (2.0 * size * away))
            found += [*np.where(np.abs(size - away) <= half, turn, -np.inf)]
    turn = np.max(np.stack(found), axis=0)
    holds = np.isfinite(turn) & (ahead > 0.0)
    return np.where(holds, level - turn, np.inf), np.where(holds, length - size * np.cos(np.where(holds, turn, 0.0)), np.nan)


def _least(pairs: Sequence[_Resting]) -> _Resting:
    """Of several (droop, overlap) the least droop, with its overlap."""
    droops, overlaps = np.stack([pair[0] for pair in pairs]), np.stack([pair[1] for pair in pairs])
    pick = (np.argmin(droops, axis=0), np.arange(droops.shape[1]))
    return droops[pick], overlaps[pick]


def _on_opening(rear: np.ndarray, length: np.ndarray, opening: Opening, body: Body) -> _Limit:
    """Resting on the bottom of a loop, lower by what it sinks into a gap there."""
    x, y, z = opening.center
    half, pairs = opening.half_width, [(np.full(length.shape, np.inf), np.full(length.shape, np.nan))]
    for zone, radius in (("tube", body.tube), ("joint", max(body.joint, body.tube))):
        sag = opening.sag(radius)
        if not np.isfinite(sag):        # it falls through the gap
            continue
        bottom = z - opening.inner_height / 2 - sag
        if opening.round_section:
            pairs.append(_on_circle(rear, length, x, bottom - half, half, body, zone))
        else:
            pairs += [_on_circle(rear, length, x + way * half, bottom, 0.0, body, zone) for way in (1.0, -1.0)]
    droop, overlap = _least(pairs)
    return _Limit(droop, overlap, (y - rear[:, 1]) / np.maximum(x - rear[:, 0], 1e-9))


def _in_bore(rear: np.ndarray, length: np.ndarray, bore: Bore, body: Body) -> _Limit:
    """Resting on the rear edge, the floor or the front edge of the enclosure's bore."""
    frame = shaft_frame(np.asarray(bore.rear, dtype=float), np.asarray(bore.front, dtype=float))
    forward, upward = frame.rotation[:, 0], frame.rotation[:, 2]
    ends = [np.asarray(point) - bore.radius * upward for point in (bore.rear, bore.front)]
    edges = [_least([_on_circle(rear, length, end[0], end[2], 0.0, body, zone) for zone in ("tube", "joint")]) for end in ends]
    # A corner of the outline on the floor. With s the floor's own angle below level and k the rear joint's height over the
    # floor, a corner at l along and r under the axis: l sin(a - s) + r cos(a - s) = k.
    floor = np.arctan2(-forward[2], np.hypot(forward[0], forward[1]))
    above = (rear - ends[0]) @ upward
    for along, radius in ((length, max(body.joint, body.tube)), (np.maximum(length - body.reach, 0.0), max(body.joint, body.tube))):
        turn = np.arcsin(np.clip(above / np.hypot(along, radius), -1.0, 1.0)) - np.arctan2(radius, along)
        corner_x = rear[:, 0] + along * np.cos(floor + turn) - radius * np.sin(floor + turn)
        within = (corner_x >= ends[0][0]) & (corner_x <= ends[1][0]) & (above > 0.0)
        edges.append((np.where(within, floor + turn, np.inf), np.where(within, 0.0, np.nan)))
    droops, overlaps = _least(edges)
    # What is carried at the floor or the front end is still held as far as it reaches past the rear end.
    reach = rear[:, 0] + length * np.cos(np.where(np.isfinite(droops), droops, 0.0)) - ends[0][0]
    held = np.where(np.isfinite(edges[0][0]), edges[0][1], np.where(np.isfinite(droops), np.maximum(reach, 0.0), overlaps))
    middle = frame.to_car(np.array([0.5 * np.linalg.norm(np.subtract(bore.front, bore.rear)), 0.0, 0.0]))
    aside = (middle[1] - rear[:, 1]) / np.maximum(middle[0] - rear[:, 0], 1e-9)
    return _Limit(droops, held, aside)


def _on_track(rear: np.ndarray, length: np.ndarray, track: np.ndarray, thick: float) -> _Limit:
    """Lying on the track: L sin a + r cos a = height of the rear joint. A shaft too short for that hangs straight down."""
    share = (rear[:, 2] - track) / np.hypot(length, thick)
    droop = np.where(share < 1.0, np.arcsin(np.clip(share, -1.0, 1.0)) - np.arctan2(thick, length), np.pi / 2)
    nothing = np.zeros(droop.shape)
    return _Limit(droop, nothing + np.nan, nothing)


# --- all directions ---------------------------------------------------------------------------------------------------


def _slopes(rear: np.ndarray, length: np.ndarray, openings: Sequence[Opening], bore: Bore | None, body: Body,
            normals: np.ndarray) -> np.ndarray:
    """Greatest slope of the shaft off the car's X in each direction (n, directions); inf where nothing holds it."""
    best = np.full((rear.shape[0], normals.shape[0]), np.inf)
    joint = max(body.joint, body.tube)
    for opening in openings:
        inside = opening.radius + np.abs(normals) @ np.asarray(opening.core)
        thin, thick = (inside + opening.sag(radius) * np.maximum(0.0, -normals[:, 1]) - radius
                       if np.isfinite(opening.sag(radius)) else None for radius in (body.tube, joint))
        best = np.minimum(best, _slope_at(rear, length, np.asarray(opening.center), thin, thick, body, normals))
    if bore is not None:
        frame = shaft_frame(np.asarray(bore.rear, dtype=float), np.asarray(bore.front, dtype=float))
        # A plane square to the car cuts the bore in an ellipse; the circle around that is taken.
        thin, thick = (np.full(normals.shape[0], bore.radius / frame.axis[0] - radius) for radius in (body.tube, joint))
        at_rear = _slope_at(rear, length, np.asarray(bore.rear), thin, thick, body, normals)
        best = np.minimum(best, at_rear)
        best = np.minimum(best, _slope_at(rear, length, np.asarray(bore.front), thin, thick, body, normals))
        best = np.minimum(best, _slope_of_tip(rear, length, frame, bore, thick, normals, at_rear))
    return best


def _slope_at(rear: np.ndarray, length: np.ndarray, center: np.ndarray, thin: np.ndarray | None, thick: np.ndarray | None, body: Body,
              normals: np.ndarray) -> np.ndarray:
    """What the opening at one station allows: as much as the tube has room for, or less where it is certain that a joint stands there.
    thin, thick: that room for tube and joint in each direction, None where it falls through. inf where the shaft leaning as far as
    that would not reach it any more."""
    ahead = (center[0] - rear[:, 0])[:, None]
    stands = ahead > 1.0
    share = 1.0 / np.where(stands, ahead, 1.0)
    toward = np.column_stack([share, (center[1:] - rear[:, 1:]) * share])
    result = np.full((len(rear), len(normals)), np.inf)
    for room, zone in ((thin, None), (thick, body.reach)):
        if room is None:
            continue
        # (room - offset of the rear joint in this direction) / ahead
        slope = toward @ np.vstack([room, normals.T])
        along = ahead * np.hypot(1.0, slope.max(axis=1, keepdims=True))
        reached = stands & (along <= length[:, None])
        if zone is not None:    # from its nearest to its farthest place it is within one joint's cylinder
            reached &= (ahead >= length[:, None] - zone) | (along <= zone)
        slope[~reached[:, 0]] = np.inf
        np.minimum(result, slope, out=result)
    return result


def _slope_of_tip(rear: np.ndarray, length: np.ndarray, frame: Frame, bore: Bore, room: np.ndarray, normals: np.ndarray,
                  at_rear: np.ndarray) -> np.ndarray:
    """What the bore allows the free end within it; inf where the end does not stand between the bore's ends."""
    steepest = at_rear.max(axis=1)
    held = np.isfinite(steepest)
    found = np.full(at_rear.shape, -np.inf)
    for run in (length, length / np.hypot(1.0, np.where(held, steepest, 0.0))):
        x = rear[:, 0] + run
        step = (x - bore.rear[0]) / frame.axis[0]
        aside = bore.rear[1:] + step[:, None] * frame.axis[1:] - rear[:, 1:]
        # (room - offset of the rear joint from the bore's middle in this direction) / run
        slope = np.column_stack([1.0 / run, aside / run[:, None]]) @ np.vstack([room, normals.T])
        slope[(x < bore.rear[0]) | (x > bore.front[0])] = np.inf
        np.maximum(found, slope, out=found)
    found[~held] = np.inf
    return found


def _to_driver(rear: np.ndarray, length: np.ndarray, thick: float, slopes: np.ndarray, normals: np.ndarray,
               driver: model.DriverEnvelope) -> np.ndarray:
    """Least distance from the shaft to the driver's box, (n,): the best of all directions that keep them apart."""
    corners = np.array([[y, z] for y in (driver.y_right, driver.y_left) for z in (driver.z_low, driver.z_high)])
    near = (corners @ normals.T).min(axis=0)
    first = np.maximum(rear[:, 0], driver.x_rear)
    last = np.minimum(rear[:, 0] + length + thick, driver.x_front)
    level = near - thick - rear[:, 1:] @ normals.T
    gaps = []
    for x in (first, last):     # the gap runs straight between the two
        run = (x - rear[:, 0])[:, None]
        gaps.append(level - np.multiply(run, slopes, out=np.zeros(slopes.shape), where=run > 0.0))
    return np.where(first <= last, np.minimum(*gaps).max(axis=1), first - last)


def _turn_down(found: Sweep, thick: float, height: np.ndarray) -> np.ndarray:
    """Change of slope, (n,), that brings the free end's lowest point down to a height."""
    droop = _on_track(found.rear, found.length, height, thick).droop
    return np.maximum(np.tan(np.minimum(droop, 1.5)) + found.axis[:, 2] / found.axis[:, 0], 0.0)


def _turn_to_driver(found: Sweep, thick: float, normals: np.ndarray, driver: model.DriverEnvelope) -> np.ndarray:
    """Least change of slope, (n,), that can bring the shaft to the driver's box."""
    rear = found.rear
    corners = np.array([[y, z] for y in (driver.y_right, driver.y_left) for z in (driver.z_low, driver.z_high)])
    near = (corners @ normals.T).min(axis=0)
    now = (found.axis[:, 1:] / found.axis[:, :1]) @ normals.T
    first, last = np.maximum(rear[:, 0], driver.x_rear), np.minimum(rear[:, 0] + found.length + thick, driver.x_front)
    asked = [(near - thick - rear[:, 1:] @ normals.T) / np.maximum(x - rear[:, 0], 1e-9)[:, None] - now for x in (first, last)]
    return np.maximum(np.minimum(*(one.max(axis=1) for one in asked)), 0.0)
