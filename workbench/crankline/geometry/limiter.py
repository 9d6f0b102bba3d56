"""Where a limiter strut stands: one place that its strut, its two brackets and the front plate's holes read. Numbers only.

The strut runs from a bracket on the rear face of the front plate rearward to a bracket on a main rail. Rod ends turn about
upright bolts (along z of the engine), so the strut may go outward as it likes; what it leans up or down the rod ends take by
their spherical bearings, within ``MISALIGNMENT``.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from ..units import sized
from .rail_clamp import HOLE_CLEARANCE, SIDES, RailLine, rail_line

MISALIGNMENT = math.radians(15.0)
"""Lean that rod ends are trusted with (common practice, no source)."""

EYE_DIAMETER, EYE_WIDTH, BALL_DIAMETER, BALL_WIDTH = 2.667, 1.083, 1.5, 2.0
"""Rod end in bolt diameters: a 3/8 in one has a head of 1.00 x 0.41 in (from memory: confirm). The ball counts with the two
misalignment spacers beside it, without which the shank would meet the ears when it leans."""

REACH = 1.6
"""Rod end's center to the bracket's web, in bolt diameters, so that the head turns free of it (common practice, no source)."""

EAR = 1.5
"""Half width of the ears, and bolt to the edge of the base, in bolt diameters (common practice, no source)."""

SINK = 1.0
"""How deep the bracket on the rail is coped at the least, mm (common practice, no source)."""

HEAD_ROOM = 1.25
"""Ear to the middle of the bolt beside it, in bolt diameters: a hexagon head is 1.73 wide over its corners (closed form), and a
socket goes round it (common practice, no source)."""

STEEPEST = math.radians(45.0)
"""Off the car's length in plan: a strut that stands farther out limits little (common practice, no source)."""


@dataclass(frozen=True)
class Limiter:
    """Rod end centers in the engine frame: at the plate and at the rail. ``seat``: underside of the rail bracket."""
    side: str
    front: tuple[float, float, float]
    rear: tuple[float, float, float]
    seat: float
    rail: RailLine


def limiter(strut: model.LimiterStrut, scene: Scene) -> Limiter:
    """Where it stands; ValueError where rod ends cannot reach."""
    strut = filled(strut)
    sign, rail = SIDES[strut.side], rail_line(scene, strut.side)
    x_plate = scene.engine.block_length
    front = (x_plate - strut.bracket_thickness - REACH * strut.bolt, sign * strut.plate_y, strut.plate_z)
    x = x_plate - strut.run
    # The bracket's foot reaches from its web to the end of its lower ear.
    ends = (x - REACH * strut.bolt - strut.bracket_thickness, x + EAR * strut.bolt)
    seat = min(rail.at(end)[1] for end in ends) + rail.half_height - SINK
    rear = (x, rail.at(x)[0], seat + strut.bracket_thickness + BALL_WIDTH * strut.bolt / 2.0)
    along = math.hypot(front[0] - rear[0], front[1] - rear[1])
    lean = math.atan2(abs(front[2] - rear[2]), along)
    if front[0] - rear[0] < 3.0 * EYE_DIAMETER * strut.bolt:
        raise ValueError(f"mounts.limiter_strut.run: {sized(strut.run, 2)} leaves no room for a strut between two rod ends; give at "
                         f"least {sized(((REACH + 3.0 * EYE_DIAMETER) * strut.bolt + strut.bracket_thickness), 2)}")
    if lean > MISALIGNMENT:
        raise ValueError(f"mounts.limiter_strut.plate_z: the strut leans {math.degrees(lean):.1f} deg up from the rail, rod ends take "
                         f"{math.degrees(MISALIGNMENT):.0f} deg; bring plate_z nearer to {sized(rear[2], 2)} or give a longer run")
    if math.atan2(abs(front[1] - rear[1]), front[0] - rear[0]) > STEEPEST:
        raise ValueError(f"mounts.limiter_strut.run: the strut runs more outward than rearward, so it limits little; bring plate_y nearer "
                         f"to {sized(abs(rear[1]), 2)} or give a longer run")
    return Limiter(strut.side, front, rear, seat, rail)


def bracket_holes(strut: model.LimiterStrut) -> tuple[tuple[float, float, float], ...]:
    """(y, z, diameter) of the two bolts of the bracket in the front plate, above and below its ears; the record filled."""
    apart = BALL_WIDTH * strut.bolt / 2.0 + strut.bracket_thickness + HEAD_ROOM * strut.bolt
    y = SIDES[strut.side] * strut.plate_y
    return tuple((y, strut.plate_z + s * apart, strut.bolt + HOLE_CLEARANCE) for s in (-1.0, 1.0))
