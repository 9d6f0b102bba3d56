"""Enclosure mounts: what carries the enclosure tube, front and rear, top and bottom.

In a loop: a saddle on the outside of the tube and, standing on it in the loop's plane, a web that reaches the inside of the
loop. The web is welded to the half of the loop that it belongs to (the top mount of a split loop goes off with the top half),
the saddle is bolted or riveted to the tube; its holes are drilled through both at fit-up and not drawn. Frame: the loop's.

At the transmission's tail: a bracket from the outside of the tail to the outside of the tube, or packing between the tail and
the tube's bore where the tube goes over the tail. Assumed of the tail: round about the output axis, of the radius of the
transmission's envelope, bare between mount pad and output seal, and fit to take the bolts or a clamp band there; what the real
tail housing offers decides. Frame: the engine's directions, origin in the output seal's center.

Sizes are common practice, no source.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from .. import model
from ..host import FreeCAD, Part
from ..mechanics import frames
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import enclosure as enclosure_tube
from . import loop_ring, piece, transmission_envelope
from .loop_ring import Ring
from .outline import Flat, Loop, Vertex, polygon

VERSION = 1
Vector: TypeAlias = FreeCAD.Vector
ENDS, SIDES = ("front", "rear"), ("top", "bottom")

FIT = 0.1
"""mm that the web's edge enters the loop, so that a weld has no gap to bridge (common practice, no source)."""
LEAST_SEAT = 0.5 * INCH
"""Least length of tube or tail that a mount is seated on (common practice, no source)."""
LEAST_JOGGLE = 1.0
"""mm that the tube's rim stays behind the output seal where it does not go over the tail (common practice, no source)."""
ROOM = 1.0
"""mm of room for packing between tail and bore, at least (common practice, no source)."""
PAD_ROOM = 0.25 * INCH
"""From the mount pad to a bracket on the tail (common practice, no source)."""
MOST_WIDE = 0.7
"""Width of a mount over the tube's diameter, at most: a wider saddle wraps more than a quarter turn (common practice, no source)."""


@dataclass(frozen=True)
class LoopSpec:
    """A mount in a loop, in the loop's frame, mm.

    ``center``: (y, z) where the tube's axis crosses the loop's plane; ``axis``: its unit vector forward; ``start``, ``end``: the
    saddle's ends along the axis from there; ``side``: 1 top, -1 bottom.
    """
    ring: Ring
    center: tuple[float, float]
    axis: tuple[float, float, float]
    radius: float
    start: float
    end: float
    width: float
    thickness: float
    side: int


@dataclass(frozen=True)
class TailSpec:
    """A bracket at the tail, in the frame of the output seal, mm. ``center``, ``axis``: center of the tube's front end and its unit
    vector forward; ``inner``: radius of the tube's surface that it is seated on; ``seat``: its length on the tube and on the tail.

    ``over``: where the tube goes over the tail, length of the packing in its bore; else 0."""
    center: tuple[float, float, float]
    axis: tuple[float, float, float]
    inner: float
    tail_radius: float
    seat: float
    width: float
    thickness: float
    side: int
    over: float


def carrier(enclosure: model.Enclosure, loops: tuple[model.Loop, ...], end: str) -> model.Loop | None:
    """The loop that carries an end; None where the transmission's tail does. ValueError where nothing stands there."""
    support = enclosure.front_support if end == "front" else enclosure.rear_support
    if support == "transmission_tail":
        return None
    front, rear = enclosure_tube.supporting(enclosure, loops)
    found, other = (front, rear) if end == "front" else (rear, front)
    station = enclosure.x_front if end == "front" else enclosure.x_rear
    middle = (enclosure.x_front + enclosure.x_rear) / 2
    # One loop carries the end that it is nearer to.
    if found is None or (found is other and (found.x > middle) is not (end == "front")):
        raise ValueError(f"containment.enclosure: there is no loop where its {end} should be carried, near X = {sized(station, 2)}; "
                         "add one there, or move the end of the tube"
                         + (", or let front_support be transmission_tail" if end == "front" else ""))
    return found


