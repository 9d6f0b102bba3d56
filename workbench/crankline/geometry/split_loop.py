"""Split loop: two halves joined at mid height by a quick-release pin on each side, its feet pinned on floor tubes.

A tube ring is joined by slugs: a slug is welded into the upper half and stands in the lower half, where the pin goes
through tube and slug (double shear). A strap ring is joined by lugs on its outside with the pin through both. Frame:
the loop's (``loop_ring``). Joint, pin and foot sizes are common practice, no source.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled, later
from ..units import sized
from . import frame_tube, loop_ring, piece, tube
from .loop_ring import PIN, Leg, Ring

VERSION = 2
Vector: TypeAlias = FreeCAD.Vector

FOOT_ANGLE = math.radians(40.0)
"""Feet off straight down (common practice, no source)."""
LEAST_SPREAD, MOST_SPREAD = math.radians(10.0), math.radians(70.0)
"""Between these angles off straight down a leg goes to a tube that passes under the loop (common practice, no source)."""
KERF = 0.5
"""Gap between the halves, mm: what a saw takes (common practice, no source)."""
SLUG = 1.25
"""Half length of a slug over the section's greater side (common practice, no source)."""
BOSS = 0.6
"""Radius of a foot's boss over the section's depth, as large as a pin at least (common practice, no source)."""
LUG_PIN, LUG_HALF, LUG_DEPTH = 1.25, 2.0, 2.5
"""Lugs of a strap in pin diameters: pin off the strap, half height, depth (common practice, no source)."""
SIDES = (1.0, -1.0)


@dataclass(frozen=True)
class Spec:
    """Ring, height of the floor tubes' tops from the loop's center, and the pins that are there. ``stand``: (y, z) of the centers of the
    left and the right foot from the loop's center, where a tube of the chassis is there to stand on; empty where there is none."""
    ring: Ring
    floor: float
    pins_split: int
    pins_feet: int
    stand: tuple[tuple[float, float] | None, ...] = later(())


def spec(loop: model.Loop, scene: Scene, tubes: tuple[model.Tube, ...] = ()) -> Spec:
    """From a record: each foot stands on the further tube of the chassis that passes under it; where none does, it ends at the height of
    the main rails. Absent pin counts are one a side."""
    loop = filled(loop)
    rails = scene.chassis.rails
    top = (rails.height or 0.0) + rails.section.outer_diameter / 2
    ring, center = loop_ring.ring_of(loop), scene.loop_center(loop)
    stand = tuple(_stand(ring, center, side, tubes) for side in SIDES)
    return Spec(ring, top - float(center[2]), 2 if loop.pins_split is None else loop.pins_split,
                2 if loop.pins_feet is None else loop.pins_feet, stand if any(stand) else ())


def _stand(ring: Ring, center, side: float, tubes: tuple[model.Tube, ...]) -> tuple[float, float] | None:
    """Center of the foot of a side on the tube that is nearest under the ring there; None where there is none in reach."""
    best: tuple[float, tuple[float, float]] | None = None
    for y, z, leg in frame_tube.at_station(tubes, float(center[0])):
        # The boss is turned about the car's axis and rests on the top of the tube, which may lean a little.
        lean = math.hypot(*leg.along()[:2])
        at = (y - float(center[1]), z - float(center[2]) + (leg.diameter / 2 + boss_radius(ring)) / lean)
        away = (at[0] - side * ring.offset_y, at[1] + ring.offset_z)
        angle, rho = math.atan2(side * away[0], -away[1]), math.hypot(*away)
        if LEAST_SPREAD < angle < MOST_SPREAD and shortest(ring) <= rho <= farthest(ring) and (best is None or rho < best[0]):
            best = rho, at
    return None if best is None else best[1]


def shortest(ring: Ring) -> float:
    """Least distance of a foot's center from its bend's center."""
    return ring.bend + ring.depth / 2 + 1.1 * boss_radius(ring)


def farthest(ring: Ring) -> float:
    """Largest distance: a longer leg is another part of the car."""
    return shortest(ring) + 3.0 * (ring.inner_width + ring.inner_height)


def slug_half(ring: Ring) -> float:
    """Half length of a slug along the ring, mm."""
    return SLUG * max(ring.depth, ring.width) if ring.form == "tube" else 0.0


def boss_radius(ring: Ring) -> float:
    """Radius of the boss at a foot."""
    return max(PIN, BOSS * (loop_ring.leg_section(ring)[0] if ring.form == "tube" else ring.depth))


