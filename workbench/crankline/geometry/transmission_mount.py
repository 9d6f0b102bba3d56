"""Transmission mount: tab on the tail's pad and tube below it, which stands in the receiver on the cross member (``receiver``).

To change the transmission: jack under it, tail bolts out, cross bolt out; the tube slides down in its receiver, is lifted out and lies
flat on the cross member (``folded``). Engine frame, mm; where everything stands, and why, is in ``mount_layout``.
"""
from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TypeAlias

from ..host import FreeCAD, Part
from ..units import sized
from . import mount_faces, outline, piece, tube
from . import mount_layout as layout

VERSION = 2
Vector: TypeAlias = FreeCAD.Vector

Spec = layout.Spec
spec = layout.spec
tab = flat = layout.tab
trim_line = layout.trim_line
Corner = tuple[float, float, float]

FINE = 9
"""Digits after the point, mm, to which posts are alike (numerical)."""

TAIL_BOLT, SLEEVE_FIT, SLEEVE_WALL, TAB_WIDTH = layout.TAIL_BOLT, layout.SLEEVE_FIT, layout.SLEEVE_WALL, layout.TAB_WIDTH


def axis(spec: Spec) -> Vector:
    """Unit vector up the tube: it stands square to the tab."""
    return Vector(0.0, 0.0, 1.0)


def slide(spec: Spec) -> float:
    """How far the tube can slide down its receiver before it or the tab meets something, mm."""
    return spec.slide


def as_blank(spec: Spec) -> Spec:
    """The same mount as it is delivered."""
    return replace(spec, blank=True)


def build(spec: Spec) -> Part.Solid:
    """Tab with its flanges, and tube, one solid; the cross bolt's hole goes through the tube."""
    return mount_faces.build(spec) or _joined(spec)


closed_volume = mount_faces.closed_volume


def _joined(spec: Spec) -> Part.Solid:
    """The same by booleans, however its parts lie to each other."""
    x, y = spec.head
    body = _post(round(spec.under - spec.tube_low, FINE), spec.outer_diameter, spec.wall, spec.cross_bolt + layout.BOLT_CLEARANCE,
                 tuple(round(value, FINE) for value in (spec.bolt_seat[0] - x, spec.bolt_seat[1] - y, spec.bolt_seat[2] - spec.tube_low)),
                 tuple(round(value, FINE) for value in spec.member_axis)).translated(Vector(x, y, spec.tube_low))
    strips = [Part.makeBox(x1 - x0, y1 - y0, z1 - z0, Vector(x0, y0, z0)) for x0, y0, z0, x1, y1, z1 in layout.flanges(spec)]
    return tube.largest(_plate(spec).fuse([body, *strips]))


def _plate(spec: Spec) -> Part.Solid:
    """The tab, from the pad down."""
    shape, center = flat(spec), Vector(*spec.pad)

    def wire(item) -> Part.Wire:
        """The tab's lines at the pad: y stays, the second coordinate is x."""
        if isinstance(item, outline.Circle):
            return Part.Wire(Part.makeCircle(item.diameter / 2, center + Vector(item.z, item.y, 0), Vector(0, 0, -1)))
        edges = []
        for segment in item.segments:
            start, end = (center + Vector(z, y, 0) for y, z in ((segment.y0, segment.z0), (segment.y1, segment.z1)))
            middle_y, middle_z = segment.at(0.5)
            edges.append(Part.Arc(start, center + Vector(middle_z, middle_y, 0), end).toShape() if segment.sweep
                         else Part.makeLine(start, end))
        return Part.Wire(edges)

    wires = [wire(shape.outer)]
    for hole in shape.inner:
        inner = wire(hole)
        inner.reverse()
        wires.append(inner)
    return Part.Face(wires).extrude(Vector(0, 0, -spec.tab_thickness))


