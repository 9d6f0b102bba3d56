"""Transmission envelope: bell, case, pan, tail with its mount pad, back to the output seal, engine frame.

Lengths, the pan and all half widths are the catalogue's; between them the simplest body: a conical bell, a case of
rectangular section, a round tail about the output axis. The slip yoke belongs to the driveshaft. Where a file with the solid of the real
transmission is given, that is the body.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled, later
from ..units import INCH, sized
from . import solid_file
from .solid_file import SolidFile

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1

PAD_LENGTH, PAD_HALF_WIDTH = 3.0 * INCH, 1.25 * INCH
"""Size of the mount pad (invented, the catalog gives its place only: common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Stations are measured back from the bell's front face, which stands at x = -setback; mm.

    ``pan``: (front, rear, half_width, below_axis). The case reaches from below to above the axis.
    """
    setback: float
    bell_radius: float
    bell_depth: float
    case_end: float
    case_half_width: float
    case_above: float
    case_below: float
    pan: tuple[float, float, float, float] | None
    tail_radius: float
    length: float
    pad_station: float
    pad_below: float
    solid: SolidFile | None = later(None)


def spec(transmission: model.Transmission, scene: Scene) -> Spec:
    """What the envelope is made from; ValueError where the numbers make no transmission."""
    given = filled(transmission)
    length, pad = given.bell_to_seal, given.mount_pad
    if not 0.0 < pad.from_bell < length:
        raise ValueError(f"transmission.mount_pad.from_bell: {sized(pad.from_bell)} is not on the tail; give less than the "
                         f"{sized(length)} to the output seal")
    if pad.below_axis <= 0.0:
        raise ValueError(f"transmission.mount_pad.below_axis: {sized(pad.below_axis)} is above the output axis; give a positive "
                         "length")
    pan = None
    bell = given.bellhousing_depth or 0.25 * length
    end = pad.from_bell - PAD_LENGTH / 2.0
    if given.pan is not None:
        p = given.pan
        if not p.from_bell_front < p.from_bell_rear < length:
            raise ValueError(f"transmission.pan: {sized(p.from_bell_front)} to {sized(p.from_bell_rear)} is not ahead of the "
                             f"output seal; give from_bell_front below from_bell_rear, both below {sized(length)}")
        pan = (p.from_bell_front, p.from_bell_rear, p.half_width, p.below_axis)
        if given.bellhousing_depth is None:
            bell = min(bell, p.from_bell_front)
        end = max(min(end, length), p.from_bell_rear)
    if bell >= end:
        raise ValueError(f"transmission.bellhousing_depth: {sized(bell)} leaves no case ahead of the mount pad; give less than "
                         f"{sized(end)}")
    below = given.case_below_axis
    if below is None:
        # A pan hangs under a case; without a stated bottom the case takes two thirds of the depth.
        below = min(given.case_half_width, 2.0 / 3.0 * given.pan.below_axis) if given.pan else given.case_half_width
    if pan is not None and pan[3] <= below:
        raise ValueError(f"transmission.pan.below_axis: {sized(pan[3])} ends inside the case; give more than case_below_axis, "
                         f"{sized(below)}")
    tail = min(0.75 * pad.below_axis, given.case_half_width, below)
    return Spec(scene.stack.total, given.bell_radius, bell, end, given.case_half_width, min(given.case_half_width, given.bell_radius),
                below, pan, tail, length, pad.from_bell, pad.below_axis,
                solid_file.spec(given.solid, "transmission") if given.solid else None)


def build(spec: Spec) -> Part.Shape:
    """The envelope in the engine frame, or the solid of the real transmission where there is one."""
    if spec.solid is not None:
        return solid_file.build(spec.solid, -spec.setback)
    rear = Vector(-1.0, 0.0, 0.0)

    def at(station: float, y: float = 0.0, z: float = 0.0) -> Vector:
        return Vector(-spec.setback - station, y, z)

    def box(front: float, end: float, half: float, low: float, high: float) -> Part.Solid:
        return Part.makeBox(end - front, 2.0 * half, high - low, at(end, -half, low))

    inner = min(spec.bell_radius, spec.case_half_width)
    if spec.bell_radius - inner > 1e-6:
        bell = Part.makeCone(spec.bell_radius, inner, spec.bell_depth, at(0.0), rear)
    else:
        bell = Part.makeCylinder(spec.bell_radius, spec.bell_depth, at(0.0), rear)
    more = [box(spec.bell_depth, spec.case_end, spec.case_half_width, -spec.case_below, spec.case_above)]
    if spec.length > spec.case_end:
        more.append(Part.makeCylinder(spec.tail_radius, spec.length - spec.case_end, at(spec.case_end), rear))
    if spec.pan is not None:
        front, end, half, below = spec.pan
        more.append(box(front, end, half, -below, -spec.case_below))
    pad_front, pad_rear = max(spec.pad_station - PAD_LENGTH / 2.0, spec.case_end), min(spec.pad_station + PAD_LENGTH / 2.0, spec.length)
    if pad_rear > pad_front:
        more.append(box(pad_front, pad_rear, min(PAD_HALF_WIDTH, 0.8 * spec.tail_radius), -spec.pad_below, 0.0))
    return bell.fuse(more).Solids[0]
