"""Set-up stand: a plate that stands upright across the main rails, and the cradle in it that a bar through the block's main bearing bores
lies in, so that the crank has its height and pitch before anything is fitted. Car frame, mm.

A plate is square to the car's X, not to the crank, so that it stands by itself. The bar goes through it at the crank's pitch and touches
the cradle on one edge: the lower one of its two faces.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from .. import model
from ..host import Part
from ..mechanics.chassis import upright_station
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import engine_envelope, piece, plate
from .outline import Circle, Flat, Loop, Vertex

VERSION = 1
ENDS = ("front", "rear")
FIT = INCH / 64.0
"""A notch over a rail and the cradle over the bar, on diameter; both are to size where the weight bears (common practice, no source)."""
FOOT = 1.0 * INCH
"""Plate to either side of a notch (common practice, no source)."""
CHEEK = 1.5 * INCH
"""Plate to either side of the cradle (common practice, no source)."""
HOLE, APART = 0.25 * INCH, 0.75 * INCH
"""Holes over the left rail, one in the front plate and two in the rear one: they tell the plates and their faces apart, whatever the pitch
(common practice, no source)."""
ROOM = 0.5 * INCH
"""To the plates of the stack, their tabs and chassis tubes that stand there (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """``end``: front or rear. Rear face and thickness; half spacing of the rails, height of their tops, radius of the notches over them;
    height of the plate over the rails; lower edge between the feet; the cradle: middle (y), lowest point, radius."""
    end: str
    x: float
    thickness: float
    half_spacing: float
    rail_top: float
    notch: float
    shoulder: float
    bottom: float
    cradle_y: float
    seat: float
    cradle: float

    @property
    def half_width(self) -> float:
        """Center plane to either end of the plate."""
        return self.half_spacing + self.notch + FOOT

    @property
    def foot(self) -> float:
        """Height of the lower edge of the feet: half way down the rails."""
        return self.rail_top - self.notch

    @property
    def foot_inside(self) -> float:
        """Center plane to the inner edge of either foot."""
        return self.half_spacing - self.notch - FOOT

    @property
    def top(self) -> float:
        """Upper edge beside the cradle: half way up the bar, or over the rails where that is higher."""
        return max(self.seat + self.cradle, self.shoulder)


def axis_at(scene: Scene, x: float) -> tuple[float, float]:
    """(y, z) of the crank centerline, produced, at a station."""
    origin, along = scene.engine_point(0.0), scene.engine_frame.rotation[:, 0]
    far = (x - origin[0]) / along[0]
    return float(origin[1] + far * along[1]), float(origin[2] + far * along[2])


def station(stands: model.SetUpStands, scene: Scene, end: str) -> float:
    """X of the rear face of a plate; defaults filled in."""
    if end == "front":
        return float(scene.engine_point(scene.engine.block_length + stands.ahead_of_block)[0])
    return float(scene.engine_point(-stands.behind_block)[0]) - stands.thickness


def spec(stands: model.SetUpStands, scene: Scene, end: str) -> Spec:
    """From records; ValueError where it has nothing to stand on, stands in something, or leaves no plate beside the cradle."""
    stands, rails = filled(stands), scene.chassis.rails
    double = rails.kind == "double" and rails.upper_height is not None
    height = rails.upper_height if double else rails.height
    if rails.half_spacing is None or height is None:
        raise ValueError("chassis.rails needs half_spacing and height before set-up stands can be made; give both")
    x, thickness = station(stands, scene, end), stands.thickness
    field = "mounts.setup_stands." + ("ahead_of_block" if end == "front" else "behind_block")
    for beyond, limit in ((rails.x_rear is not None and x < rails.x_rear, rails.x_rear),
                          (rails.x_front is not None and x + thickness > rails.x_front, rails.x_front)):
        if beyond:
            raise ValueError(f"{field}: the {end} plate at X = {sized(x, 2)} is past the end of the rails at X = {sized(limit, 2)}; "
                             "give less")
    along = scene.engine_frame.rotation[:, 0]
    lean_y, lean_z = along[1] / along[0], along[2] / along[0]
    radius = stands.bar.outer_diameter / 2.0
    # Half axes of the ellipse that an upright plane cuts out of the bar.
    wide, high = radius * math.hypot(1.0, lean_y), radius * math.hypot(1.0, lean_z)
    cradle = max(wide + abs(lean_y) * thickness / 2.0, wide * wide / high) + FIT / 2.0
    seat = min(axis_at(scene, at)[1] for at in (x, x + thickness)) - high
    rail_radius = rails.section.outer_diameter / 2.0
    rail_top, notch = height + rail_radius, rail_radius + FIT / 2.0
    made = Spec(end, x, thickness, rails.half_spacing, rail_top, notch, rail_top + stands.web, min(rail_top - notch, seat - stands.web),
                axis_at(scene, x + thickness / 2.0)[0], seat, cradle)
    reach, room = abs(made.cradle_y) + cradle + CHEEK, made.foot_inside
    if reach > room:
        raise ValueError(f"mounts.setup_stands.bar.outer_diameter: a cradle for {sized(2.0 * radius)} reaches {sized(reach, 2)} from the "
                         f"center plane, {sized(room, 2)} is free between the feet on the rails; give a smaller bar")
    _clear(made, scene, field)
    return made


def _clear(made: Spec, scene: Scene, field: str) -> None:
    """ValueError where the plate stands in the block with its plates, or in a tube of the chassis."""
    rear, reach = made.end == "rear", engine_envelope.block_section(scene.engine)
    low, high = (value - axis_at(scene, made.x)[1] for value in (made.bottom, made.top))
    wide = max(abs(y) for y, _z in reach)
    face = -scene.stack.total if rear else scene.engine.block_length
    faces = [float(scene.engine_point(face, y, z)[0]) for y in (-wide, wide) for z in (low, high)]
    room = min(faces) - made.x - made.thickness if rear else made.x - max(faces)
    if room < ROOM:
        what = "the plates behind the block" if rear else "the block"
        raise ValueError(f"{field}: the {made.end} plate runs into {what} or is nearer than {sized(ROOM)}; give at least "
                         f"{sized(ROOM - room, 2)} more")
    for name, at, radius in _tubes(scene):
        if made.x - radius - ROOM / 2.0 < at < made.x + made.thickness + radius + ROOM / 2.0:
            raise ValueError(f"{field}: the {made.end} plate at X = {sized(made.x, 2)} runs into chassis.{name} at X = {sized(at, 2)}; "
                             f"move it past that tube")


def _tubes(scene: Scene) -> list[tuple[str, float, float]]:
    """(field, station, radius) of tubes of the chassis that stand on or between the rails."""
    chassis = scene.chassis
    found = [(name, tube.x, tube.section.outer_diameter / 2.0) for name in ("footwell_tube", "rear_cross_member")
             if (tube := getattr(chassis, name)) is not None and tube.x is not None]
    at = upright_station(chassis) if chassis.uprights is not None else None
    return found if at is None else [*found, ("uprights", at, chassis.uprights.section.outer_diameter / 2.0)]


def flat(spec: Spec) -> Flat:
    """The plate's outline (y, z), z above the track: feet over both rails, the cradle open upward."""
    half, foot, inside = spec.half_width, spec.foot, spec.foot_inside
    middle, radius, center = spec.cradle_y, spec.cradle, spec.seat + spec.cradle
    lower = [Vertex(-half, foot), *_notch(-spec.half_spacing, spec)]
    if spec.bottom < foot:
        lower += [Vertex(-inside, foot), Vertex(-inside, spec.bottom), Vertex(inside, spec.bottom), Vertex(inside, foot)]
    lower += [*_notch(spec.half_spacing, spec), Vertex(half, foot)]
    left, right = ([Vertex(middle + side * radius, spec.top)] if spec.top > center else [] for side in (1.0, -1.0))
    upper = [Vertex(half, spec.shoulder), Vertex(middle + radius + CHEEK, spec.top), *left,
             Vertex(middle + radius, center, -1.0), Vertex(middle - radius, center), *right,
             Vertex(middle - radius - CHEEK, spec.top), Vertex(-half, spec.shoulder)]
    return Flat(Loop((*lower, *upper)), holes(spec)).checked("mounts.setup_stands")


def holes(spec: Spec) -> tuple[Circle, ...]:
    """One of the front plate, two of the rear one."""
    height = (spec.rail_top + spec.shoulder) / 2.0
    return tuple(Circle(spec.half_spacing - number * APART, height, HOLE) for number in range(1 if spec.end == "front" else 2))


def _notch(y: float, spec: Spec) -> tuple[Vertex, Vertex]:
    """The half round over a rail, from the right to the left of it."""
    return Vertex(y - spec.notch, spec.foot, -1.0), Vertex(y + spec.notch, spec.foot)


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return plate.solid(flat(spec), spec.x, spec.thickness)


def lettering(spec: Spec) -> tuple[str, ...]:
    """What is etched on it: which end, the station of its rear face, and the cradle's lowest point above the top of the rails."""
    return (spec.end.upper(), f"X {sized(spec.x, 2)}".upper(), f"SEAT {sized(spec.seat - spec.rail_top, 3)}".upper())


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One plate."""
    note = (f"{spec.end} set-up stand: rear face at X = {sized(spec.x, 2)}, the cradle's lowest point "
            f"{sized(spec.seat - spec.rail_top, 3)} above "
            "the top of the rails")
    return (piece.Sheet("stand", flat(spec), spec.thickness, note=note, lettering=lettering(spec)),)