def frame(enclosure: model.Enclosure, scene: Scene, loops: tuple[model.Loop, ...], end: str) -> frames.Frame:
    """Where a mount stands in the car."""
    loop = carrier(enclosure, loops, end)
    if loop is not None:
        return frames.Frame(np.eye(3), scene.loop_center(loop))
    seal = scene.engine_point(-scene.stack.total - scene.transmission.bell_to_seal)
    return frames.Frame(scene.engine_frame.rotation, seal)


def spec(enclosure: model.Enclosure, scene: Scene, loops: tuple[model.Loop, ...], end: str, side: str) -> LoopSpec | TailSpec:
    """From records; one sentence where nothing is there to carry the tube, or where the tube does not fit into it."""
    enclosure = filled(enclosure)
    loop = carrier(enclosure, loops, end)
    given = enclosure.mount_width, enclosure.mount_thickness
    if given[0] > MOST_WIDE * enclosure.outer_diameter:
        raise ValueError(f"containment.enclosure.mount_width: {sized(given[0])} does not lie on a tube of "
                         f"{sized(enclosure.outer_diameter)}; give no more than "
                         f"{sized(MOST_WIDE * enclosure.outer_diameter)}")
    points = enclosure_tube.axis_points(enclosure, scene, loops)
    sign = 1 if side == "top" else -1
    if loop is None:
        return _at_tail(enclosure, scene, loops, points, sign)
    return _in_loop(enclosure, scene, loops, loop, points, sign)


def _in_loop(enclosure, scene: Scene, loops, loop: model.Loop, points, side: int) -> LoopSpec:
    rear, front = points
    axis = (front - rear) / np.linalg.norm(front - rear)
    origin = scene.loop_center(loop)
    crossing = rear + axis * ((loop.x - rear[0]) / axis[0]) - origin
    ring, radius = loop_ring.ring_of(filled(loop)), enclosure.outer_diameter / 2
    thickness, width = enclosure.mount_thickness, enclosure.mount_width
    where = f"containment.enclosure.outer_diameter: the tube of {sized(enclosure.outer_diameter)}"
    if _least_gap(ring, crossing[1:], radius) < 0.0:
        raise ValueError(f"{where} does not fit into loop {loop.name}; give a larger loop or a smaller tube, or center the loop on the "
                         "tube")
    found = LoopSpec(ring, (float(crossing[1]), float(crossing[2])), frames.as_point(axis), radius,
                     *_seat(enclosure, loops, loop, float(axis[0]), width, thickness), width, thickness, side)
    left = _gap(found)
    if left < thickness:
        name = "top" if side > 0 else "bottom"
        raise ValueError(f"{where} leaves {sized(left)} at the {name} of loop {loop.name}, less than a mount is thick "
                         f"({sized(thickness)}); give a larger loop, a smaller tube or a thinner mount")
    if side < 0 and ring.open_angle / 2 > math.atan2(_web_half(found) + abs(found.center[0]), ring.inner_height / 2):
        raise ValueError(f"containment.enclosure: loop {loop.name} is open where the mount at the bottom should be welded to it; close the "
                         "loop (open_angle), or carry the tube elsewhere")
    return found


def _seat(enclosure, loops, loop: model.Loop, lean: float, width: float, thickness: float) -> tuple[float, float]:
    """Ends of the saddle along the tube's axis from the loop's plane: on the tube, under the web, and clear of the other mount."""
    half = width / 2
    rivals = [other for other in enclosure_tube.supporting(enclosure, loops) if other is not None and other is not loop]
    for other in rivals:
        half = min(half, max(thickness, 0.5 * abs(other.x - loop.x) - 1.0))
    behind, ahead = (enclosure.x_rear - loop.x) / lean, (enclosure.x_front - loop.x) / lean
    start, end = -half, half
    if ahead < half:
        start, end = min(start, ahead - half), max(ahead, thickness)
    if behind > -half:
        start, end = min(behind, -thickness), max(end, behind + half)
    return float(start), float(end)


