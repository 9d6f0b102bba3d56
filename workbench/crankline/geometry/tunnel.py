"""Tunnel: cover over loops and enclosure, a shell with a round top and upright sides down to the floor. Car frame, mm.

Its section has the same radius all along; the top follows the slope of what it covers in a straight line, so the sides are
developable. It reaches from the rearmost loop to the front end of enclosure or loops; a welded loop at its rear end stands
outside, because its legs go up to the upper members. Where the legs of another welded loop go up through it, it is slotted from
the leg out to the line at which the removable top parts from the sides, so that the top lifts off past them; where the rear
cross member runs through its sides, they are notched from the floor up.
"""
from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import enclosure as enclosure_tube
from . import fixed_loop, loop_ring, piece, split_loop, tunnel_flat
from .tunnel_flat import Notch, Slot, Spec

VERSION = 2
Vector: TypeAlias = FreeCAD.Vector
LEAST_SIDE = 5.0
"""Least height of the upright sides, mm (common practice, no source)."""
SLOT_ROOM = 0.25 * INCH
"""Room around what goes through the cover (common practice, no source)."""
LEAST_STRIP = 0.25 * INCH
"""A strip of sheet narrower than this between an opening and an end of the cover is left out (common practice, no source)."""


def spec(tunnel: model.Tunnel, containment: model.Containment, scene: Scene, tubes: tuple[model.Tube, ...] = ()) -> Spec:
    """From records, ``tubes`` those that the loops stand on; ValueError where there is nothing to cover."""
    covered = [_covered_loop(filled(loop), scene, tubes) for loop in containment.loops]
    enclosure = containment.enclosure
    if not covered and enclosure is None:
        raise ValueError("containment.tunnel: there is no loop and no enclosure to cover; give one, or leave out the tunnel")
    along = _center_line(containment, scene)
    clearance, rails = tunnel.clearance, scene.chassis.rails
    floor = (rails.height or 0.0) + rails.section.outer_diameter / 2
    rear = [x - half - clearance for x, *_, half in covered]
    front = [x + half + clearance for x, *_, half in covered]
    items = [(x + end, y, z, wide) for x, y, z, wide, half in covered for end in (-half, half)]
    if enclosure is not None:
        for x in (enclosure.x_rear, enclosure.x_front):
            _, y, z = along(x)
            items.append((x, float(y), float(z) + enclosure.outer_diameter / 2, enclosure.outer_diameter / 2))
        rear.append(enclosure.x_rear)
        front.append(enclosure.x_front)
    x_rear, x_front = min(rear), max(front)
    last = min(range(len(covered)), key=lambda i: covered[i][0], default=None)
    if last is not None and containment.loops[last].kind == "fixed":
        x_rear = max(x_rear, covered[last][0] + covered[last][4] + clearance)
    if x_front - x_rear < INCH:
        raise ValueError(f"containment.tunnel: only {sized((x_front - x_rear), 2)} along the car is left to cover; leave it out, or "
                         "move the loops apart")
    items = [item for item in items if x_rear - 1.0 <= item[0] <= x_front + 1.0] or items
    low, high = along(x_rear), along(x_front)
    slope_y, slope_z = ((high[i] - low[i]) / (x_front - x_rear) for i in (1, 2))
    # Square to the sloping top the clearance is smaller than straight up.
    top = max(z - slope_z * (x - x_rear) for x, _, z, _ in items) + clearance * math.hypot(1.0, slope_z)
    radius = max(half + abs(y - low[1] - slope_y * (x - x_rear)) for x, y, _, half in items) + clearance * math.hypot(1.0, slope_y)
    ends = []
    for x, point in ((x_rear, low), (x_front, high)):
        crown = top + slope_z * (x - x_rear)
        ends.append((float(point[1]), float(max(crown - radius, floor + LEAST_SIDE))))
    whole = Spec(float(x_rear), float(x_front), ends[0], ends[1], float(radius), tunnel.thickness, float(floor))
    slots = [slot for loop in containment.loops if loop.kind == "fixed" for slot in _slots(whole, filled(loop), scene, tubes)]
    return replace(whole, slots=tuple(sorted(slots, key=lambda slot: (slot.x_rear, slot.side))), notches=_notches(whole, scene))


def _stretch(whole: Spec, x: float, half: float) -> tuple[float, float] | None:
    """Ends of an opening about a station, None where it lies outside; narrow strips beside it are taken along."""
    low, high = x - half, x + half
    if high <= whole.x_rear or low >= whole.x_front:
        return None
    # Through an end it is cut clear, with nothing in one plane.
    return (low if low > whole.x_rear + LEAST_STRIP else whole.x_rear - 5.0,
            high if high < whole.x_front - LEAST_STRIP else whole.x_front + 5.0)


