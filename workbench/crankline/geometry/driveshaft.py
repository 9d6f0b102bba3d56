"""Driveshaft between its joint centers: tube, weld yokes, two joint crosses with their caps, and the slip yoke.

Frame: origin in the rear joint, x forward along the shaft, y left, z up; the front joint at x = length. The slip yoke lies on
the transmission's output axis and ends at the output seal. The pinion yoke belongs to the rear end and is not drawn.
Proportions of yokes and crosses follow from the swing diameter and are for recognition only.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene
from ..mechanics.travel import JOINT_REACH
from ..record import filled
from ..units import INCH, sized
from . import tube

VERSION = 1
Vector: TypeAlias = FreeCAD.Vector
BARREL = 0.44 * INCH
"""Barrel of a slip yoke over its spline's diameter: 7/32 in of wall all round (common practice, no source)."""

# Proportions of yokes, over the swing diameter of their joint (common practice, no source): the corners of the ears reach the
# swing diameter, and no rule measures what lies inside it.
EAR_RADIUS, EAR_THICKNESS = 0.17, 0.10
"""Eye's radius and ear's thickness (common practice, no source)."""
TRUNNION_RADIUS, TRUNNION_REACH = 0.09, 0.93 / 2
"""Radius of the caps, and center to their outer ends (common practice, no source)."""
BASE, FLANGE, WEB, SKIN = 0.36, 0.46, 0.10, 0.05
"""Joint center to the base of the ears; radius of the yoke's flange; thickness of its web; least wall of its collar (common practice, no
source)."""
SLIP_FLANGE, NECK = 0.40, 0.25
"""Radius of a slip yoke's flange, and length from its base to its neck (common practice, no source)."""

LEAST_FORWARD = math.cos(math.radians(10.0))
"""Cosine of the joint's angle up to which the yokes stay clear of each other by their proportions (closed form)."""


@dataclass(frozen=True)
class Spec:
    """Distance between joint centers; tube; swing diameter of the joints; phase of the front yoke (rad); slip yoke.

    ``output``: unit vector forward along the output axis in the shaft's frame; ``seal``: joint to output seal along it;
    ``barrel``: outside diameter of the slip yoke's barrel. Lengths mm.
    """
    length: float
    outer_diameter: float
    wall: float
    swing: float
    phase: float
    output: tuple[float, float, float]
    seal: float
    barrel: float


def spec(shaft: model.Driveshaft, scene: Scene) -> Spec:
    """From the record and the placed powertrain."""
    shaft = filled(shaft)
    distance = scene.front_joint - scene.rear_joint
    length = float((distance @ distance) ** 0.5)
    tube.check_section(shaft.outer_diameter, shaft.wall, "driveshaft.wall")
    least = 2 * yoke_length(shaft.joint_swing_diameter) + 10.0
    if length < least:
        raise ValueError(f"driveshaft: {sized(length)} between joint centers leaves no tube between the yokes; at least "
                         f"{sized(least)} is needed, so move the powertrain forward or give smaller joints")
    return Spec(length, shaft.outer_diameter, shaft.wall, shaft.joint_swing_diameter, shaft.phase, *slip_yoke(scene))


def slip_yoke(scene: Scene) -> tuple[tuple[float, float, float], float, float]:
    """Output axis in the shaft's frame, front joint to output seal along it, and the barrel's diameter (``Spec``)."""
    forward = scene.shaft_frame.directions_to_local(scene.engine_frame.axis)
    return (as_point(forward), scene.transmission.joint_from_seal,
            scene.transmission.spline_diameter + BARREL)


def yoke_length(swing: float) -> float:
    """Joint center to the end of the tube."""
    return JOINT_REACH * swing


def tube_length(spec: Spec) -> float:
    """Length of the tube between its weld yokes, mm."""
    return spec.length - 2 * yoke_length(spec.swing)


def tube_volume(spec: Spec) -> float:
    """Material of the tube alone, mm3: closed form."""
    return tube.volume(spec.outer_diameter, spec.wall, tube_length(spec))


def _ears(swing: float, base: float, across: Vector) -> list[Part.Solid]:
    """Two ears of a yoke that stands ahead of the joint at the origin, from ``base`` back to the eyes, eyes along ``across``."""
    radius, thick, half = EAR_RADIUS * swing, EAR_THICKNESS * swing, 0.5 * swing
    outer = math.sqrt(half ** 2 - radius ** 2)            # the corners of the eyes touch the swing diameter
    up = Vector(1, 0, 0).cross(across)
    found = []
    for side in (1.0, -1.0):
        start = across * (side * (outer - thick))
        top, bottom = up * radius, up * -radius
        arc = Part.Arc(start + top, start - Vector(radius, 0, 0), start + bottom).toShape()
        reach = Vector(base, 0, 0)
        edges = [arc, Part.makeLine(start + bottom, start + bottom + reach), Part.makeLine(start + bottom + reach, start + top + reach),
                 Part.makeLine(start + top + reach, start + top)]
        found.append(Part.Face(Part.Wire(edges)).extrude(across * (side * thick)))
    return found


def _cross(swing: float) -> list[Part.Solid]:
    """The joint cross: two crossing trunnions, caps included, to just inside the ears' outer faces."""
    reach = TRUNNION_REACH * swing
    return [Part.makeCylinder(TRUNNION_RADIUS * swing, 2 * reach, Vector(*(-reach * value for value in axis)), Vector(*axis))
            for axis in ((0, 1, 0), (0, 0, 1))]