def feet(spec: Spec) -> tuple[Leg, ...]:
    """The two feet, left and right; each ends in the center of its boss."""
    ring = spec.ring
    depth = loop_ring.leg_section(ring)[0] if ring.form == "tube" else ring.depth
    angle = loop_ring.leg_angle(ring, FOOT_ANGLE, depth)
    least = shortest(ring)
    fall = -(spec.floor + boss_radius(ring)) - ring.offset_z
    rho = max(least, fall / math.cos(angle)) if math.cos(angle) > 0.05 else least
    rho = min(rho, farthest(ring))
    found = []
    for side, stand in zip(SIDES, spec.stand or (None, None)):
        center = (side * ring.offset_y, -ring.offset_z)
        if stand is None:
            found.append(Leg(center, (side * math.sin(angle), -math.cos(angle)), ring.bend, rho))
            continue
        away = (stand[0] - center[0], stand[1] - center[1])
        reach = math.hypot(*away)
        found.append(Leg(center, (away[0] / reach, away[1] / reach), ring.bend, reach))
    return tuple(found)


def split_pins(spec: Spec) -> tuple[tuple[Vector, bool], ...]:
    """Place on the x axis' plane of every pin hole at the split, left side first, and whether its pin is there."""
    ring = spec.ring
    per_side = 2 if spec.pins_split > 2 else 1
    side_y = ring.bend + ring.offset_y
    if ring.form == "strap":
        seats = [Vector(0, side * (side_y + ring.depth / 2 + LUG_PIN * PIN), 0) for side in SIDES]
        return tuple((seat, index < spec.pins_split) for index, seat in enumerate(seats))
    half = slug_half(ring) / 2
    seats = []
    for step in range(per_side):
        # The first pin stands below the split, where the slug is free; the second one secures the welded end.
        distance = -half if step == 0 else half
        seats += [_on_side(ring, side, distance) for side in SIDES]
    return tuple((seat, index < spec.pins_split) for index, seat in enumerate(seats))


def foot_pins(spec: Spec) -> tuple[tuple[Vector, bool], ...]:
    """The same for the feet."""
    return tuple((leg.at(leg.rho_end), index < spec.pins_feet) for index, leg in enumerate(feet(spec)))


def _on_side(ring: Ring, side: float, distance: float) -> Vector:
    """Point of the center line a distance above mid height, measured along the ring."""
    rest = abs(distance) - ring.offset_z
    if rest <= 0.0:
        return Vector(0, side * (ring.bend + ring.offset_y), distance)
    angle = rest / ring.bend
    return Vector(0, side * (ring.offset_y + ring.bend * math.cos(angle)),
                  math.copysign(ring.offset_z + ring.bend * math.sin(angle), distance))


def _pin(seat: Vector, half: float) -> Part.Solid:
    """A pin along the car, standing out of what it holds by half its diameter at both ends."""
    return Part.makeCylinder(PIN / 2, 2 * half + PIN, seat - Vector(half + PIN / 2, 0, 0), Vector(1, 0, 0))


def _hole(seat: Vector, half: float) -> Part.Solid:
    return Part.makeCylinder(PIN / 2, 4 * half, seat - Vector(2 * half, 0, 0), Vector(1, 0, 0))


def _boss(seat: Vector, half: float, radius: float, pinned: bool) -> Part.Solid:
    """Boss of a foot, with its pin as one turned solid where it has one."""
    ends = [(-half, radius), (half, radius)]
    if pinned:
        end = half + PIN / 2
        ends = [(-end, PIN / 2), (-half, PIN / 2), *ends, (half, PIN / 2), (end, PIN / 2)]
    points = [seat + Vector(x, 0, r) for x, r in [(ends[0][0], 0.0), *ends, (ends[-1][0], 0.0)]]
    return Part.Face(Part.makePolygon(points + points[:1])).revolve(seat, Vector(1, 0, 0), 360)


def _halves(ring: Ring) -> tuple[Part.Solid, list[Part.Solid]]:
    """The two halves of a tube ring, filled, with the slugs showing in the kerf between them, as one solid; and the bores between the
    slugs. The ends of halves and slugs lie in the same planes: their faces are sewn together, which costs a tenth of a boolean."""
    halves = [loop_ring.swept(loop_ring.half_path(ring, upper, KERF / 2), ring.depth / 2) for upper in (True, False)]
    slugs = [loop_ring.swept(loop_ring.side_path(ring, side, KERF / 2), ring.bore_radius) for side in SIDES]
    faces: list[Part.Face] = []
    rims: list[Part.Wire] = []
    for slug in slugs:
        faces += _without_ends(slug)
        rims += [face.OuterWire for face in _ends_of(slug)]
    for half in halves:
        faces += _without_ends(half)
        for end in _ends_of(half):
            away = [(rim.CenterOfMass - end.CenterOfMass).Length for rim in rims]
            faces.append(Part.makeFace([end.OuterWire, rims[away.index(min(away))]], "Part::FaceMakerBullseye"))
    shell = Part.makeShell(faces)
    shell.sewShape()
    bores = [loop_ring.swept(loop_ring.half_path(ring, upper, slug_half(ring)), ring.bore_radius) for upper in (True, False)]
    return Part.makeSolid(shell), bores


