"""Limiter strut: tube with a rod end at each end, one solid as it is bought and assembled. Engine frame, mm."""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled
from ..units import sized
from . import piece, tube
from .limiter import BALL_DIAMETER, BALL_WIDTH, EYE_DIAMETER, EYE_WIDTH, limiter

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1

BUNG = 1.0
"""Length of the threaded bung in each end of the tube, in tube diameters (common practice, no source)."""

SHANK = 2.5
"""Rod end's center to the tube's end, in bolt diameters (from memory of rod ends with their jam nut: confirm)."""


@dataclass(frozen=True)
class Spec:
    """Centres of the rod ends, section of the tube, bolt diameter."""
    front: tuple[float, float, float]
    rear: tuple[float, float, float]
    outer_diameter: float
    wall: float
    bolt: float


def spec(strut: model.LimiterStrut, scene: Scene) -> Spec:
    """From records; ValueError where there is no room for it."""
    strut = filled(strut)
    tube.check_section(strut.section.outer_diameter, strut.section.wall, "mounts.limiter_strut.section")
    place = limiter(strut, scene)
    made = Spec(place.front, place.rear, strut.section.outer_diameter, strut.section.wall, strut.bolt)
    least = 2.0 * (SHANK * strut.bolt + BUNG * strut.section.outer_diameter)
    if length(made) < least:
        raise ValueError(f"mounts.limiter_strut.run: the rod ends are {sized(length(made), 2)} apart, at least {sized(least, 2)} "
                         "is needed for tube and threads; give a longer run")
    return made


def length(spec: Spec) -> float:
    """Between the centers of the rod ends, mm."""
    return math.dist(spec.front, spec.rear)


def build(spec: Spec) -> Part.Solid:
    """One solid: tube with a bung in each end, shanks, heads and balls, bored along z."""
    rear, front = Vector(*spec.rear), Vector(*spec.front)
    along, up = (front - rear).normalize(), Vector(0, 0, 1)
    pieces, bores = [], []
    ends = [rear + along * SHANK * spec.bolt, front - along * SHANK * spec.bolt]
    outer, inner = spec.outer_diameter / 2.0, spec.outer_diameter / 2.0 - spec.wall
    pieces.append(tube.straight(ends[0], ends[1], spec.outer_diameter, spec.wall))
    for center, end, inward in ((rear, ends[0], along), (front, ends[1], along * -1.0)):
        pieces.append(Part.makeCylinder(inner, BUNG * spec.outer_diameter, end, inward))
        pieces.append(Part.makeCylinder(min(spec.bolt / 2.0, outer), SHANK * spec.bolt, center, inward))
        for diameter, width in ((EYE_DIAMETER, EYE_WIDTH), (BALL_DIAMETER, BALL_WIDTH)):
            pieces.append(Part.makeCylinder(diameter * spec.bolt / 2.0, width * spec.bolt, center - up * (width * spec.bolt / 2.0), up))
        bores.append(Part.makeCylinder(spec.bolt / 2.0, 4.0 * spec.bolt, center - up * (2.0 * spec.bolt), up))
    return tube.largest(pieces[0].fuse(pieces[1:]).cut(bores))


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The tube between its rod ends' shanks; bungs and rod ends are bought."""
    cut = length(spec) - 2.0 * SHANK * spec.bolt
    return (piece.straight("tube", spec.outer_diameter, spec.wall, (0.0, 0.0, 0.0), (cut, 0.0, 0.0), note="a threaded bung in each end"),)
