"""Firewall: the panel that fits to the mid plate. It lies on the plate's front face, square to the crank like the plate, and
closes the way from the plate out to the uprights. Engine frame, mm.

It starts above the rail tabs and goes around the block as a portal, so that block and protector come out through it. The
firewall line of the chassis says where the car's own firewall is; ``gap`` says how far the panel stands from it.
"""
from __future__ import annotations

from dataclasses import dataclass

import Part

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from . import engine_envelope, outline, plate, rail_tab

VERSION = 1
FLANGE = 0.75 * model.INCH
"""Cover of the panel over the mid plate's upper edge (common practice, no source)."""
THICKNESS = 0.032 * model.INCH
"""Aluminium sheet (common practice, no source)."""
CORNER = 0.5 * model.INCH
CLEARANCE = 0.25 * model.INCH
"""To block, protector and rail tabs (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Rear face, thickness, left and right end, bottom and top of the panel; half width and top of the opening."""
    x: float
    thickness: float
    left: float
    right: float
    z_low: float
    z_high: float
    opening_half_width: float
    opening_top: float


def spec(mid: model.MidPlate, tabs: model.RailTabs, scene: Scene, thickness: float = THICKNESS) -> Spec:
    """From records; ValueError where block and rails leave no panel."""
    mid, chassis, engine = filled(mid), scene.chassis, scene.engine
    rails, uprights = chassis.rails, chassis.uprights
    if rails.half_spacing is None or rails.height is None:
        raise ValueError("chassis.rails needs half_spacing and height before a firewall can be made; give both")
    beside = uprights if uprights is not None and uprights.half_spacing is not None else rails
    half = beside.half_spacing + beside.section.outer_diameter / 2
    middle = float(scene.engine_frame.to_local(scene.engine_point(0.0) * (1.0, 0.0, 1.0))[1])
    low = CLEARANCE + max(rail_tab.spec(filled(tabs), scene.stack.mid_plate, -scene.stack.total, scene, side, face).z_top
                          for side in ("left", "right") for face in ("front", "rear"))
    block = engine_envelope.block_section(engine)
    holes = [(abs(y) + d, z + d) for y, z, d in engine.rear_holes]
    inner = max([abs(y) for y, _ in block] + [y for y, _ in holes]) + CLEARANCE
    top = max([z for _, z in block] + [z for _, z in holes]) + CLEARANCE
    high = max(mid.above_crank, top) + FLANGE
    if half - abs(middle) - inner < FLANGE or top - low < FLANGE:
        raise ValueError(f"chassis.firewall: between the block, {inner / 25.4:.2f} in to either side, and the uprights at {half / 25.4:.2f} "
                         "in no panel is left; set the uprights further out, or leave out the firewall")
    return Spec(-scene.stack.protector, thickness, middle + half, middle - half, low, high, inner, top)


def flat(spec: Spec) -> outline.Flat:
    """The panel's outline (y, z): a portal over the block, corners of the opening rounded."""
    inner = spec.opening_half_width
    corners = [(spec.right, spec.z_low), (-inner, spec.z_low), (-inner, spec.opening_top), (inner, spec.opening_top),
               (inner, spec.z_low), (spec.left, spec.z_low), (spec.left, spec.z_high), (spec.right, spec.z_high)]
    radii = [0.0, 0.0, CORNER, CORNER, 0.0, 0.0, 0.0, 0.0]
    return outline.Flat(outline.rounded(corners, radii))


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return plate.solid(flat(spec), spec.x, spec.thickness)


def gap(line: model.Firewall, scene: Scene) -> float:
    """How far, along the car and at crank height, the front face of the mid plate stands ahead of the firewall line."""
    return float(scene.engine_point(-scene.stack.protector)[0]) - line.x
