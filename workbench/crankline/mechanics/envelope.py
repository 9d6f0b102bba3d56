"""The volume that the driveshaft sweeps over axle travel and wind-up, as a row of upright stadiums along the shaft.

Frame: the shaft's at static ride height (`scene.shaft_frame`): origin in the rear joint, x forward, y left, z up. Between
two neighboring sections half width and ends of the straight part run straight. That holds the swept volume, because the
highest of a family of straight axes is a convex function of x (and the lowest a concave one): a chord between two
stations lies outside. So a handful of stations is enough, and nearly exact: a family of shafts that pivots about the front
joint is bounded by straight lines in the first place.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .. import model
from .scene import Scene
from .travel import Body, Sweep, body_of, checked, sweep, travels, windups

CHAMFER = float(np.tan(np.pi / 8))
"""A ball is held by a drum whose edge is cut at 45 degrees: its profile is half a regular octagon around the ball's."""

TAPER = 0.5
"""Length of the cone from joint to tube over the difference of their radii."""

FLAT = 1.0
"""Travel of the axis, mm, below which a section is drawn as a circle: its straight sides would only be slivers."""

LEAST_STRAIGHT = 0.05
"""Least straight side in mm where other sections have longer ones."""


class Section(NamedTuple):
    """Stadium in the plane at x: radius of its round ends, and the heights of their centers. low = high: a circle. mm."""
    x: float
    radius: float
    low: float
    high: float

    @property
    def area(self) -> float:
        """mm2."""
        return float(np.pi) * self.radius**2 + 2.0 * self.radius * (self.high - self.low)


def sections(scene: Scene, driveshaft: model.Driveshaft, count: int = 65) -> tuple[Section, ...]:
    """Sections of the swept volume from rear to front: full droop to full bump, least to greatest wind-up of the poses,
    whip allowance included. TravelError or SuspensionError where the suspension does not reach that."""
    travel = travels(scene, count)
    # Wind-up moves the joint on an arc of a degree or so: five positions show its bulge.
    windup = np.unique(np.linspace(*windups(scene), 5))
    found = checked(scene, sweep(scene, np.repeat(travel, windup.size), np.tile(windup, travel.size)))
    return _sections(scene, found, body_of(driveshaft), (travel.size, windup.size))


def _sections(scene: Scene, found: Sweep, body: Body, grid: tuple[int, int]) -> tuple[Section, ...]:
    rear, front = scene.shaft_frame.to_local(found.rear), scene.shaft_frame.to_local(found.front)
    axis = scene.shaft_frame.directions_to_local(found.axis)
    lean = axis[:, 1:] / axis[:, :1]
    across, up = np.abs(lean[:, 0]), np.abs(lean[:, 1])
    margin = max(_bulge(ends.reshape(grid + (3,))) for ends in (rear, front))
    joint, tube = max(body.joint, body.tube), body.tube
    reach = max(body.reach, joint)
    sideways = 0.5 * float(np.max(across * (across + up)))                         # `travel._stadium`
    tilted = joint * float(np.max(np.hypot(1.0, up) - 1.0))
    leaning = joint * float(np.max(np.hypot(across, up)))

    def section(x: float, radius: float, axes: bool, ends: np.ndarray | None) -> Section:
        """The section at x that holds the shafts' axes there, and the balls at joint centers `ends` wherever they stand."""
        held = [ends[:, 1:]] if ends is not None else []
        if axes:
            held.append(rear[:, 1:] + (x - rear[:, :1]) * lean)
        points = np.concatenate(held)
        heights, aside = points[:, 1], float(np.abs(points[:, 0]).max())
        return Section(float(x), radius * (1.0 + sideways) + aside + margin, float(heights.min() - tilted - margin),
                       float(heights.max() + tilted + margin))

    def end(joints: np.ndarray, way: float) -> list[Section]:
        """From the outermost ball to where the joint's cylinder ends, outside first."""
        x = joints[:, 0] * way
        nearest, farthest = float(x.min()) - margin, float(x.max()) + margin
        found = [section(way * (nearest - joint), CHAMFER * joint, False, joints),
                 section(way * (nearest - CHAMFER * joint), joint, True, joints),
                 section(way * farthest, joint, True, joints),
                 section(way * (farthest + reach + leaning), joint, True, None)]
        if joint - tube > 0.05:
            found.append(section(way * (farthest + reach + leaning + TAPER * (joint - tube)), tube, True, None))
        return found

    behind, ahead = end(rear, 1.0), end(front, -1.0)
    if behind[-1].x > ahead[-1].x - 1.0:
        # A shaft so short that its joints nearly meet: as thick as they are throughout.
        behind, ahead = behind[:3], ahead[:3]
    return _drawable(behind + ahead[::-1])


def _bulge(points: np.ndarray) -> float:
    """How far a smooth surface given on a grid (travel, wind-up, 3) can stand out between its points, mm: a quarter of
    the second differences, which is twice the sagitta of the parabola through three points."""
    found = [0.0]
    for way in (0, 1):
        if points.shape[way] > 2:
            # The grid may hold static as an extra point: its uneven steps only make the difference larger.
            found.append(0.25 * float(np.abs(np.diff(points, 2, axis=way)).max()))
    return sum(found)


def _drawable(row: list[Section]) -> tuple[Section, ...]:
    """The same or a little larger, without slivers."""
    if max(one.high - one.low for one in row) < FLAT:
        return tuple(Section(one.x, one.radius + 0.5 * (one.high - one.low), *(2 * (0.5 * (one.high + one.low),)))
                     for one in row)
    short = [max(0.0, LEAST_STRAIGHT - (one.high - one.low)) / 2 for one in row]
    return tuple(Section(one.x, one.radius, one.low - more, one.high + more) for one, more in zip(row, short))
