"""Engine envelope: block, pan and damper as far as the catalogue's numbers go. Heads, manifolds and accessories have no
numbers there and are not in it: a clearance measured above the decks is a clearance to the bare block. Where a file with the solid of the
real engine is given, that is the body.

The block is one section of its banks, extruded over its length: a deck square to each bank at the deck height, the banks
as wide as ``block_half_width`` says, down to a skirt beside the pan. The pan is a box, the damper a cylinder about the crank.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics import engine_block
from ..mechanics.scene import Scene
from ..record import filled, later
from ..units import INCH, sized
from . import plate, solid_file
from .outline import Flat, polygon
from .solid_file import SolidFile

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1

BANK_ANGLE = {"V8": 90.0, "V10": 90.0, "V6": 90.0, "V12": 60.0, "inline": 0.0}
"""Angle between the banks in deg, the usual one of each layout (common practice, no source)."""

SKIRT = 1.0 * INCH
"""Half width of the skirt beyond the pan's (invented, the catalog gives none: common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Engine frame, mm. ``section``: corners (y, z) of the block; ``pan``: (x_rear, x_front, half_width, top, bottom)."""
    block_length: float
    section: tuple[tuple[float, float], ...]
    pan: tuple[float, float, float, float, float] | None
    damper_diameter: float
    damper_length: float
    solid: SolidFile | None = later(None)


def spec(engine: model.Engine, scene: Scene) -> Spec:
    """What the envelope is made from; ValueError where the numbers make no block."""
    engine = filled(engine)
    outside = engine_block.bores_outside(engine)
    if outside is not None:
        raise ValueError(f"engine.bore_spacing: {outside}")
    pan = None
    if engine.pan is not None:
        given = engine.pan
        if given.depth <= engine.base_drop:
            raise ValueError(f"engine.pan.depth: {sized(given.depth)} ends above the base of the block; give more than the "
                             f"base drop of {sized(engine.base_drop)}")
        if not 0.0 <= given.x_rear < given.x_front <= engine.block_length:
            raise ValueError(f"engine.pan: {sized(given.x_rear)} to {sized(given.x_front)} does not lie under the block; "
                             f"give x_rear below x_front, both within 0 in and {sized(engine.block_length)}")
        pan = (given.x_rear, given.x_front, given.half_width, -engine.base_drop, -given.depth)
    return Spec(engine.block_length, block_section(engine), pan, engine.damper_diameter, engine.nose_ahead_of_front_face,
                solid_file.spec(engine.solid, "engine") if engine.solid else None)


def block_section(engine: model.Engine) -> tuple[tuple[float, float], ...]:
    """Corners (y, z) of the block's section, counterclockwise about +x, mm."""
    lean = math.radians(BANK_ANGLE[engine.kind] / 2.0)
    sin, cos = math.sin(lean), math.cos(lean)
    deck, half, base = engine.deck_height, engine.block_half_width, -engine.base_drop
    bank = (half - deck * sin) / cos
    if bank <= 0.0:
        raise ValueError(f"engine.block_half_width: {sized(half)} ends inside the deck's centerline; give more than "
                         f"{sized(deck * sin)}")
    skirt = min(half, (engine.pan.half_width if engine.pan else 0.5 * half) + SKIRT)
    outer = (half, deck * cos - bank * sin)
    if lean == 0.0:
        return ((-half, base), (half, base), (half, deck), (-half, deck))
    inner = (deck * sin - bank * cos, deck * cos + bank * sin)
    # From the outer deck corner down the bank's side to the skirt; where the base comes first, the bank ends on it.
    fall = (half - skirt) * cos / sin
    if outer[1] - fall > base:
        side = [(skirt, base), (skirt, outer[1] - fall)]
    elif outer[1] > base:
        side = [(half - (outer[1] - base) * sin / cos, base)]
    else:
        raise ValueError(f"engine.base_drop: the base of the block lies {sized(-engine.base_drop)} above the crank, over the "
                         "lower corner of the decks; correct base_drop, deck_height or block_half_width")
    side += [outer]
    if inner[0] > 0.0:
        # The valley is filled to half the deck height: its floor is no clearance to anything.
        floor = max(inner[1] - inner[0] * cos / sin, deck / 2.0)
        side += [inner]
        if floor < inner[1]:
            side += [(inner[0] - (inner[1] - floor) * sin / cos, floor)]
    else:
        side += [(0.0, inner[1] + inner[0] * cos / sin)]
    right = [(-y, z) for y, z in reversed(side) if y > 1e-9]
    return tuple(side + right)


def flat(spec: Spec) -> Flat:
    """The block's section."""
    return Flat(polygon(spec.section)).checked("engine")


def build(spec: Spec) -> Part.Shape:
    """The envelope in the engine frame, or the solid of the real engine where there is one."""
    if spec.solid is not None:
        return solid_file.build(spec.solid)
    block = plate.solid(flat(spec), 0.0, spec.block_length)
    more = []
    if spec.pan is not None:
        x_rear, x_front, half, top, bottom = spec.pan
        more.append(Part.makeBox(x_front - x_rear, 2.0 * half, top - bottom, Vector(x_rear, -half, bottom)))
    if spec.damper_length > 0.0:
        more.append(Part.makeCylinder(spec.damper_diameter / 2.0, spec.damper_length, Vector(spec.block_length, 0, 0), Vector(1, 0, 0)))
    return block.fuse(more).Solids[0] if more else block