def _slots(whole: Spec, loop: model.Loop, scene: Scene, tubes: tuple[model.Tube, ...]) -> list[Slot]:
    """Openings for the legs of a welded loop that go up through the cover."""
    made = fixed_loop.spec(loop, scene, tubes)
    ring, center = made.ring, scene.loop_center(loop)
    ends = _stretch(whole, loop.x, ring.width / 2 + SLOT_ROOM)
    if ends is None:
        return []
    y0, z0 = whole.center(loop.x)
    around = (loop_ring.leg_section(ring)[0] if ring.form == "tube" else ring.depth) / 2 + SLOT_ROOM
    outer = whole.radius + whole.thickness
    found = []
    for leg in fixed_loop.legs(made):
        if leg.direction[1] < 0.0:
            continue
        end = leg.at(leg.rho_end)
        if not _beyond(center[1] + end.y - y0, center[2] + end.z - z0, whole.radius):
            continue
        side = 1 if leg.direction[0] > 0.0 else -1
        # The leg's inner edge, a line in the loop's plane, and where it goes through the inside of the sheet.
        along, across = leg.direction, (-side * leg.direction[1], side * leg.direction[0])
        base = tuple(c + b + around * a for c, b, a in zip(center[1:], leg.bend_center, across))
        inner = side * _crossing((base[0] - y0, base[1] - z0), along, whole.radius)[0]
        base = tuple(c + b - around * a for c, b, a in zip(center[1:], leg.bend_center, across))
        lowest = z0 + _crossing((base[0] - y0, base[1] - z0), along, whole.radius)[1]
        panel = min(whole.center(min(max(x, whole.x_rear), whole.x_front))[1] for x in ends)
        found.append(Slot(float(ends[0]), float(ends[1]), side, float(side * y0 + inner), float(min(panel, lowest) - 0.1),
                          float(z0 + outer + 25.0)))
    return found


def _beyond(y: float, z: float, radius: float) -> bool:
    """Whether a point of a section, from the center of the round top, lies outside the cover."""
    return math.hypot(y, z) > radius if z > 0.0 else abs(y) > radius


def _crossing(base: tuple[float, float], along: tuple[float, float], radius: float) -> tuple[float, float]:
    """Where a line from within leaves the section: the round top, or a side below it."""
    b = base[0] * along[0] + base[1] * along[1]
    root = b * b - (base[0] ** 2 + base[1] ** 2 - radius ** 2)
    if root > 0.0:
        step = -b + math.sqrt(root)
        if base[1] + step * along[1] >= 0.0:
            return base[0] + step * along[0], base[1] + step * along[1]
    if abs(along[0]) < 1e-9:
        return base
    step = (math.copysign(radius, along[0]) - base[0]) / along[0]
    return base[0] + step * along[0], base[1] + step * along[1]


def _notches(whole: Spec, scene: Scene) -> tuple[Notch, ...]:
    """Openings where the rear cross member runs through the sides."""
    member = scene.chassis.rear_cross_member
    if member is None or member.x is None or member.z is None:
        return ()
    half = member.section.outer_diameter / 2 + SLOT_ROOM
    ends = _stretch(whole, member.x, half)
    if ends is None or member.z + half <= whole.floor:
        return ()
    return (Notch(float(ends[0]), float(ends[1]), float(member.z + half)),)


def _center_line(containment: model.Containment, scene: Scene):
    """Point of the line about which the cover is laid, as a function of the station.

    The line of what is covered, not of the shaft: a cover is fixed to the chassis and does not follow the shaft by
    fractions when the placement is adjusted. Without an enclosure or a second loop there is only the shaft to go by.
    """
    if containment.enclosure is not None:
        a, b = enclosure_tube.axis_points(filled(containment.enclosure), scene, tuple(map(filled, containment.loops)))
    elif len(containment.loops) > 1:
        ends = sorted(containment.loops, key=lambda loop: loop.x)
        if ends[-1].x - ends[0].x < 1.0:
            return scene.shaft_at     # side by side they give no direction
        a, b = scene.loop_center(ends[0]), scene.loop_center(ends[-1])
    else:
        return scene.shaft_at
    return lambda x: a + (b - a) * ((x - a[0]) / (b[0] - a[0]))


def _covered_loop(loop: model.Loop, scene: Scene, tubes: tuple[model.Tube, ...]) -> tuple[float, float, float, float, float]:
    """X, y of the center, height of the top, half width with feet, half length along the car of a loop."""
    center = scene.loop_center(loop)
    ring = loop_ring.ring_of(loop)
    half = ring.inner_width / 2 + ring.depth
    if loop.kind == "split":
        made = split_loop.spec(loop, scene, tubes)
        half = max([half] + [abs(leg.place(leg.rho_end)[1]) + split_loop.boss_radius(ring) for leg in split_loop.feet(made)])
    else:
        lower = [leg for leg in fixed_loop.legs(fixed_loop.spec(loop, scene, tubes)) if leg.direction[1] < 0]
        half = max([half] + [abs(leg.place(leg.rho_end)[1]) + ring.depth / 2 for leg in lower])
    return loop.x, float(center[1]), float(center[2]) + ring.inner_height / 2 + ring.depth, half, ring.width / 2