@lru_cache(maxsize=32)
def _head(swing: float, outer_diameter: float, wall: float) -> Part.Solid:
    """Rear joint and weld yoke at the origin: ears, web and a hollow collar that ends at the tube."""
    base, end = BASE * swing, yoke_length(swing)
    tube_radius = outer_diameter / 2
    flange = FLANGE * swing
    web, skin = base + WEB * swing, max(wall, SKIN * swing)
    collar = _turned([(base, 0.0), (base, flange), (base + 0.08 * swing, flange), (end, tube_radius),
                      (end, tube_radius - skin), (web + 0.02 * swing, flange - 1.2 * skin), (web, 0.6 * flange), (web, 0.0)])
    shape = _cross(swing)[0].fuse(_cross(swing)[1:] + _ears(swing, base + 0.04 * swing, Vector(0, 0, 1)) + [collar])
    return tube.largest(shape)


def _turned(profile: list[tuple[float, float]]) -> Part.Solid:
    """Solid of revolution about the x axis from (x, radius) points."""
    points = [Vector(x, 0, radius) for x, radius in profile]
    return Part.Face(Part.makePolygon(points + points[:1])).revolve(Vector(0, 0, 0), Vector(1, 0, 0), 360)


def slip_yoke_profile(swing: float, barrel: float, seal: float) -> list[tuple[float, float]]:
    """What the slip yoke fills about the output axis: (distance ahead of the joint, radius) of the corners of a profile that never
    widens toward the seal: ears, flange, neck; the barrel goes on from there."""
    base, neck, flange, radius = _slip_yoke_sizes(swing, barrel, seal)
    return [(base + 0.1 * (neck - base), swing / 2), (base + 0.2 * (neck - base), flange), (neck, radius)]


def _slip_yoke_sizes(swing: float, barrel: float, seal: float) -> tuple[float, float, float, float]:
    """Distance of web and neck from the joint; radius of flange and barrel."""
    base, flange = min(BASE * swing, 0.6 * seal), SLIP_FLANGE * swing
    return base, min(base + NECK * swing, 0.5 * (base + seal)), flange, min(barrel / 2, 0.98 * flange)


@lru_cache(maxsize=32)
def _slip_yoke(swing: float, barrel: float, seal: float) -> Part.Solid:
    """Slip yoke ahead of a joint at the origin: ears across, neck, barrel to the seal."""
    base, neck, flange, radius = _slip_yoke_sizes(swing, barrel, seal)
    body = _turned([(base, 0.0), (base, flange), (base + 0.2 * (neck - base), flange), (neck, radius), (seal, radius), (seal, 0.0)])
    return tube.largest(body.fuse(_ears(swing, base + 0.1 * (neck - base), Vector(0, 1, 0))))


@lru_cache(maxsize=32)
def _pieces_volume(swing: float, outer_diameter: float, wall: float, barrel: float, seal: float) -> float:
    """Of both joints with their weld yokes, and of the slip yoke, each for itself, mm3."""
    return 2.0 * float(_head(swing, outer_diameter, wall).Volume) + float(_slip_yoke(swing, barrel, seal).Volume)


def closed_volume(spec: Spec) -> float | None:
    """Volume of what ``build`` makes, mm3: the tube's in closed form, those of the yokes, which are measured once for all lengths, and off
    with what the front joint's cross and the slip yoke have in common: the cross's ends in the ears, cylinders that end square within the
    ear and begin at its inner face. None where more than that may meet."""
    forward, sideways, upward = spec.output
    radius, reach, eye = TRUNNION_RADIUS * spec.swing, TRUNNION_REACH * spec.swing, EAR_RADIUS * spec.swing
    outer = 0.5 * math.sqrt(1.0 - (2.0 * EAR_RADIUS) ** 2) * spec.swing
    # Of the ears' axis, which the joint's angle turns as it does the output axis: to the cross's.
    across = math.cos(spec.phase) * sideways + math.sin(spec.phase) * upward
    cosine = 1.0 - across ** 2 / (1.0 + forward)
    sine = math.sqrt(max(0.0, 1.0 - cosine ** 2))
    base, _neck, flange, _radius = _slip_yoke_sizes(spec.swing, spec.barrel, spec.seal)
    begins = (outer - EAR_THICKNESS * spec.swing) / cosine
    apart = forward > LEAST_FORWARD and base * forward - flange * math.sqrt(1.0 - forward ** 2) > eye
    within = (reach * cosine + radius * sine < outer and begins + radius * sine / cosine < reach and radius + reach * sine < eye)
    if not (apart and within):
        return None
    return (_pieces_volume(spec.swing, spec.outer_diameter, spec.wall, spec.barrel, spec.seal) + tube_volume(spec)
            - 2.0 * math.pi * radius ** 2 * (reach - begins))


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    head = _head(spec.swing, spec.outer_diameter, spec.wall)
    end = yoke_length(spec.swing)
    rear = head.copy()
    front = head.copy()
    front.rotate(Vector(0, 0, 0), Vector(0, 0, 1), 180)
    front.rotate(Vector(0, 0, 0), Vector(1, 0, 0), math.degrees(spec.phase))
    front.translate(Vector(spec.length, 0, 0))
    body = tube.straight(Vector(end, 0, 0), Vector(spec.length - end, 0, 0), spec.outer_diameter, spec.wall)
    slip = _slip_yoke(spec.swing, spec.barrel, spec.seal).copy()
    output = Vector(*spec.output)
    slip.rotate(Vector(0, 0, 0), Vector(1, 0, 0), math.degrees(spec.phase))
    turn = FreeCAD.Rotation(Vector(1, 0, 0), output)
    slip.Placement = FreeCAD.Placement(Vector(spec.length, 0, 0), turn).multiply(slip.Placement)
    return tube.largest(rear.fuse([body, front, slip]))