def _edge(ring: Ring, y: float, more: float = 0.0) -> float:
    """Height above the center of the ring's inside, at a distance from the plane of symmetry."""
    radius = min(ring.inner_width, ring.inner_height) / 2 + more
    return ring.offset_z + math.sqrt(max(0.0, radius ** 2 - max(0.0, abs(y) - ring.offset_y) ** 2))


def _least_gap(ring: Ring, center, radius: float) -> float:
    """Least distance between the tube and the ring's inside, all round, in the loop's plane."""
    turn = np.linspace(0.0, 2 * np.pi, 181)
    y, z = center[0] + radius * np.cos(turn), center[1] + radius * np.sin(turn)
    aside, above = np.maximum(0.0, np.abs(y) - ring.offset_y), np.maximum(0.0, np.abs(z) - ring.offset_z)
    return float((min(ring.inner_width, ring.inner_height) / 2 - np.hypot(aside, above)).min())


def _web_half(spec: LoopSpec) -> float:
    """Half width of the web: the saddle stands out beside it by its thickness, for the weld."""
    return max(0.3 * spec.width, spec.width / 2 - spec.thickness)


def _gap(spec: LoopSpec) -> float:
    """Least height between the tube and the ring over the web's width."""
    found = []
    for dy in np.linspace(-1.0, 1.0, 9) * _web_half(spec):
        tube = spec.side * spec.center[1] + math.sqrt(spec.radius ** 2 - dy ** 2)
        found.append(_edge(spec.ring, spec.center[0] + dy) - tube)
    return min(found)


def _at_tail(enclosure, scene: Scene, loops, points, side: int) -> TailSpec:
    tail = transmission_envelope.spec(scene.transmission, scene)
    here = frame(enclosure, scene, loops, "front")
    rear, front = (here.to_local(point) for point in points)
    axis = (front - rear) / np.linalg.norm(front - rear)
    radius, width, thickness = enclosure.outer_diameter / 2, enclosure.mount_width, enclosure.mount_thickness
    lean = radius * math.hypot(axis[1], axis[2])
    behind, name = -float(front[0]), "containment.enclosure.x_front"
    bare = tail.length - max(tail.case_end, min(tail.pad_station + transmission_envelope.PAD_LENGTH / 2.0, tail.length)) - PAD_ROOM
    if bare < LEAST_SEAT:
        raise ValueError(f"containment.enclosure.front_support: only {sized(max(bare, 0.0), 2)} of the transmission's tail is bare "
                         "behind its mount pad, too little to carry the tube; let a loop carry its front (front_support: loop)")
    if behind > enclosure_tube.REACH:
        raise ValueError(f"{name}: the tube ends {sized(behind, 2)} behind the output seal, where the tail carries it only within "
                         f"{sized(enclosure_tube.REACH)}; move its front end forward, or let a loop carry it (front_support: loop)")
    common = dict(center=tuple(map(float, front)), axis=tuple(map(float, axis)), tail_radius=tail.tail_radius, width=width,
                  thickness=thickness, side=side)
    bore = radius - enclosure.wall
    seat = min(width, bare)
    if behind - lean >= LEAST_JOGGLE:
        return TailSpec(inner=radius, seat=seat, over=0.0, **common)
    over = -behind - lean
    aside = max(math.hypot(*(front[1:] + axis[1:] * ((x - front[0]) / axis[0]))) for x in (0.0, float(front[0])))
    if bore - tail.tail_radius - aside < ROOM:
        raise ValueError(f"{name}: the tube runs against the transmission's tail, which its bore of {sized(2 * bore)} does not "
                         f"pass; end it at least {sized((LEAST_JOGGLE + lean), 2)} behind the output seal, or give a larger tube")
    if over < LEAST_SEAT:
        raise ValueError(f"{name}: the tube goes {sized(over, 2)} over the transmission's tail, too little to be carried by it; move "
                         f"its front end {sized((LEAST_SEAT - over), 2)} forward, or behind the output seal")
    return TailSpec(inner=bore, seat=seat, over=min(over, seat), **common)


