"""Where the engine's plates are held: lugs of the front plate, tie-down holes of the mid plate. Numbers only, no host.

Plates, tie tabs, plate feet, hardware and the strength screening read them here, so that they cannot disagree.
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import rail_clamp
from .rail_clamp import EDGE_DISTANCE, HOLE_CLEARANCE, PITCH, SIDES

WEB = 1.0 * INCH
"""Least material beside the center opening that a mid plate's body is laid out for (common practice, no source)."""

TIE_BELOW_TUBE = 0.75 * INCH
"""Tie-down bolt at least this far below the underside of the support tube (common practice, no source)."""

EAR_SLOPE = 0.75
"""Rise over run of the edge from a plate's body out to its ears: no sharp inner corner where it is bent most (common practice, no
source)."""

TIE_SHARE = 0.6
"""Tie-down holes off the middle, over the half width of the plate's body (common practice, no source)."""

BEND_RATIO = 1.0
"""Inside bend radius of a tie tab over its thickness (common practice, no source)."""


@dataclass(frozen=True)
class Lug:
    """Where a plate is held on one side, engine frame: bolts (y, z, hole diameter) in a column between bottom and top, and
    their nominal diameter."""
    y: float
    bottom: float
    top: float
    bolts: tuple[tuple[float, float, float], ...]
    bolt: float


def passes_crank_flange(field: str, opening: float, scene: Scene) -> None:
    """ValueError where a plate's opening on the crank, given by ``field``, is smaller than the crank flange, mm."""
    flange = scene.engine.crank_flange_diameter
    if opening < flange:
        raise ValueError(f"{field}: {sized(opening)} does not pass the crank flange; give at least {sized(flange)}")


def lug(front: model.FrontPlate, tabs: model.RailTabs, scene: Scene, side: str) -> Lug:
    """How the front plate is held on one side: on the rail (wide), or by a plate foot (narrow)."""
    front, tabs = filled(front), filled(tabs)
    if front.kind == "wide":
        if front.half_width is None:
            raise ValueError("plates.front.half_width is missing; a wide front plate needs it, or use kind narrow with plate feet")
        ear = rail_clamp.clamp(scene, tabs, scene.engine.block_length, front.thickness, side)
        return Lug(ear.y, ear.bottom, ear.top, ear.bolts, tabs.bolt)
    for field in ("foot_half_spacing", "foot_drop"):
        if getattr(front, field) is None:
            raise ValueError(f"plates.front.{field} is missing; a narrow front plate needs plate feet, or use kind wide")
    # Feet stand about the car's center plane, as the rails do.
    x = scene.engine.block_length + front.thickness
    middle = sum(rail_clamp.rail_line(scene, s).at(x)[0] for s in SIDES) / 2.0
    y, z = middle + SIDES[side] * front.foot_half_spacing, -front.foot_drop
    bolt = front.foot_bolt or tabs.bolt
    half = PITCH * bolt * (front.foot_bolts - 1) / 2.0
    bolts = tuple((y, z - half + i * PITCH * bolt, bolt + HOLE_CLEARANCE) for i in range(front.foot_bolts))
    edge = half + EDGE_DISTANCE * bolt
    return Lug(y, z - edge, z + edge, bolts, bolt)


def tie_drop(tabs: model.RailTabs) -> float:
    """Tie-down bolt below the underside of the support tube, mm: the tab's level leg, its bend, and one bolt diameter of flat for the
    bolt's head have room between them."""
    tabs = filled(tabs)
    return max(TIE_BELOW_TUBE, (1.0 + BEND_RATIO) * tabs.thickness + tabs.bolt)


def tie_holes(mid: model.MidPlate, tabs: model.RailTabs, support: model.SupportTube | None,
              scene: Scene) -> tuple[tuple[float, float, float], ...]:
    """(y, z, diameter) of the tie-down holes at the top of the mid plate, left and right: below the support tube, or at the top edge
    without one."""
    body = max([mid.center_opening / 2.0 + WEB] + [abs(y) + EDGE_DISTANCE * d for y, _, d in scene.engine.rear_holes])
    z = mid.above_crank - EDGE_DISTANCE * tabs.bolt
    if support is not None:
        z = min(z, support.above_crank - support.section.outer_diameter / 2.0 - tie_drop(tabs))
    return tuple((sign * TIE_SHARE * body, z, tabs.bolt + HOLE_CLEARANCE) for sign in SIDES.values())
