"""What split and fixed loops share: the ring itself, round or with straight legs, of tube or strap, and its legs.

Frame: origin in the loop's center, x forward, y left, z up; the ring lies in the plane x = 0. A ring is two straight
sides and four quarter bends (a circle where width and height are equal); angles are counted from straight down.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..units import INCH, sized
from . import piece, tube

Vector: TypeAlias = FreeCAD.Vector
MARGIN = math.radians(1.0)
"""Between a leg and the opening; also the step in which a leg is turned clear of it (numerical)."""
OPEN_LIMIT = math.radians(150.0)
"""Largest opening that is drawn: a ring that is open farther holds no leg (common practice, no source; what a rule book allows is less)."""
LEG_SMALLER = INCH / 8.0
"""So much smaller than the ring is a leg, so that its cope closes on it (common practice, no source)."""
PIN = 0.3125 * INCH
"""Diameter of a quick-release pin: 5/16 in (common practice, no source)."""


@dataclass(frozen=True)
class Ring:
    """Inside width and height; form; depth (in the loop's plane), width along the car and wall of the section; opening.

    Tube: depth = width = outside diameter. Strap: depth = thickness, wall = 0. ``open_angle`` in rad is taken out at
    the bottom, as seen from the loop's center. All lengths mm.
    """
    inner_width: float
    inner_height: float
    form: str
    depth: float
    width: float
    wall: float
    open_angle: float = 0.0

    @property
    def bend(self) -> float:
        """Centre-line radius of the bends."""
        return (min(self.inner_width, self.inner_height) + self.depth) / 2

    @property
    def offset_y(self) -> float:
        """Half length of straight top and bottom."""
        return max(0.0, (self.inner_width - self.inner_height) / 2)

    @property
    def offset_z(self) -> float:
        """Half length of straight sides."""
        return max(0.0, (self.inner_height - self.inner_width) / 2)

    @property
    def length(self) -> float:
        """Developed length of the closed center line: what is cut before rolling."""
        return 2 * math.pi * self.bend + 4 * (self.offset_y + self.offset_z)

    @property
    def area(self) -> float:
        """Cross-section of the material, mm2."""
        if self.form == "strap":
            return self.depth * self.width
        return math.pi * self.wall * (self.depth - self.wall)

    @property
    def bore_radius(self) -> float:
        """Inside radius of a tube section; 0 for a strap."""
        return self.depth / 2 - self.wall if self.form == "tube" else 0.0


@dataclass(frozen=True)
class Leg:
    """A leg square to a bend: its direction from the bend's center, from ``rho_start`` to ``rho_end``, coped to headers."""
    bend_center: tuple[float, float]
    direction: tuple[float, float]
    rho_start: float
    rho_end: float
    headers: tuple[tube.Header, ...] = ()

    def place(self, rho: float) -> tuple[float, float, float]:
        """The point at a distance from the bend's center."""
        return 0.0, self.bend_center[0] + rho * self.direction[0], self.bend_center[1] + rho * self.direction[1]

    def at(self, rho: float) -> Vector:
        """The same point for the host."""
        return Vector(*self.place(rho))

    @property
    def along(self) -> Vector:
        """Unit vector outward."""
        return Vector(0.0, *self.direction)


def ring_of(loop: model.Loop) -> Ring:
    """The ring of a record (defaults filled); ValueError where its numbers make none."""
    where = f"containment.loops[{loop.name}]"
    width = loop.inner_width if loop.inner_width is not None else loop.inner_diameter
    height = loop.inner_height if loop.inner_height is not None else loop.inner_diameter
    if width is None or height is None:
        raise ValueError(f"{where}.inner_diameter is missing; give it, or inner_width and inner_height of a loop with "
                         "straight legs")
    if loop.form == "strap":
        if loop.strap_thickness is None or loop.strap_width is None:
            raise ValueError(f"{where}: a strap needs strap_thickness and strap_width; give both, or form: tube and a section")
        depth, along, wall = loop.strap_thickness, loop.strap_width, 0.0
    else:
        if loop.section is None:
            raise ValueError(f"{where}.section is missing; give the tube's outer_diameter and wall, or form: strap")
        depth = along = loop.section.outer_diameter
        wall = loop.section.wall
        tube.check_section(depth, wall, f"{where}.section")
        if min(width, height) < 1.001 * wall:
            raise ValueError(f"{where}: an inside width of {sized(min(width, height))} is less than the wall; give a larger ring")
    opening = loop.open_angle or 0.0
    if opening > OPEN_LIMIT:
        raise ValueError(f"{where}.open_angle is {math.degrees(opening):.0f} deg; at most {math.degrees(OPEN_LIMIT):.0f} deg "
                         "leaves a ring that its legs can carry, and 0 deg is a closed loop")
    return Ring(width, height, loop.form, depth, along, wall, opening)


def half_path(ring: Ring, upper: bool, trim: float) -> Part.Wire:
    """Centre line of the upper or lower half from the left (+y) side to the right, ends ``trim`` away from mid height."""
    sign, radius = (1.0 if upper else -1.0), ring.bend
    top_y, side_z = ring.offset_y, ring.offset_z
    edges = []
    straight = side_z - trim
    lead = max(0.0, -straight) / radius           # angle of the bend that the trim takes away
    reach = radius + top_y

    def on_bend(side: float, angle: float) -> Vector:
        """Angle 0 at the side, a quarter turn at the top (or bottom) of the half."""
        return Vector(0.0, side * (top_y + radius * math.cos(angle)), sign * (side_z + radius * math.sin(angle)))

    def bend(side: float, first: float, last: float) -> Part.Edge:
        return Part.Arc(on_bend(side, first), on_bend(side, (first + last) / 2), on_bend(side, last)).toShape()

    if straight > 1e-7:
        edges.append(Part.makeLine(Vector(0, reach, sign * trim), Vector(0, reach, sign * side_z)))
    if top_y > 1e-7:
        edges += [bend(1.0, lead, math.pi / 2),
                  Part.makeLine(on_bend(1.0, math.pi / 2), on_bend(-1.0, math.pi / 2)), bend(-1.0, math.pi / 2, lead)]
    else:
        edges.append(Part.Arc(on_bend(1.0, lead), on_bend(1.0, math.pi / 2), on_bend(-1.0, lead)).toShape())
    if straight > 1e-7:
        edges.append(Part.makeLine(Vector(0, -reach, sign * side_z), Vector(0, -reach, sign * trim)))
    return Part.Wire(edges)


def side_path(ring: Ring, side: float, trim: float) -> Part.Wire:
    """Center line of one side between the ends of the halves that ``half_path`` leaves ``trim`` away from mid height, upward."""
    radius, reach = ring.bend, ring.bend + ring.offset_y
    straight, lead = min(trim, ring.offset_z), max(0.0, trim - ring.offset_z) / radius

    def on_bend(sign: float, angle: float) -> Vector:
        return Vector(0.0, side * (ring.offset_y + radius * math.cos(angle)), sign * (ring.offset_z + radius * math.sin(angle)))

    if straight <= 1e-7:
        return Part.Wire(Part.Arc(on_bend(-1.0, lead), Vector(0.0, side * reach, 0.0), on_bend(1.0, lead)).toShape())
    edges = [Part.makeLine(Vector(0.0, side * reach, -straight), Vector(0.0, side * reach, straight))]
    if lead > 0.0:
        lower, upper = (Part.Arc(*(on_bend(sign, share * lead) for share in shares)).toShape()
                        for sign, shares in ((-1.0, (1.0, 0.5, 0.0)), (1.0, (0.0, 0.5, 1.0))))
        edges = [lower, *edges, upper]
    return Part.Wire(edges)


def full_path(ring: Ring) -> Part.Wire:
    """The closed center line."""
    return Part.Wire(half_path(ring, True, 0.0).Edges + half_path(ring, False, 0.0).Edges)


def swept(path: Part.Wire, radius: float) -> Part.Solid:
    """A round bar along a path of lines and bends; its surfaces are exact tori and cylinders."""
    edge = path.Edges[0]
    point = edge.valueAt(edge.FirstParameter)
    return path.makePipe(tube.annulus(radius, 0.0, point, edge.tangentAt(edge.FirstParameter)))


def outside(ring: Ring) -> Part.Solid:
    """The ring as a solid bar: a tube's outside filled, or the strap."""
    if ring.form == "tube":
        if ring.offset_y == ring.offset_z == 0.0:
            return Part.makeTorus(ring.bend, ring.depth / 2, Vector(0, 0, 0), Vector(1, 0, 0))
        return swept(full_path(ring), ring.depth / 2)
    outer = _strap_wire(ring, ring.bend + ring.depth / 2)
    inner = _strap_wire(ring, ring.bend - ring.depth / 2)
    inner.reverse()
    return Part.Face([outer, inner]).extrude(Vector(ring.width, 0, 0))


def strap_halves(ring: Ring, kerf: float) -> list[Part.Solid]:
    """The upper and the lower half of a strap, a kerf at mid height between them."""
    found = []
    for upper in (True, False):
        outer, inner = (half_path(_ghost(ring, ring.bend + side * ring.depth / 2), upper, kerf / 2) for side in (1.0, -1.0))
        (left, right), (left_inner, right_inner) = map(_ends, (outer, inner))
        wire = Part.Wire(outer.Edges + [Part.makeLine(right, right_inner), *reversed(inner.Edges), Part.makeLine(left_inner, left)])
        found.append(Part.Face(wire.translated(Vector(-ring.width / 2, 0, 0))).extrude(Vector(ring.width, 0, 0)))
    return found


def _ends(path: Part.Wire) -> tuple[Vector, Vector]:
    """Left and right end of a half path."""
    first, last = path.Edges[0], path.Edges[-1]
    return first.valueAt(first.FirstParameter), last.valueAt(last.LastParameter)


def _ghost(ring: Ring, radius: float) -> Ring:
    """The ring whose center line is an outline of the strap at a bend radius."""
    return Ring(2 * (radius + ring.offset_y), 2 * (radius + ring.offset_z), "strap", 0.0, 0.0, 0.0)


def _strap_wire(ring: Ring, radius: float) -> Part.Wire:
    """Outline of the strap at a bend radius, in the plane of its rear edge."""
    return full_path(_ghost(ring, radius)).translated(Vector(-ring.width / 2, 0, 0))


def with_voids(solid: Part.Shape, bores: list[Part.Solid]) -> Part.Solid:
    """The solid with bores that lie wholly inside it, put together from shells: no boolean is needed."""
    whole = tube.largest(solid) if solid.ShapeType != "Solid" else solid
    if not bores:
        return whole
    shells = list(whole.Shells) + [bore.Shells[0].reversed() for bore in bores]
    return Part.makeSolid(Part.Compound(shells))


def opening_wedge(ring: Ring) -> Part.Solid:
    """The wedge that an opening takes out at the bottom, wide enough for the whole ring."""
    far = 4.0 * (ring.inner_width + ring.inner_height + ring.depth)
    half, steps = ring.open_angle / 2, 8
    depth = 2.0 * ring.width
    arc = [Vector(-depth, far * math.sin(a), -far * math.cos(a)) for a in (half * (2 * i / steps - 1) for i in range(steps + 1))]
    corners = [Vector(-depth, 0, 0)] + arc
    return Part.Face(Part.makePolygon(corners + corners[:1])).extrude(Vector(2 * depth, 0, 0))


def leg_angle(ring: Ring, preferred: float, leg_depth: float) -> float:
    """Angle from straight down at which a lower leg stands: as preferred, or clear of the opening."""
    if ring.open_angle == 0.0:
        return preferred
    outer = ring.bend + ring.depth / 2
    angle = preferred
    while angle < math.pi / 2:
        y = ring.offset_y + outer * math.sin(angle) - leg_depth / 2 * math.cos(angle)
        z = ring.offset_z + outer * math.cos(angle) + leg_depth / 2 * math.sin(angle)
        if math.atan2(y, z) > ring.open_angle / 2 + MARGIN:
            return angle
        angle += MARGIN
    return math.pi / 2


def leg_section(ring: Ring) -> tuple[float, float]:
    """Outside diameter and wall of the legs of a tube loop: 1/8 in smaller than the ring, so that the cope closes on it."""
    smaller = ring.depth - LEG_SMALLER
    outer = smaller if smaller > 0.7 * ring.depth else 0.8 * ring.depth
    return outer, min(ring.wall, 0.4 * outer)


def leg_solid(ring: Ring, leg: Leg) -> Part.Solid:
    """A leg from the ring's center line outward: tube for a tube ring, flat bar for a strap; coped to its headers."""
    if ring.form == "tube":
        return tube.build(tube.Spec(leg.place(leg.rho_start), leg.place(leg.rho_end), *leg_section(ring), leg.headers))
    start, end = leg.at(leg.rho_start), leg.at(leg.rho_end)
    across = Vector(0, -leg.direction[1], leg.direction[0]) * (ring.depth / 2)
    along = Vector(ring.width / 2, 0, 0)
    corners = [start - along - across, start + along - across, start + along + across, start - along + across]
    body = Part.Face(Part.makePolygon(corners + corners[:1])).extrude(end - start)
    if not leg.headers:
        return body
    reach = leg.rho_end + ring.inner_width + ring.inner_height
    return tube.largest(body.cut([tube.header_bar(header, reach) for header in leg.headers]))


def leg_seam(ring: Ring, legs: tuple[Leg, ...], joins: str) -> tuple[piece.Seam, ...]:
    """Where legs are welded to the ring: at the side of each that looks forward, on the ring's outside."""
    half = leg_section(ring)[0] / 2 if ring.form == "tube" else ring.width / 2
    points = tuple((half, *leg.place(leg.rho_start + ring.depth / 2)[1:]) for leg in legs)
    return (piece.Seam(joins, points, True),) if points else ()


def ring_piece(ring: Ring) -> piece.Tube | piece.Bar:
    """A ring in one piece, from the middle of its bottom round to it, where it is closed or open."""
    note = (f"cut open over {math.degrees(ring.open_angle):.0f} deg at the bottom" if ring.open_angle
            else "butt weld its ends together all around")
    side, top = 2.0 * ring.offset_z, 2.0 * ring.offset_y
    return _bent(ring, "ring", ring.length, (top / 2.0, side, top, side, top / 2.0), (math.pi / 2.0,) * 4, note)


def half_piece(ring: Ring, name: str, trim: float) -> piece.Tube | piece.Bar:
    """A half of a ring, its ends ``trim`` away from mid height."""
    straight = ring.offset_z - trim
    bend = math.pi / 2.0 - max(0.0, -straight) / ring.bend
    legs = max(straight, 0.0)
    return _bent(ring, name, ring.length / 2.0 - 2.0 * trim, (legs, 2.0 * ring.offset_y, legs), (bend, bend), "")


def _bent(ring: Ring, name: str, length: float, straights: tuple[float, ...], bends: tuple[float, ...],
          note: str) -> piece.Tube | piece.Bar:
    """Bends in one plane; two with nothing straight between them are one."""
    lengths, turns = [straights[0]], [bends[0]]
    for straight, turn in zip(straights[1:], (*bends[1:], None)):
        if turn is None or straight > 1e-7:
            lengths.append(straight)
            turns += [] if turn is None else [turn]
        else:
            turns[-1] += turn
    if ring.form == "strap":
        return piece.Bar(name, ring.width, ring.depth, length, 1, note, tuple(lengths), tuple(turns), ring.bend)
    return piece.Tube(name, ring.depth, ring.wall, tuple(lengths), tuple(turns), (0.0,) * (len(turns) - 1), ring.bend, note=note)


def leg_piece(ring: Ring, leg: Leg, name: str, to: tuple[piece.Met, ...]) -> piece.Tube | piece.Bar:
    """A leg from the ring to what it stands on."""
    aside, up = leg.direction
    off = math.degrees(math.atan2(abs(aside), abs(up)))
    placed = f"square to the ring's bend, {off:.1f} deg off straight {'up' if up > 0.0 else 'down'}"
    if ring.form == "strap":
        return piece.Bar(name, ring.width, ring.depth, leg.rho_end - leg.rho_start, note=f"{placed}; cope its far end at fit-up")
    center = (0.0, *leg.bend_center)
    # From the ring's centerline, where the solid begins too: what the cope takes is counted from there.
    at, end = leg.place(ring.bend), leg.place(leg.rho_end)
    return piece.straight(name, *leg_section(ring), at, end, (piece.Bend(center, (1.0, 0.0, 0.0), ring.bend, ring.depth),), to,
                          note=placed)
