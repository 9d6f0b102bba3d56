"""Volume swept by the driveshaft and its joints over axle travel, whip allowance included: one solid, ruled from section
to section (``mechanics.envelope``). Frame: the shaft's at static ride height, origin in the rear joint, x forward.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import FreeCAD
import Part

from .. import model
from ..mechanics import envelope
from ..mechanics.scene import Scene

VERSION = 1
Vector = FreeCAD.Vector


@dataclass(frozen=True)
class Spec:
    """Sections from rear to front, each (x, radius, height of the lower and of the upper centre), mm."""
    sections: tuple[tuple[float, float, float, float], ...]


def spec(shaft: model.Driveshaft, scene: Scene) -> Spec:
    """From the record and the placed powertrain; ValueError where the suspension does not reach its travel."""
    return Spec(tuple(tuple(one) for one in envelope.sections(scene, shaft)))


def volume(spec: Spec) -> float:
    """Closed form, mm3."""
    return envelope.volume(tuple(envelope.Section(*one) for one in spec.sections))


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
    if solid.Volume < 0.0:
        solid.reverse()
    if not solid.isValid() or math.isclose(solid.Volume, 0.0):
        raise ValueError("driveshaft: the volume that it sweeps makes no solid; check travel, joint_swing_diameter and "
                         "whip_allowance")
    return solid