def build(spec: LoopSpec | TailSpec) -> Part.Solid:
    """One solid."""
    return _bracket(spec) if isinstance(spec, TailSpec) else _saddle_and_web(spec)


def _saddle_and_web(spec: LoopSpec) -> Part.Solid:
    axis = Vector(*spec.axis)
    left = Vector(0, 0, 1).cross(axis).normalize()
    up = axis.cross(left) * spec.side
    origin = Vector(0.0, *spec.center) + axis * spec.start
    spread = math.asin(spec.width / 2 / spec.radius)
    saddle = Part.Face(_sector(origin, left, up, spec.radius, spec.radius + spec.thickness, spread)).extrude(axis * (spec.end - spec.start))

    half, inner, y0, z0 = _web_half(spec), spec.radius + spec.thickness / 2, *spec.center

    def foot(dy: float) -> Vector:
        return Vector(-spec.thickness / 2, y0 + dy, z0 + spec.side * math.sqrt(inner ** 2 - dy ** 2))

    edges = [Part.Arc(foot(-half), foot(0.0), foot(half)).toShape()]
    edge = _ring_edges(spec, y0 + half, y0 - half)
    edges += [Part.makeLine(foot(half), edge[0][0]), *(piece for _, piece in edge), Part.makeLine(edge[-1][0], foot(-half))]
    web = Part.Face(Part.Wire([one for one in edges if one is not None])).extrude(Vector(spec.thickness, 0, 0))
    return saddle.fuse(web).Solids[0]


def _ring_edges(spec: LoopSpec, first: float, last: float) -> list[tuple[Vector, Part.Edge | None]]:
    """Corners of the web's outer edge from one side to the other, each with the edge that leads to it: bends and the flat between."""
    def at(y: float) -> Vector:
        return Vector(-spec.thickness / 2, y, spec.side * _edge(spec.ring, y, FIT))

    flat = spec.ring.offset_y
    stations = [first, *(y for y in (flat, -flat) if flat > 0.01 and last + 0.01 < y < first - 0.01), last]
    found: list[tuple[Vector, Part.Edge | None]] = [(at(first), None)]
    for a, b in pairwise(stations):
        middle = (a + b) / 2
        piece = Part.makeLine(at(a), at(b)) if abs(middle) < flat else Part.Arc(at(a), at(middle), at(b)).toShape()
        found.append((at(b), piece))
    return found


def _sector(origin: Vector, left: Vector, up: Vector, inner: float, outer: float, spread: float) -> Part.Wire:
    """Annular sector about an axis, to either side of ``up``."""
    def at(radius: float, angle: float) -> Vector:
        return origin + left * (radius * math.sin(angle)) + up * (radius * math.cos(angle))

    return Part.Wire([Part.Arc(at(inner, -spread), at(inner, 0.0), at(inner, spread)).toShape(),
                      Part.makeLine(at(inner, spread), at(outer, spread)),
                      Part.Arc(at(outer, spread), at(outer, 0.0), at(outer, -spread)).toShape(),
                      Part.makeLine(at(outer, -spread), at(inner, -spread))])


def _bracket(spec: TailSpec) -> Part.Solid:
    """Ruled from section to section: two square to the tube's axis, two square to the output axis; as thick between as it is on the
    larger of the two."""
    if spec.over:
        return Part.makeLoft([_packing(spec, x) for x in (0.0, spec.over)], True, True).Solids[0]
    axis, rim = Vector(*spec.axis), Vector(*spec.center)
    left = Vector(0, 0, 1).cross(axis).normalize()
    thick, most = spec.thickness, max(spec.inner, spec.tail_radius) + spec.thickness

    def on_tube(back: float, outer: float) -> Part.Wire:
        return _sector(rim - axis * back, left, axis.cross(left) * spec.side, spec.inner, outer, math.asin(spec.width / 2 / spec.inner))

    def on_tail(x: float, outer: float) -> Part.Wire:
        spread = math.asin(min(0.95, spec.width / 2 / spec.tail_radius))
        return _sector(Vector(x, 0, 0), Vector(0, 1, 0), Vector(0, 0, spec.side), spec.tail_radius, outer, spread)

    sections = [on_tube(spec.seat, spec.inner + thick), on_tube(0.0, most), on_tail(0.0, most),
                on_tail(spec.seat, spec.tail_radius + thick)]
    return Part.makeLoft(sections, True, True).Solids[0]


