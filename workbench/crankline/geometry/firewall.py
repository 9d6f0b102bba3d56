"""Firewall: the panel that fits to the mid plate. It lies on the plate's front face, square to the crank like the plate, and
closes the way from the plate out to the uprights. Engine frame, mm.

It starts above the rail tabs and goes around the block as a portal, so that block and protector come out through it. Where a second
rail runs through it, it is cut from its end in around that rail and the tabs on it; where that leaves no strip beside the block, it
starts above the second rail's tabs. The firewall line of the chassis says where the car's own firewall is; ``gap`` says how far the
panel stands from it.
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from ..host import Part
from ..mechanics.scene import Scene
from ..record import filled, later
from ..units import INCH, sized
from . import engine_envelope, outline, piece, plate, rail_clamp, rail_tab

VERSION = 1
FLANGE = 0.75 * INCH
"""Cover of the panel over the mid plate's upper edge (common practice, no source)."""
THICKNESS = 0.032 * INCH
"""Aluminium sheet (common practice, no source)."""
CORNER = 0.5 * INCH
"""Radius of the corners of its openings (common practice, no source)."""
CLEARANCE = 0.25 * INCH
"""To block, protector, rails and rail tabs (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Rear face, thickness, left and right end, bottom and top of the panel; half width and top of the opening. ``cuts``: (y of the inner
    end, bottom, top) of what is cut from the left and the right end in around a second rail."""
    x: float
    thickness: float
    left: float
    right: float
    z_low: float
    z_high: float
    opening_half_width: float
    opening_top: float
    cuts: tuple[tuple[float, float, float], ...] = later(())


def spec(mid: model.MidPlate, tabs: model.RailTabs, scene: Scene, thickness: float = THICKNESS) -> Spec:
    """From records; ValueError where block and rails leave no panel."""
    mid, tabs, chassis, engine = filled(mid), filled(tabs), scene.chassis, scene.engine
    rails, uprights = chassis.rails, chassis.uprights
    if rails.half_spacing is None or rails.height is None:
        raise ValueError("chassis.rails needs half_spacing and height before a firewall can be made; give both")
    beside = uprights if uprights is not None and uprights.half_spacing is not None else rails
    half = beside.half_spacing + beside.section.outer_diameter / 2
    middle = float(scene.engine_frame.to_local(scene.engine_point(0.0) * (1.0, 0.0, 1.0))[1])
    low = CLEARANCE + max(item.z_top for side in rail_clamp.SIDES for item in _tabs(tabs, scene, side, "lower"))
    block = engine_envelope.block_section(engine)
    holes = [(abs(y) + d, z + d) for y, z, d in engine.rear_holes]
    inner = max([abs(y) for y, _ in block] + [y for y, _ in holes]) + CLEARANCE
    top = max([z for _, z in block] + [z for _, z in holes]) + CLEARANCE
    high = max(mid.above_crank, top) + FLANGE
    if half - abs(middle) - inner < FLANGE or top - low < FLANGE:
        raise ValueError(f"chassis.firewall: between the block, {sized(inner, 2)} to either side, and the uprights at "
                         f"{sized(half, 2)} no panel is left; set the uprights farther out, or leave out the firewall")
    cuts = []
    if filled(rails).kind == "double" and rails.upper_height is not None:
        cuts = [_cut(mid, tabs, scene, side, thickness) for side in rail_clamp.SIDES]
        if any(abs(y) - (inner if z < top + FLANGE else 0.0) < FLANGE and low < above for y, z, above in cuts):
            low = max(above for _y, _z, above in cuts)
            low = low if low < top - CORNER else max(low, top)      # no stubs beside the block shorter than its opening's corners
            if high - low < FLANGE:
                raise ValueError(f"chassis.firewall: the second rails and their tabs leave no panel beside the block and above themselves, "
                                 f"at {sized(low, 2)} above the crank; set the rails farther out, or leave out the firewall")
    ends = {1.0: middle + half, -1.0: middle - half}
    kept = tuple(cut for cut, sign in zip(cuts, ends) if sign * cut[0] < sign * ends[sign] and low < cut[2] and cut[1] < high)
    return Spec(-scene.stack.protector, thickness, ends[1.0], ends[-1.0], low, high, inner, top, kept)


def _tabs(tabs: model.RailTabs, scene: Scene, side: str, level: str) -> list[rail_tab.Spec]:
    """Both tabs that clamp the mid plate on one rail."""
    return [rail_tab.spec(tabs, scene.stack.mid_plate, -scene.stack.total, scene, side, face, level) for face in rail_tab.FACES]


def _cut(mid: model.MidPlate, tabs: model.RailTabs, scene: Scene, side: str, thickness: float) -> tuple[float, float, float]:
    """(y of the inner end, bottom, top) of what clears the second rail of one side and, where the mid plate is clamped on it, its tabs."""
    sign, rail = rail_clamp.SIDES[side], rail_clamp.rail_line(scene, side, "upper")
    x = -scene.stack.protector, thickness - scene.stack.protector
    inner = min(sign * y for y in rail.sides(*x))
    bottom, top = min(rail.at(at)[1] for at in x) - rail.half_height, rail.top(*x)
    if mid.kind == "double_rail":
        for item in _tabs(tabs, scene, side, "upper"):
            inner, top = min(inner, sign * item.y - item.width / 2.0), max(top, item.z_top)
    return sign * (inner - CLEARANCE), bottom - CLEARANCE, top + CLEARANCE


def flat(spec: Spec) -> outline.Flat:
    """The panel's outline (y, z): a portal over the block, corners of the opening rounded."""
    inner, top, corners = spec.opening_half_width, spec.opening_top, []
    if spec.z_low < top:
        corners = [(-inner, spec.z_low, 0.0), (-inner, top, CORNER), (inner, top, CORNER), (inner, spec.z_low, 0.0)]
    right = [(-y, z, r) for y, z, r in _end(spec, -1.0, -spec.right)]
    corners = corners + _end(spec, 1.0, spec.left) + right[::-1]
    outer = outline.rounded([(y, z) for y, z, _ in corners], [r for _, _, r in corners], shrink=True)
    return outline.Flat(outer).checked("chassis.firewall")


def _end(spec: Spec, sign: float, end: float) -> list[tuple[float, float, float]]:
    """Corners (outward, z, radius) of one end of the panel from the bottom up. What would be left of it below or above a cut and be
    narrower than the flange over the plate is cut off too."""
    own = [cut for cut in spec.cuts if sign * cut[0] > 0.0]
    if not own:
        return [(end, spec.z_low, 0.0), (end, spec.z_high, 0.0)]
    (y, low, high), = own
    # Rounded by the clearance, a corner of the cut keeps it to a corner inside.
    y, r = sign * y, CLEARANCE
    below = [(end, spec.z_low, 0.0), (end, low, 0.0), (y, low, r)] if low - spec.z_low > FLANGE else [(y, spec.z_low, 0.0)]
    above = [(y, high, r), (end, high, 0.0), (end, spec.z_high, 0.0)] if spec.z_high - high > FLANGE else [(y, spec.z_high, 0.0)]
    return below + above


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return plate.solid(flat(spec), spec.x, spec.thickness)


def gap(line: model.Firewall, scene: Scene) -> float:
    """How far, along the car and at crank height, the front face of the mid plate stands ahead of the firewall line."""
    return float(scene.engine_point(-scene.stack.protector)[0]) - line.x


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One panel."""
    return (piece.Sheet("panel", flat(spec), spec.thickness),)