def _section(spec: Spec, x: float, center: tuple[float, float]) -> Part.Wire:
    """The section at a station: outside up and over, inside back."""
    y, z = center
    outer = spec.radius + spec.thickness

    def at(dy: float, dz: float) -> Vector:
        return Vector(x, y + dy, z + dz)

    down = spec.floor - z
    return Part.Wire([
        Part.makeLine(at(outer, down), at(outer, 0)),
        Part.Arc(at(outer, 0), at(0, outer), at(-outer, 0)).toShape(),
        Part.makeLine(at(-outer, 0), at(-outer, down)),
        Part.makeLine(at(-outer, down), at(-spec.radius, down)),
        Part.makeLine(at(-spec.radius, down), at(-spec.radius, 0)),
        Part.Arc(at(-spec.radius, 0), at(0, spec.radius), at(spec.radius, 0)).toShape(),
        Part.makeLine(at(spec.radius, 0), at(spec.radius, down)),
        Part.makeLine(at(spec.radius, down), at(outer, down))])


def build(spec: Spec) -> Part.Solid:
    """One solid: ruled from end to end. With openings it is drawn along its slope and cut, floor and openings at once: the host cuts
    such faces in a third of the time."""
    if not (spec.slots or spec.notches):
        return Part.makeLoft([_section(spec, spec.x_rear, spec.rear), _section(spec, spec.x_front, spec.front)], True, True).Solids[0]
    deep = abs(spec.front[1] - spec.rear[1]) + 25.0
    slope = Vector(spec.length, spec.front[0] - spec.rear[0], spec.front[1] - spec.rear[1])
    made = Part.Face(_section(replace(spec, floor=spec.floor - deep), spec.x_rear, spec.rear)).extrude(slope)
    wide = 2.0 * (spec.radius + spec.thickness) + max(abs(spec.rear[0]), abs(spec.front[0])) + 25.0
    blocks = [Part.makeBox(spec.length + 50.0, 2 * wide, 3 * deep, Vector(spec.x_rear - 25.0, -wide, spec.floor - 3 * deep))]
    blocks += [Part.makeBox(slot.x_front - slot.x_rear, wide, slot.high - slot.low,
                            Vector(slot.x_rear, slot.inner if slot.side > 0 else -slot.inner - wide, slot.low)) for slot in spec.slots]
    blocks += [Part.makeBox(notch.x_front - notch.x_rear, 2 * wide, notch.top - spec.floor + deep,
                            Vector(notch.x_rear, -wide, spec.floor - deep))
               for notch in spec.notches]
    left = made.cut(blocks).Solids
    if not left:
        raise ValueError(tunnel_flat.NOTHING_LEFT)
    return max(left, key=lambda solid: solid.Volume)


def closed_volume(spec: Spec) -> float | None:
    """Volume of what ``build`` makes, mm3: its section, which is a half ring on two walls, over its length. None of one with openings."""
    if spec.slots or spec.notches:
        return None
    ring = math.pi / 2.0 * ((spec.radius + spec.thickness) ** 2 - spec.radius ** 2)
    return spec.length * (ring + spec.thickness * (spec.rear[1] + spec.front[1] - 2.0 * spec.floor))


@lru_cache(maxsize=32)
def developed_area(spec: Spec) -> float:
    """Area of the sheet at mid thickness, mm2, openings taken off."""
    return tunnel_flat.flat(spec).area


def panel_line(spec: Spec) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Ends of the line on the left side at which the removable top parts from the sides: where the round top begins."""
    outer = spec.radius + spec.thickness
    return ((spec.x_rear, spec.rear[0] + outer, spec.rear[1]), (spec.x_front, spec.front[0] + outer, spec.front[1]))


def panel_runs(spec: Spec, side: int) -> tuple[float, ...]:
    """Lengths of the stretches of the panel line on one side (1 left, -1 right) that openings leave, from the rear, mm."""
    x0, x1 = spec.x_rear, spec.x_front
    cuts = [(slot.x_rear, slot.x_front) for slot in spec.slots if slot.side == side]
    cuts += [(notch.x_rear, notch.x_front) for notch in spec.notches
             if notch.top > min(spec.center(min(max(x, x0), x1))[1] for x in (notch.x_rear, notch.x_front))]
    runs, reached = [], x0
    for low, high in [*sorted(cuts), (x1, x1)]:
        if low > reached:
            runs.append((min(low, x1) - reached) * panel_line_length(spec) / spec.length)
        reached = max(reached, high)
    return tuple(runs)


def panel_line_length(spec: Spec) -> float:
    """Length of the panel line on one side from end to end, mm, openings not taken off; both sides are alike."""
    return math.dist(*panel_line(spec))


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The shell laid flat; its roll begins and ends at the etched lines."""
    flat = tunnel_flat.flat(spec).checked("containment.tunnel")
    note = (f"roll between the etched lines to {sized(spec.radius)} inside radius; there the removable top parts from the sides, no lap "
            "for its screws included; laid out at mid thickness")
    return (piece.Sheet("shell", flat, spec.thickness, bends=tunnel_flat.panel_lines(spec), note=note, bend_radius=spec.radius),)
