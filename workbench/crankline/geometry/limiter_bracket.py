"""Brackets of the limiter strut: two level ears with an upright bolt between a web; bolted to the front plate, or welded on a
rail. Engine frame, mm.

The bracket on the rail stands on its lower ear, which is coped to the rail and welded along it; its web stands behind. The
bracket on the plate has its web against the plate's rear face, with a bolt above and one below the ears.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled
from ..units import sized
from . import piece, plate, tube
from .limiter import BALL_WIDTH, EAR, REACH, bracket_holes, limiter
from .outline import Circle, Flat, Loop, Vertex, rounded
from .rail_clamp import HOLE_CLEARANCE

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1
ENDS = ("plate", "rail")


@dataclass(frozen=True)
class Spec:
    """``center``: the rod end's; ``direction``: +1 where the ears reach forward from the web, -1 where rearward. The web stands from
    z_low to z_high. ``holes``: (y, z, diameter) in the web. ``rail``: point (y, z) at x = 0, slopes and radius, or none."""
    center: tuple[float, float, float]
    direction: float
    bolt: float
    thickness: float
    z_low: float
    z_high: float
    holes: tuple[tuple[float, float, float], ...]
    rail: tuple[float, float, float, float, float] | None


def spec(strut: model.LimiterStrut, scene: Scene, end: str) -> Spec:
    """The bracket at one end: plate or rail."""
    strut = filled(strut)
    place = limiter(strut, scene)
    half = BALL_WIDTH * strut.bolt / 2.0
    if end == "plate":
        holes = bracket_holes(strut)
        edge = EAR * strut.bolt
        return Spec(place.front, -1.0, strut.bolt, strut.bracket_thickness, holes[0][1] - edge, holes[1][1] + edge, holes, None)
    rail = place.rail
    low, high = place.seat, place.rear[2] + half + strut.bracket_thickness
    return Spec(place.rear, 1.0, strut.bolt, strut.bracket_thickness, low, high, (),
                (rail.y, rail.z, rail.slope_y, rail.slope_z, rail.radius))


def web(spec: Spec) -> Flat:
    """The web in its plane."""
    y, half = spec.center[1], EAR * spec.bolt
    corners = [(y - half, spec.z_low), (y + half, spec.z_low), (y + half, spec.z_high), (y - half, spec.z_high)]
    radius = 0.5 * spec.bolt if spec.holes else 0.0
    return Flat(rounded(corners, radius), tuple(Circle(*hole) for hole in spec.holes)).checked("mounts.limiter_strut.bolt")


def _ear(spec: Spec, z: float) -> Part.Solid:
    """A level ear from the web to round the bolt, its underside at z."""
    x, y, _ = spec.center
    half, root = EAR * spec.bolt, x - spec.direction * REACH * spec.bolt

    def at(dx: float, dy: float) -> Vector:
        return Vector(dx, y + spec.direction * dy, z)

    outer = Part.Wire([Part.makeLine(at(root, -half), at(x, -half)),
                       Part.Arc(at(x, -half), at(x + spec.direction * half, 0.0), at(x, half)).toShape(),
                       Part.makeLine(at(x, half), at(root, half)), Part.makeLine(at(root, half), at(root, -half))])
    hole = Part.Wire(Part.makeCircle((spec.bolt + HOLE_CLEARANCE) / 2.0, Vector(x, y, z), Vector(0.0, 0.0, 1.0)))
    hole.reverse()
    return Part.Face([outer, hole]).extrude(Vector(0.0, 0.0, spec.thickness))


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    x, _, z = spec.center
    half = BALL_WIDTH * spec.bolt / 2.0
    face = x - spec.direction * REACH * spec.bolt
    back = plate.solid(web(spec), min(face, face - spec.direction * spec.thickness), spec.thickness)
    body = back.fuse([_ear(spec, z + half), _ear(spec, z - half - spec.thickness)])
    if spec.rail is None:
        return tube.largest(body)
    y0, z0, slope_y, slope_z, radius = spec.rail
    header = tube.Header((x, y0 + x * slope_y, z0 + x * slope_z), (1.0, slope_y, slope_z), 2.0 * radius)
    return tube.largest(body.cut(tube.header_bar(header, 20.0 * spec.bolt)))


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The web and the two ears, welded together; the lower ear of the one on the rail is dressed to the rail."""
    half = EAR * spec.bolt
    reach = REACH * spec.bolt
    outer = Loop((Vertex(-half, -reach), Vertex(half, -reach), Vertex(half, 0.0, 1.0), Vertex(-half, 0.0)))
    ear = Flat(outer, (Circle(0.0, 0.0, spec.bolt + HOLE_CLEARANCE),))
    room = BALL_WIDTH * spec.bolt
    low = spec.center[2] - room / 2.0 - spec.thickness - spec.z_low
    placed = f"{sized(room)} apart, the lower one {sized(low)} above the web's lower edge"
    return (piece.Sheet("web", web(spec), spec.thickness),
            piece.Sheet("ear", ear, spec.thickness, count=2,
                        note=placed if spec.rail is None else f"{placed}; dress the lower one to the rail"))


def seams(spec: Spec) -> tuple[piece.Seam, ...]:
    """Both ears to the web."""
    x, y, z = spec.center
    face, half = x - spec.direction * REACH * spec.bolt, BALL_WIDTH * spec.bolt / 2.0
    return (piece.Seam("ear to web", ((face, y, z + half + spec.thickness), (face, y, z - half)), False),)
