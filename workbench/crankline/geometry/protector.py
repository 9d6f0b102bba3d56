"""Block protector: thin plate between block and mid plate, to the block's outline and down over the rear of the pan.

Its outline is the convex outline around the block's section, the bosses of the rear-face pattern and the pan's corners,
so that a failed flywheel or converter meets plate wherever it would meet block or pan.
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from ..host import Part
from ..mechanics.scene import Scene
from ..units import INCH
from . import piece, plate
from .engine_envelope import block_section
from .mid_plate import drilled
from .outline import Circle, Flat, boss, convex_hull, rounded
from .plate_layout import passes_crank_flange

VERSION = 1

CORNER_RADIUS = 0.5 * INCH
"""Of the outline (common practice, no source)."""
BOSS = 1.0
"""Material around a hole of the pattern: radius in hole diameters (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Engine frame, mm. ``corners``: (y, z); ``holes``: (y, z, diameter), the crank opening first."""
    thickness: float
    corners: tuple[tuple[float, float], ...]
    corner_radius: float
    holes: tuple[tuple[float, float, float], ...]


def spec(protector: model.Protector, scene: Scene) -> Spec:
    """What the protector is made from; ValueError where the numbers make none."""
    engine = scene.engine
    passes_crank_flange("plates.protector.crank_opening", protector.crank_opening, scene)
    points = list(block_section(engine))
    if engine.pan is not None:
        points += [(sign * engine.pan.half_width, -engine.pan.depth) for sign in (-1.0, 1.0)]
    pattern = drilled(engine.rear_holes, ((0.0, 0.0, protector.crank_opening),))
    for y, z, diameter in pattern:
        points += boss(y, z, BOSS * diameter)
    return Spec(scene.stack.protector, tuple(convex_hull(points)), CORNER_RADIUS, ((0.0, 0.0, protector.crank_opening),) + pattern)


def flat(spec: Spec) -> Flat:
    """The protector in its plane, checked."""
    return Flat(rounded(spec.corners, spec.corner_radius, shrink=True),
                tuple(Circle(*hole) for hole in spec.holes)).checked("plates.protector")


def build(spec: Spec) -> Part.Solid:
    """The protector in the engine frame: x from minus its thickness to 0."""
    return plate.solid(flat(spec), -spec.thickness, spec.thickness)


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One plate."""
    return (piece.Sheet("plate", flat(spec), spec.thickness),)
