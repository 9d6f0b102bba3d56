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
from . import loop_ring, piece, tube
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
    """One solid: tube with a bung in each end, shanks, and heads with their balls, bored along z."""
    rear, front = Vector(*spec.rear), Vector(*spec.front)
    along, up = (front - rear).normalize(), Vector(0, 0, 1)
    side, whole, start = along.cross(up).normalize(), length(spec), SHANK * spec.bolt
    outer, inner = spec.outer_diameter / 2.0, spec.outer_diameter / 2.0 - spec.wall
    shank = min(spec.bolt / 2.0, outer)
    half = [(0.0, 0.0), (0.0, shank), (start, shank), (start, inner), (start, outer)]
    rod = _turned(rear, along, side, half + [(whole - x, radius) for x, radius in half[::-1]])
    hollow = start + BUNG * spec.outer_diameter
    void = _turned(rear, along, side, [(hollow, 0.0), (hollow, inner), (whole - hollow, inner), (whole - hollow, 0.0)])
    eye, ball = ((diameter * spec.bolt / 2.0, width * spec.bolt / 2.0)
                 for diameter, width in ((EYE_DIAMETER, EYE_WIDTH), (BALL_DIAMETER, BALL_WIDTH)))
    corners = [(ball[1], 0.0), (ball[1], ball[0]), (eye[1], ball[0]), (eye[1], eye[0])]
    heads = [_turned(center, up, side, corners + [(-z, radius) for z, radius in corners[::-1]]) for center in (rear, front)]
    bores = [Part.makeCylinder(spec.bolt / 2.0, 4.0 * spec.bolt, center - up * (2.0 * spec.bolt), up) for center in (rear, front)]
    return loop_ring.with_voids(rod.fuse(heads).cut(bores), [void])


def _turned(base: Vector, axis: Vector, side: Vector, profile: list[tuple[float, float]]) -> Part.Solid:
    """Solid of revolution of (way along the axis, radius) points."""
    points = [base + axis * along + side * radius for along, radius in profile]
    made = Part.Face(Part.makePolygon(points + points[:1])).revolve(base, axis, 360)
    if made.Volume < 0.0:
        made.reverse()
    return made


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The tube between its rod ends' shanks; bungs and rod ends are bought."""
    cut = length(spec) - 2.0 * SHANK * spec.bolt
    return (piece.straight("tube", spec.outer_diameter, spec.wall, (0.0, 0.0, 0.0), (cut, 0.0, 0.0), note="a threaded bung in each end"),)