def _ends_of(bar: Part.Solid) -> list[Part.Face]:
    """The flat ends of a swept bar."""
    return [face for face in bar.Faces if isinstance(face.Surface, Part.Plane)]


def _without_ends(bar: Part.Solid) -> list[Part.Face]:
    return [face for face in bar.Faces if not isinstance(face.Surface, Part.Plane)]


def build(spec: Spec) -> Part.Solid:
    """One solid: both halves with slugs or lugs, feet, and the pins that are there; a missing pin leaves an open hole."""
    ring = spec.ring
    half_width, radius = ring.width / 2, boss_radius(spec.ring)
    bores: list[Part.Solid] = []
    removed: list[Part.Solid] = []
    if ring.form == "tube":
        whole, bores = _halves(ring)
        solids = [whole]
    else:
        solids = loop_ring.strap_halves(ring, KERF) + [_lug(ring, side) for side in SIDES]
    for leg, (seat, pinned) in zip(feet(spec), foot_pins(spec)):
        solids += [loop_ring.leg_solid(ring, leg), _boss(seat, half_width, radius, pinned)]
        if not pinned:
            removed.append(_hole(seat, half_width))
    for seat, pinned in split_pins(spec):
        (solids if pinned else removed).append((_pin if pinned else _hole)(seat, half_width))
    body = tube.largest(solids[0].fuse(solids[1:]))
    if ring.open_angle:
        body, bores = loop_ring.with_voids(body, bores), []
        removed.append(loop_ring.opening_wedge(ring))
    if removed:
        body = tube.largest(body.cut(removed))
    return loop_ring.with_voids(body, bores)


def _lug(ring: Ring, side: float) -> Part.Solid:
    """The pair of lugs outside a strap at mid height, one on each half and drawn as one as they stand pinned, as long along the car
    as the strap is wide. They begin at mid thickness, because a bend falls away from them, but leave the kerf open."""
    half, depth = LUG_HALF * PIN, ring.depth / 2 + LUG_DEPTH * PIN
    inner, clear = ring.bend + ring.offset_y, KERF / 2 + 0.25
    outer = inner + ring.depth / 2 + 0.25
    profile = [(inner, half), (inner, clear), (outer, clear), (outer, -clear), (inner, -clear), (inner, -half), (inner + depth, -half),
               (inner + depth, half)]
    corners = [Vector(-ring.width / 2, side * y, z) for y, z in profile]
    return Part.Face(Part.makePolygon(corners + corners[:1])).extrude(Vector(ring.width, 0, 0))


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """Both halves, what joins them, the feet and their bosses."""
    ring, boss = spec.ring, boss_radius(spec.ring)
    found: list[piece.Piece] = [loop_ring.half_piece(ring, name, KERF / 2.0) for name in ("upper half", "lower half")]
    if ring.form == "tube":
        both = " and above" if spec.pins_split > len(SIDES) else ""
        found.append(piece.Solid("slug", f"round bar {sized(2.0 * ring.bore_radius)}, {sized(2.0 * slug_half(ring))} long, as far in each "
                                 f"half, drilled with the tube {sized(PIN)} along the car {sized(slug_half(ring) / 2.0)} below{both} the "
                                 "split", len(SIDES)))
    else:
        found.append(piece.Solid("pair of lugs", f"{sized(LUG_DEPTH * PIN)} deep, as wide as the strap, bored {sized(PIN)}", len(SIDES)))
    for name, leg in zip(("left foot", "right foot"), feet(spec)):
        boss_there = tube.Header(leg.place(leg.rho_end), (1.0, 0.0, 0.0), 2.0 * boss)
        found.append(loop_ring.leg_piece(ring, leg, name, (boss_there,)))
    bossed = piece.Solid("boss", f"round {sized(2.0 * boss)}, {sized(ring.width)} long, bored {sized(PIN)}", len(SIDES))
    return (*found, bossed)


def seams(spec: Spec) -> tuple[piece.Seam, ...]:
    """Feet to the ring, bosses to the feet, and what joins the halves to one of them where no second pin holds it."""
    ring, boss, stood = spec.ring, boss_radius(spec.ring), feet(spec)
    outside = ring.bend + ring.offset_y + ring.depth / 2
    found = [*loop_ring.leg_seam(ring, stood, "foot to ring")]
    half = loop_ring.leg_section(ring)[0] / 2 if ring.form == "tube" else ring.width / 2
    found.append(piece.Seam("boss to foot", tuple((half, *leg.place(leg.rho_end - boss)[1:]) for leg in stood), True))
    if ring.form == "strap":
        found.append(piece.Seam("lug to each half", tuple((0.0, side * outside, end * LUG_HALF * PIN) for side in SIDES for end in SIDES),
                                False))
    elif spec.pins_split <= len(SIDES):
        found.append(piece.Seam("slug to upper half", tuple((0.0, side * outside, KERF / 2) for side in SIDES), True))
    return tuple(found)
