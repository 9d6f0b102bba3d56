"""Tunnel: cover over loops and enclosure, a shell with a round top and upright sides down to the floor. Car frame, mm.

Its section has the same radius all along; the top follows the slope of what it covers in a straight line, so the sides are
developable. It reaches from the rearmost loop to the front end of enclosure or loops; a welded loop at its rear end stands
outside, because its legs go up to the upper members.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import FreeCAD
import Part

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from . import enclosure as enclosure_tube
from . import fixed_loop, loop_ring, split_loop

VERSION = 1
Vector = FreeCAD.Vector
LEAST_SIDE = 5.0


@dataclass(frozen=True)
class Spec:
    """Ends along the car; centre of the round top (y, z) at either end; inside radius; thickness; floor height."""
    x_rear: float
    x_front: float
    rear: tuple[float, float]
    front: tuple[float, float]
    radius: float
    thickness: float
    floor: float

    @property
    def length(self) -> float:
        """Along the car."""
        return self.x_front - self.x_rear

    @property
    def sides(self) -> tuple[float, float]:
        """Height of the upright sides at the rear and the front end."""
        return self.rear[1] - self.floor, self.front[1] - self.floor


def spec(tunnel: model.Tunnel, containment: model.Containment, scene: Scene) -> Spec:
    """From records; ValueError where there is nothing to cover."""
    covered = [_covered_loop(filled(loop), scene) for loop in containment.loops]
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
    if x_front - x_rear < 25.4:
        raise ValueError(f"containment.tunnel: only {(x_front - x_rear) / 25.4:.2f} in along the car is left to cover; leave it out, or "
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
    return Spec(float(x_rear), float(x_front), ends[0], ends[1], float(radius), tunnel.thickness, float(floor))


def _center_line(containment: model.Containment, scene: Scene):
    """Point of the line about which the cover is laid, as a function of the station.

    The line of what is covered, not of the shaft: a cover is fixed to the chassis and does not follow the shaft by
    fractions when the placement is adjusted. Without an enclosure or a second loop there is only the shaft to go by.
    """
    if containment.enclosure is not None:
        a, b = enclosure_tube.axis_points(filled(containment.enclosure), scene, tuple(map(filled, containment.loops)))
    elif len(containment.loops) > 1:
        ends = sorted(containment.loops, key=lambda loop: loop.x)
        a, b = scene.loop_center(ends[0]), scene.loop_center(ends[-1])
    else:
        return scene.shaft_at
    return lambda x: a + (b - a) * ((x - a[0]) / (b[0] - a[0]))


def _covered_loop(loop: model.Loop, scene: Scene) -> tuple[float, float, float, float, float]:
    """X, y of the centre, height of the top, half width with feet, half length along the car of a loop."""
    center = scene.loop_center(loop)
    ring = loop_ring.ring_of(loop)
    half = ring.inner_width / 2 + ring.depth
    if loop.kind == "split":
        made = split_loop.spec(loop, scene)
        half = max([half] + [abs(leg.at(leg.rho_end).y) + split_loop.boss_radius(ring) for leg in split_loop.feet(made)])
    else:
        lower = [leg for leg in fixed_loop.legs(fixed_loop.spec(loop, scene)) if leg.direction[1] < 0]
        half = max([half] + [abs(leg.at(leg.rho_end).y) + ring.depth / 2 for leg in lower])
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
    """One solid."""
    sections = [_section(spec, spec.x_rear, spec.rear), _section(spec, spec.x_front, spec.front)]
    return Part.makeLoft(sections, True, True).Solids[0]


def section_area(spec: Spec) -> float:
    """Mean area of the section across the car, mm2: closed form, times ``length`` the volume."""
    return spec.thickness * (math.pi * (spec.radius + spec.thickness / 2) + sum(spec.sides))


def developed_area(spec: Spec) -> float:
    """Area of the sheet at mid thickness, mm2: the girth at the two ends over the sloping length (the slope is below 3 deg)."""
    girth = math.pi * (spec.radius + spec.thickness / 2) + sum(spec.sides)
    return girth * math.dist((spec.x_rear, *spec.rear), (spec.x_front, *spec.front))


def panel_line(spec: Spec) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Ends of the line on the left side at which the removable top parts from the sides: where the round top begins."""
    outer = spec.radius + spec.thickness
    return ((spec.x_rear, spec.rear[0] + outer, spec.rear[1]), (spec.x_front, spec.front[0] + outer, spec.front[1]))
