"""Firewall: a flat panel square across the car at the firewall line that meets the mid plate. Car frame, mm.

It stands between the uprights from the main rails up and has an opening in which the mid plate stands; the panel covers the
plate's edge by a flange. The plate leans with the crank and the panel does not, so the opening is taken at the plate's smallest
outline along the lean.
"""
from __future__ import annotations

from dataclasses import dataclass

import Part

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from . import outline, plate
from .chassis_tube import UPRIGHT_HEIGHT

VERSION = 1
FLANGE = 0.75 * model.INCH
"""Cover of the panel over the mid plate's edge (common practice, no source)."""
THICKNESS = 0.032 * model.INCH
"""Aluminium sheet (common practice, no source)."""
CORNER = 0.5 * model.INCH


@dataclass(frozen=True)
class Spec:
    """Station of the rear face, thickness, half width, bottom and top; half width and top of the opening at the bottom."""
    x: float
    thickness: float
    half_width: float
    z_low: float
    z_high: float
    opening_y: float
    opening_half_width: float
    opening_top: float


def spec(firewall: model.Firewall, mid: model.MidPlate, scene: Scene, thickness: float = THICKNESS) -> Spec:
    """From records; ValueError where the mid plate leaves no panel."""
    mid, chassis = filled(mid), scene.chassis
    rails, uprights = chassis.rails, chassis.uprights
    if rails.half_spacing is None or rails.height is None:
        raise ValueError("chassis.rails needs half_spacing and height before a firewall can be made; give both")
    if uprights is not None and uprights.half_spacing is not None:
        half = uprights.half_spacing + uprights.section.outer_diameter / 2
    else:
        half = rails.half_spacing + rails.section.outer_diameter / 2
    low, high = rails.height, rails.height + UPRIGHT_HEIGHT
    top_of_plate = scene.engine_point(-scene.stack.total, 0.0, mid.above_crank)
    top = float(top_of_plate[2]) - FLANGE
    high = max(high, float(top_of_plate[2]) + 2 * FLANGE)
    opening = min(mid.half_width, half) - FLANGE
    middle = float(scene.engine_point(-scene.stack.total)[1])
    if opening + abs(middle) > half - 0.25 * FLANGE:
        opening = half - 0.25 * FLANGE - abs(middle)
    if top - low < FLANGE or opening < FLANGE:
        raise ValueError(f"plates.mid.above_crank: the plate's top stands {(top - low) / 25.4:.2f} in over the rails, which leaves no opening "
                         "in the firewall; raise the crank or give a taller mid plate")
    return Spec(firewall.x, thickness, half, low, high, middle, opening, top)


def flat(spec: Spec) -> outline.Flat:
    """The panel's outline (y, z): a portal over the mid plate, corners of the opening rounded."""
    y, half, inner = spec.opening_y, spec.half_width, spec.opening_half_width
    corners = [(-half, spec.z_low), (y - inner, spec.z_low), (y - inner, spec.opening_top), (y + inner, spec.opening_top),
               (y + inner, spec.z_low), (half, spec.z_low), (half, spec.z_high), (-half, spec.z_high)]
    radii = [0.0, 0.0, CORNER, CORNER, 0.0, 0.0, 0.0, 0.0]
    return outline.Flat(outline.rounded(corners, radii))


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return plate.solid(flat(spec), spec.x, spec.thickness)
