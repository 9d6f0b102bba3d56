"""Volume swept by the driveshaft, its joints and its slip yoke over axle travel, whip allowance included: one solid, ruled from
section to section (``mechanics.envelope``). Frame: the shaft's at static ride height, origin in the rear joint, x forward.

The slip yoke slides along the output axis with the front joint and is counted from its furthest in to its furthest out, as far
as the output seal; what of it is inside the transmission sweeps nothing.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics import envelope
from ..mechanics.scene import Scene
from ..mechanics.travel import body_of
from ..record import filled
from . import driveshaft

VERSION = 2
Vector: TypeAlias = FreeCAD.Vector
MERGED = 0.1
"""Sections nearer to one another than this are one; the slip yoke is taken as much thicker, mm (numerical)."""


@dataclass(frozen=True)
class Spec:
    """Sections from rear to front, each (x, radius, height of the lower and of the upper center), mm."""
    sections: tuple[tuple[float, float, float, float], ...]


def spec(shaft: model.Driveshaft, scene: Scene) -> Spec:
    """From the record and the placed powertrain; ValueError where the suspension does not reach its travel."""
    row = envelope.sections(scene, shaft)
    return Spec(tuple((float(one.x), float(one.radius), float(one.low), float(one.high)) for one in _with_slip_yoke(row, shaft, scene)))


def _with_slip_yoke(row: tuple[envelope.Section, ...], shaft: model.Driveshaft, scene: Scene) -> list[envelope.Section]:
    """The row with what the slip yoke sweeps ahead of the front joint.

    The yoke is slimmer toward the seal, so its furthest in holds it throughout: at each corner of its profile a section that
    holds the tilted circle there, and what the joint's ball fills there as well. Between the sections both run straight.
    """
    shaft, body = filled(shaft), body_of(shaft)
    whip = body.joint - shaft.joint_swing_diameter / 2
    forward, to_seal, barrel = driveshaft.slip_yoke(scene)
    length = scene.driveline.length
    seal = length + to_seal * forward[0]
    joint = max(body.joint, body.tube)
    # Of the front joint's balls: the foremost center, with the margin that the row was given.
    ball_end, drum = row[-1], row[-2]
    foremost = ball_end.x - joint
    lean = math.hypot(forward[1], forward[2])
    round_row = all(one.high - one.low < 1e-9 for one in row)

    def ball(x: float) -> float:
        ahead = x - drum.x
        return joint - max(0.0, ahead) if x <= ball_end.x + 1e-9 else 0.0

    def on_axis(x: float) -> tuple[float, float]:
        step = (x - length) / forward[0]
        return step * forward[1], step * forward[2]

    corners = []
    for ahead, radius in driveshaft.slip_yoke_profile(shaft.joint_swing_diameter, barrel, to_seal):
        # A circle square to the leaning axis reaches so much further forward.
        radius += whip + MERGED
        corners.append((foremost + ahead * forward[0] + radius * lean, radius))
    last = seal + corners[-1][1] * lean
    corners = [corner for corner in corners if corner[0] < last - 1.0] or corners[:1]
    corners.append((max(last, corners[-1][0] + 1.0), corners[-1][1]))
    stations = sorted({x for x, _radius in corners} | {drum.x, ball_end.x})
    stations = [x for i, x in enumerate(stations) if i == 0 or x - stations[i - 1] > MERGED]
    extra, found = drum.radius - joint, []
    for one in row[:-2] + tuple(envelope.Section(x, 0.0, math.inf, -math.inf) for x in stations):
        # From the rearmost joint center on, which the third last section stands at, the yoke's ears are there as well.
        if one.x < row[-3].x - 1e-9:
            found.append(one)
            continue
        filled_by_ball = ball(one.x)
        radius, (aside, height) = _held(corners, one.x), on_axis(one.x)
        low, high = min(one.low, height), max(one.high, height)
        if filled_by_ball:
            low, high = min(low, drum.low), max(high, drum.high)
        radius = max(one.radius, radius / forward[0] + abs(aside), filled_by_ball + extra if filled_by_ball else 0.0)
        if round_row:
            radius, low, high = radius + (high - low) / 2, (low + high) / 2, (low + high) / 2
        elif one.radius == 0.0:
            low, high = low - envelope.LEAST_STRAIGHT / 2, high + envelope.LEAST_STRAIGHT / 2
        found.append(envelope.Section(one.x, radius, low, high))
    return found


def _held(corners: list[tuple[float, float]], x: float) -> float:
    """Radius of the yoke's profile at a station: that of its first corner before it, straight between corners, 0 beyond the last."""
    if x <= corners[0][0]:
        return corners[0][1]
    for (a, first), (b, second) in pairwise(corners):
        if x <= b:
            return first + (second - first) * (x - a) / (b - a)
    return 0.0


def _wire(x: float, radius: float, low: float, high: float, straight: bool) -> Part.Wire:
    """Outline of a section: two half circles, with or without straight sides between, from the right over the top."""
    top, bottom = Vector(x, 0, high), Vector(x, 0, low)
    side, up = Vector(0, -radius, 0), Vector(0, 0, radius)
    upper = Part.Arc(top + side, top + up, top - side).toShape()
    lower = Part.Arc(bottom - side, bottom - up, bottom + side).toShape()
    if not straight:
        return Part.Wire([upper, lower])
    return Part.Wire([upper, Part.makeLine(top - side, bottom - side), lower, Part.makeLine(bottom + side, top + side)])


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    straight = all(high - low > 1e-6 for _x, _radius, low, high in spec.sections)
    made = Part.makeLoft([_wire(*one, straight) for one in spec.sections], True, True)
    solid = made.Solids[0]
    volume = solid.Volume
    if volume < 0.0:
        solid.reverse()
    if not solid.isValid() or math.isclose(volume, 0.0):
        raise ValueError("driveshaft: the volume that it sweeps makes no solid; check travel, joint_swing_diameter and "
                         "whip_allowance")
    return solid