def _packing(spec: TailSpec, x: float) -> Part.Wire:
    """Section between the tail's outside and the tube's bore."""
    a, b, c, d, e, f = (Vector(x, y, spec.side * z) for y, z in _packing_points(spec, x))
    return Part.Wire([Part.Arc(a, b, c).toShape(), Part.makeLine(c, d), Part.Arc(d, e, f).toShape(), Part.makeLine(f, a)])


def _packing_points(spec: TailSpec, x: float) -> list[tuple[float, float]]:
    """Three points of each of its arcs, (y, z), away from the axis upward: on the tail from right to left, in the bore back again."""
    step = (x - spec.center[0]) / spec.axis[0]
    y0, z0 = (spec.center[i] + spec.axis[i] * step for i in (1, 2))
    half = min(spec.width / 2, 0.9 * spec.tail_radius)

    def bore(y: float) -> float:
        # Square to the output axis the leaning bore is an ellipse: u, v from its center with u2 + v2 - (u dy + v dz)2 = r2.
        _, dy, dz = spec.axis
        u, a = y - y0, 1.0 - dz * dz
        b, c = u * dy * dz, u * u * (1.0 - dy * dy) - spec.inner ** 2
        return spec.side * z0 + (spec.side * b + math.sqrt(b * b - a * c)) / a

    tail = [(y, math.sqrt(spec.tail_radius ** 2 - y ** 2)) for y in (-half, 0.0, half)]
    return [*tail, *((y, bore(y)) for y in (half, 0.0, -half))]


def pieces(spec: LoopSpec | TailSpec) -> tuple[piece.Piece, ...]:
    """In a loop: the saddle, flat, and the web. At the tail: a bracket that is built up to its solid."""
    if isinstance(spec, TailSpec):
        aside = spec.center[1] if abs(spec.center[1]) > 0.1 else 0.0
        over = f"; its tube end is {sized(abs(aside))} to the {'left' if aside > 0.0 else 'right'} of its tail end" if aside else ""
        return (piece.Solid("packing" if spec.over else "bracket",
                            f"machined or built up to its sections, straight from one to the next; {sized(spec.width)} wide{over}",
                            sections=_sections(spec)),)
    middle = spec.radius + spec.thickness / 2.0
    arc = 2.0 * math.asin(spec.width / 2.0 / spec.radius) * middle
    saddle = piece.Sheet("saddle", piece.rectangle(arc, spec.end - spec.start), spec.thickness,
                         note=f"roll across its {'longer' if arc > spec.end - spec.start else 'shorter'} side to {sized(spec.radius)} "
                              "inside radius; laid out at mid thickness")
    return saddle, piece.Sheet("web", Flat(_web(spec)).checked("containment.enclosure.mount_width"), spec.thickness)


