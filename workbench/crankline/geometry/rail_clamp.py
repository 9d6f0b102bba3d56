"""How a plate that stands square to the crank is clamped on the chassis rails: one place that plate and tabs both read.

An ear of the plate stands over each rail, clear of its top by ``RAIL_CLEARANCE``. A tab in front of the ear and one behind
it stand on the rail; bolts in one column over the rail's centerline run through all three, parallel to the crank. Rails run
along the car, plates lean with the engine, so a rail crosses the plate at an angle. Numbers only, no host.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .. import model
from ..mechanics.scene import Scene
from ..record import filled, sparse
from ..units import INCH

SIDES = {"left": 1.0, "right": -1.0}
LEVELS = ("lower", "upper")

RAIL_CLEARANCE = INCH / 8.0
"""Ear's lower edge over the rail's top, and plate beside the rail: room for the tabs' welds (common practice, no source)."""

HOLE_CLEARANCE = INCH / 32.0
"""Hole over bolt diameter: normal fit of a 3/8 in bolt (ASME B18.2.8, from memory: confirm)."""

TABS_ASSUMED = filled(sparse(model.RailTabs, thickness=0.1875 * INCH, bolt=0.375 * INCH))
"""Rail tabs that the ears of a plate are laid out for where a car has none yet (common practice, no source); no hole is drilled for
them."""

EDGE_DISTANCE = 2.0
"""Bolt center to edge, in bolt diameters (common practice for aluminum plate, no source)."""

PITCH = 3.0
"""Bolt to bolt, in bolt diameters (common practice, no source)."""


@dataclass(frozen=True)
class RailLine:
    """A rail in the engine frame: centerline through (0, y, z), moving by (slope_y, slope_z) for each mm of x; radius, mm."""
    y: float
    z: float
    slope_y: float
    slope_z: float
    radius: float

    def at(self, x: float) -> tuple[float, float]:
        """(y, z) where the centerline pierces the plane at x."""
        return self.y + x * self.slope_y, self.z + x * self.slope_z

    @property
    def half_height(self) -> float:
        """Half height in z of the ellipse that a plane square to the crank cuts out of the rail."""
        return self.radius * math.sqrt(1.0 + self.slope_z ** 2)

    @property
    def half_width(self) -> float:
        """Half width in y of that ellipse."""
        return self.radius * math.sqrt(1.0 + self.slope_y ** 2)

    def top(self, x_rear: float, x_front: float) -> float:
        """Highest z of the rail between two planes."""
        return max(self.at(x_rear)[1], self.at(x_front)[1]) + self.half_height

    def sides(self, x_rear: float, x_front: float) -> tuple[float, float]:
        """Lowest and highest y of the rail between two planes."""
        ys = self.at(x_rear)[0], self.at(x_front)[0]
        return min(ys) - self.half_width, max(ys) + self.half_width


@dataclass(frozen=True)
class Clamp:
    """Ear of a plate on one rail, engine frame, mm: ``bolts`` are (y, z, hole diameter) from the lowest up."""
    side: str
    level: str
    rail: RailLine
    y: float
    bottom: float
    top: float
    bolts: tuple[tuple[float, float, float], ...]


def rail_line(scene: Scene, side: str, level: str = "lower") -> RailLine:
    """The centerline of a main rail in the engine frame; ValueError where the chassis gives none.

    Exact for pitch, roll, yaw and lateral offset; free of axle-to-block, because a rail runs along the car.
    """
    rails = scene.chassis.rails
    height = rails.height if level == "lower" else rails.upper_height
    for field, value in (("half_spacing", rails.half_spacing), ("height" if level == "lower" else "upper_height", height)):
        if value is None:
            raise ValueError(f"chassis.rails.{field} is missing; give it, or a rail line in the chassis sketches")
    turned, origin = scene.engine_frame.rotation, scene.engine_frame.origin
    x, y, z = turned.T @ np.array([0.0, SIDES[side] * rails.half_spacing - origin[1], height - origin[2]])
    dx, dy, dz = turned[0]                       # the car's X axis in the engine frame
    return RailLine(float(y - x * dy / dx), float(z - x * dz / dx), float(dy / dx), float(dz / dx),
                    rails.section.outer_diameter / 2.0)


def clamp(scene: Scene, tabs: model.RailTabs, x_rear: float, thickness: float, side: str, level: str = "lower") -> Clamp:
    """The ear on one rail of a plate that stands from x_rear forward by its thickness."""
    rail = rail_line(scene, side, level)
    reach = tabs.gap + tabs.thickness
    y, _ = rail.at(x_rear + thickness / 2.0)
    bottom = rail.top(x_rear - reach, x_rear + thickness + reach) + RAIL_CLEARANCE
    first = bottom + EDGE_DISTANCE * tabs.bolt
    hole = tabs.bolt + HOLE_CLEARANCE
    bolts = tuple((y, first + i * PITCH * tabs.bolt, hole) for i in range(tabs.bolts_per_rail))
    return Clamp(side, level, rail, y, bottom, bolts[-1][1] + EDGE_DISTANCE * tabs.bolt, bolts)
