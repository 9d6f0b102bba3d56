"""Bar of the set-up stands: through the block's main bearing bores, on the crank centerline, from stand to stand. Engine frame, mm."""
from __future__ import annotations

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import piece, setup_stand, tube

VERSION = tube.VERSION
Spec = tube.Spec
build = tube.build
OVERHANG = 1.0 * INCH
"""Bar beyond either plate (common practice, no source)."""
STRAIGHT = 0.005 * INCH
"""How straight it is over its length (common practice, no source)."""


def spec(stands: model.SetUpStands, scene: Scene) -> Spec:
    """From records; ValueError where its wall leaves no bore."""
    stands = filled(stands)
    section = stands.bar
    tube.check_section(section.outer_diameter, section.wall, "mounts.setup_stands.bar")
    origin, along = float(scene.engine_point(0.0)[0]), float(scene.engine_frame.rotation[0, 0])
    rear = (setup_stand.station(stands, scene, "rear") - origin) / along - OVERHANG
    front = (setup_stand.station(stands, scene, "front") + stands.thickness - origin) / along + OVERHANG
    return Spec((rear, 0.0, 0.0), (front, 0.0, 0.0), section.outer_diameter, section.wall)


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One straight tube."""
    return (piece.straight("bar", spec.outer_diameter, spec.wall, spec.start, spec.end,
                           note=f"straight within {sized(STRAIGHT)}; a sliding fit in the main bearing bores"),)