def _sections(spec: TailSpec) -> tuple[piece.Section, ...]:
    """Of what is at the tail: along its middle, seen from the right with the tail on the right, and square to what it is seated on, away
    from the axis upward."""
    if spec.over:
        ends = [_packing_points(spec, x) for x in (0.0, spec.over)]
        middle = polygon([(0.0, ends[0][1][1]), (spec.over, ends[1][1][1]), (spec.over, ends[1][4][1]), (0.0, ends[0][4][1])])
        return (piece.Section("section along its middle", Flat(middle)),
                *(piece.Section(f"section at its {name} end", Flat(_through(points))) for name, points in zip(("rear", "front"), ends)))
    axis, rim = np.array(spec.axis), np.array(spec.center)
    left = np.cross((0.0, 0.0, 1.0), axis)
    up = np.cross(axis, left / np.linalg.norm(left)) * spec.side
    thick, most = spec.thickness, max(spec.inner, spec.tail_radius) + spec.thickness

    def on_tube(back: float, radius: float) -> tuple[float, float]:
        x, _y, z = rim - axis * back + up * radius
        return float(x), float(z) * spec.side

    middle = polygon([on_tube(spec.seat, spec.inner), on_tube(0.0, spec.inner), (0.0, spec.tail_radius), (spec.seat, spec.tail_radius),
                      (spec.seat, spec.tail_radius + thick), (0.0, most), on_tube(0.0, most), on_tube(spec.seat, spec.inner + thick)])
    return (piece.Section("section along its middle", Flat(middle)),
            piece.Section("section at its tube end", Flat(_flat_sector(spec.inner, spec.inner + thick, spec.width))),
            piece.Section("section at its tail end", Flat(_flat_sector(spec.tail_radius, spec.tail_radius + thick, spec.width))))


def _flat_sector(inner: float, outer: float, width: float) -> Loop:
    """The annular sector that ``_sector`` makes, of a width on its inner radius, its middle upward."""
    share = min(0.95, width / 2.0 / inner)
    level, bulge = math.sqrt(1.0 - share ** 2), math.tan(math.asin(share) / 2.0)
    return Loop((Vertex(-inner * share, inner * level, -bulge), Vertex(inner * share, inner * level),
                 Vertex(outer * share, outer * level, bulge), Vertex(-outer * share, outer * level)))


def _through(points: list[tuple[float, float]]) -> Loop:
    """The loop of two arcs, through three points each, and the lines between their ends."""
    def bulge(a: tuple[float, float], middle: tuple[float, float], b: tuple[float, float]) -> float:
        along, off = np.subtract(b, a), np.subtract(middle, a)
        return -2.0 * float(along[0] * off[1] - along[1] * off[0]) / float(along @ along)

    low, high = points[:3], points[3:]
    return Loop((Vertex(*low[0], bulge(*low)), Vertex(*low[2]), Vertex(*high[0], bulge(*high)), Vertex(*high[2]))).counterclockwise()


def _web(spec: LoopSpec) -> Loop:
    """The web's outline in the loop's plane, (y, z), turned so that it stands up."""
    half, inner, (y0, z0) = _web_half(spec), spec.radius + spec.thickness / 2.0, spec.center
    z0 = spec.side * z0

    def foot(dy: float) -> tuple[float, float]:
        return y0 + dy, z0 + math.sqrt(inner ** 2 - dy ** 2)

    flat = spec.ring.offset_y
    first, last = y0 + half, y0 - half
    stations = [first, *(y for y in (flat, -flat) if flat > 0.01 and last + 0.01 < y < first - 0.01), last]
    top = [(y, _edge(spec.ring, y, FIT)) for y in stations]
    curved = min(spec.ring.inner_width, spec.ring.inner_height) / 2 + FIT
    points = [(*foot(-half), _bulge(2.0 * half, inner, -1.0)), (*foot(half), 0.0)]
    for (ya, za), (yb, zb) in pairwise(top):
        straight = abs((ya + yb) / 2.0) < flat
        points.append((ya, za, 0.0 if straight else _bulge(math.hypot(yb - ya, zb - za), curved, 1.0)))
    points.append((*top[-1], 0.0))
    return Loop(tuple(Vertex(y, z, bulge) for y, z, bulge in points)).counterclockwise()


def _bulge(chord: float, radius: float, sign: float) -> float:
    """Tangent of a quarter of the angle of an arc over a chord; counterclockwise for +1."""
    return sign * math.tan(math.asin(chord / 2.0 / radius) / 2.0)


def seams(spec: LoopSpec | TailSpec) -> tuple[piece.Seam, ...]:
    """The web stands on the saddle."""
    if isinstance(spec, TailSpec):
        return ()
    y, z = spec.center
    return (piece.Seam("web to saddle", ((spec.thickness / 2.0, y, z + spec.side * (spec.radius + spec.thickness)),), False),)