@lru_cache(maxsize=32)
def _post(length: float, outer_diameter: float, wall: float, bolt: float, seat: Corner, across: Corner) -> Part.Shape:
    """The tube on its lower end at the origin, the cross bolt's hole through it. A level engine that is set farther forward has the
    same."""
    direction, reach = Vector(*across).normalize(), 2.0 * outer_diameter
    hole = Part.makeCylinder(bolt / 2, 2 * reach, Vector(*seat) - direction * reach, direction)
    return tube.straight(Vector(), Vector(0.0, 0.0, length), outer_diameter, wall).cut(hole)


def folded(spec: Spec) -> FreeCAD.Placement:
    """Where mount and tube lie when they are folded flat: tube along the cross member, on top of it, left of the receiver; the tab
    stands at its left end and reaches rearward, away from the pan."""
    foot, across = Vector(*spec.foot), Vector(*spec.member_axis).normalize()
    fore = across.cross(Vector(0, 0, 1)).normalize()
    up = fore.cross(across).normalize()
    rear, front = spec.tab_span
    rear -= spec.blank_allowance if spec.blank else 0.0
    turn = FreeCAD.Rotation(axis(spec), across)
    if 0.5 * (rear + front) > spec.reach:
        turn = FreeCAD.Rotation(across, 180.0).multiply(turn)
    low = Vector(*spec.head, spec.tube_low)
    corners = [Vector(spec.pad[0] + x, spec.pad[1] + y, z) for x in (rear, front) for y in (-spec.half_width, spec.half_width)
               for z in (spec.pad[2], spec.under - spec.flange_depth)]
    # The tab stands across the tube, so it is the tab's lowest corner that rests on the member.
    resting = max([spec.outer_diameter / 2] + [-turn.multVec(corner - low).dot(up) for corner in corners])
    target = foot + up * (spec.member_diameter / 2 + resting) + across * (spec.receiver_diameter / 2 + 5.0)
    return FreeCAD.Placement(target - turn.multVec(low), turn)


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The tab as it is delivered, longer than it stands and with its trim line; the strips under its edges; the tube."""
    x, y = spec.head
    strips, blank = layout.flanges(spec), flat(as_blank(spec))
    found: list[piece.Piece] = [piece.Sheet("tab", blank, spec.tab_thickness, trims=(trim_line(spec),),
                                            note=f"{sized(spec.blank_allowance)} longer than fitted: trim it at fit-up")]
    if strips:
        x0, y0, z0, x1, y1, z1 = strips[0]
        found.append(piece.Sheet("strip", piece.rectangle(x1 - x0, z1 - z0), y1 - y0, count=len(strips),
                                 note=f"flush with the sides of the tab, {sized(layout.TAB_CORNER)} short of both ends of the trimmed tab"))
    low_y, low_x, _high_y, _high_x = blank.bounds
    bolt = piece.CrossHole(spec.bolt_seat[2] - spec.tube_low, spec.cross_bolt + layout.BOLT_CLEARANCE)
    found.append(piece.straight("post", spec.outer_diameter, spec.wall, (x, y, spec.tube_low), (x, y, spec.under),
                                note=f"cross hole {sized(bolt.diameter)}, {sized(bolt.at)} from the lower end, along the cross member; "
                                     f"on the tab at X {sized(y - spec.pad[1] - low_y)}, Y {sized(x - spec.pad[0] - low_x)}",
                                holes=(bolt,)))
    return tuple(found)


def seams(spec: Spec) -> tuple[piece.Seam, ...]:
    """The tube to the tab, and the strips under the tab's edges."""
    x, y = spec.head
    found = [piece.Seam("post to tab", ((x, y + spec.outer_diameter / 2.0, spec.under),), True)]
    if strips := layout.flanges(spec):
        found.append(piece.Seam("strip to tab", tuple(((x0 + x1) / 2.0, y1 if y1 > spec.pad[1] else y0, z1)
                                                      for x0, y0, _z0, x1, y1, z1 in strips), False))
    return tuple(found)
