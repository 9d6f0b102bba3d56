"""Limiter strut as numbers: tube between two rod ends, a clevis bolted behind the front plate, one welded on a rail.

Car frame; mm, N, MPa. Screening, never a certificate: ears and webs are shorter than they are wide, so beam formulas say little more than
whether they are of the right size; the rod ends' heads are their maker's.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from . import beams, fasteners, frames, strength, welds
from .beams import Bar
from .fasteners import Bolt
from .strength import Allowables, Item

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Clevis:
    """Both brackets alike: two ears of ``width`` and ``thickness`` on a web as wide and thick, ``ball`` apart; reach: rod end's center
    to the web; hole: in the ears; edge: its center to the ears' edge; weld_leg: round each ear's root."""
    width: float
    thickness: float
    ball: float
    reach: float
    hole: float
    edge: float
    yield_strength: float
    ultimate: float
    weld_leg: float
    filler_strength: float


@dataclass(frozen=True)
class PlateEnd:
    """Bolts of the bracket on the plate: their distance above and below its middle, hole, edge distance in the web and in the plate;
    the plate's thickness and ultimate strength."""
    apart: float
    hole: float
    edge: float
    plate_edge: float
    plate_thickness: float
    plate_ultimate: float


@dataclass(frozen=True)
class RailEnd:
    """Weld of the bracket on the rail: a frame of lines, length along the car and width across; height: rod end's center over it, ahead: of
    its middle; allowed: N/mm."""
    length: float
    width: float
    height: float
    ahead: float
    allowed: float


@dataclass(frozen=True)
class Strut:
    """Limiter strut between a plate and a rail. point: rod end on the plate; direction: unit vector along it, from the rail; axes: unit
    vectors of the engine frame in the car frame. bolt: of rod ends and bracket; shank: stress area of a rod end's thread; plate: key."""
    point: Point
    direction: Point
    tube: Bar
    plate: str
    axes: tuple[Point, Point, Point]
    bolt: Bolt
    shank: float
    clevis: Clevis
    plate_end: PlateEnd
    rail_end: RailEnd


def stiffness(strut: Strut) -> np.ndarray:
    """(3, 3) N/mm: along its axis only."""
    tube = strut.tube
    return tube.modulus * float(tube.section.area) / tube.length * np.outer(strut.direction, strut.direction)


def margins(strut: Strut, cases: Sequence[str], force: ArrayLike, allowables: Allowables = Allowables()) -> list[Item]:
    """Every item of the strut under forces (cases, 3) in N on its front end, car frame, along it."""
    force = np.atleast_2d(np.asarray(force, dtype=float))
    along, local = force @ np.array(strut.direction), force @ np.array(strut.axes).T
    return [*_strut(strut, cases, along, allowables), *_bolts(strut, cases, along, local, allowables),
            *_ears(strut, cases, local, allowables), *_plate_bracket(strut, cases, local, allowables),
            *_rail_bracket(strut, cases, local, allowables)]


def _strut(strut: Strut, cases: Sequence[str], along: np.ndarray, allowables: Allowables) -> list[Item]:
    """The tube as a column between two rod ends, and pulled; the rod ends' threads, taken as of the tube's steel."""
    tube, safety, part = strut.tube, allowables.yield_safety, ("limiter_strut",)
    push, pull = np.maximum(-along, 0.0), np.maximum(along, 0.0)
    return [strength.item("limiter_strut", part, strut.point, "limiter strut: push", cases, push, tube.column() / safety, "N",
                          "Euler and Johnson column, over safety", allowables.on_yield),
            strength.item("limiter_strut", part, strut.point, "limiter strut: pull", cases, pull,
                          tube.yield_strength * float(tube.section.area) / safety, "N", "yield over safety", allowables.on_yield),
            strength.item("limiter_strut", part, strut.point, "limiter strut: threads of the rod ends", cases, np.abs(along),
                          tube.yield_strength * strut.shank / safety, "N",
                          "stress area, yield of the strut's steel over safety; the maker's static load counts", allowables.on_yield)]


def _bolts(strut: Strut, cases: Sequence[str], along: np.ndarray, local: np.ndarray, allowables: Allowables) -> list[Item]:
    """The rod ends' bolts as pins between the ears; those of the bracket on the plate sheared and pulled as it tips on its web."""
    clevis, end = strut.clevis, strut.plate_end
    across = np.stack([along, np.zeros_like(along), np.zeros_like(along)], axis=-1)
    # Ball and spacers fill the room between the ears.
    pin = strength.cross_bolt("limiter_bolts", ("limiter_strut", "limiter_bracket", "limiter_seat"), strut.point,
                              "limiter strut: rod ends' bolts", across, strut.bolt, clevis.thickness, 0.0, clevis.ball, allowables)
    # The strut answers with -F at the rod end. Along (up, left, rearward) the normal points away from the plate's rear face.
    load, turn = -local, np.array([1.0, 1.0, -1.0])
    moment = frames.cross([-(clevis.reach + clevis.thickness), 0.0, 0.0], load)
    shear, pull = fasteners.group_forces([(-end.apart, 0.0), (end.apart, 0.0)], end.edge, load[:, [2, 1, 0]] * turn,
                                         moment[:, [2, 1, 0]] * turn)
    used = fasteners.utilisation(shear, pull, strut.bolt, gamma=allowables.gamma_bolt)
    sheets = (end.plate_thickness, end.plate_edge, end.plate_ultimate), (clevis.thickness, end.edge, clevis.ultimate)
    limit = [fasteners.bearing_resistance(strut.bolt.diameter, thick, end.hole, edge, edge, ultimate, strut.bolt.ultimate,
                                          allowables.gamma_bolt) for thick, edge, ultimate in sheets]
    ears = fasteners.bearing_resistance(strut.bolt.diameter, clevis.thickness, clevis.hole, clevis.edge, clevis.edge, clevis.ultimate,
                                        strut.bolt.ultimate, allowables.gamma_bolt)
    table = "EN 1993-1-8 table 3.4"
    return [*(use.worst(cases) for use in pin),
            strength.item("limiter_bolts", ("limiter_bracket", strut.plate), strut.point, "limiter bracket: bolts", cases, used, 1.0, "",
                          f"shear and tension, {table}", allowables.on_bolts),
            strength.item("bearing", (strut.plate,), strut.point, "limiter bracket: plate bearing", cases, shear, limit[0], "N", table,
                          allowables.on_bolts),
            strength.item("bearing", ("limiter_bracket",), strut.point, "limiter bracket: web bearing", cases, shear, limit[1], "N",
                          table, allowables.on_bolts),
            strength.item("bearing", ("limiter_bracket", "limiter_seat"), strut.point, "limiter brackets: ear bearing", cases,
                          0.5 * np.abs(along), ears, "N", table, allowables.on_bolts)]


def _ears(strut: Strut, cases: Sequence[str], local: np.ndarray, allowables: Allowables) -> list[Item]:
    """Each ear takes half: pulled through its hole, bent in its plane and over its thickness at the web; welded to it all round."""
    clevis = strut.clevis
    half, (width, thick, reach) = 0.5 * np.abs(local), (clevis.width, clevis.thickness, clevis.reach)
    stress = (half[:, 0] / ((width - clevis.hole) * thick) + half[:, 1] * reach / beams.rectangle_modulus(thick, width)
              + half[:, 2] * reach / beams.rectangle_modulus(width, thick))
    moment = frames.cross([reach, 0.0, 0.0], 0.5 * local)
    welded = welds.peak_line_force(welds.box(width, thick), 0.5 * local[:, [1, 2, 0]], moment[:, [1, 2, 0]])
    both = ("limiter_bracket", "limiter_seat")
    return [strength.item("limiter_bracket", both, strut.point, "limiter brackets: ears", cases, stress,
                          clevis.yield_strength / allowables.yield_safety, "MPa", "cantilever, yield over safety", allowables.on_yield),
            strength.item("limiter_bracket", both, strut.point, "limiter brackets: welds of the ears", cases, welded,
                          welds.allowable_force(clevis.filler_strength, clevis.weld_leg), "N/mm",
                          welds.AS_A_LINE, strength.ON_WELDS)]


def _plate_bracket(strut: Strut, cases: Sequence[str], local: np.ndarray, allowables: Allowables) -> list[Item]:
    """Pulled off the plate its web bends between each bolt and the ear beside it, held at both, as the flange of a T-stub does."""
    clevis, end = strut.clevis, strut.plate_end
    lever = end.apart - 0.5 * clevis.ball - clevis.thickness
    moment = 0.5 * np.maximum(local[:, 0], 0.0) * 0.5 * lever
    return [strength.item("limiter_bracket", ("limiter_bracket",), strut.point, "limiter bracket: web", cases,
                          moment / beams.rectangle_modulus(clevis.width, clevis.thickness),
                          clevis.yield_strength / allowables.yield_safety, "MPa", "strip held at bolt and ear, yield over safety",
                          allowables.on_yield)]


def _rail_bracket(strut: Strut, cases: Sequence[str], local: np.ndarray, allowables: Allowables) -> list[Item]:
    """The upper ear hangs on web and bolt, two posts from the lower ear: fore-aft they share by their stiffness, clamped at both ends;
    sideways the web does it alone. Everything goes through the weld along the lower ear."""
    clevis, end = strut.clevis, strut.rail_end
    post, half = clevis.ball + clevis.thickness, 0.5 * np.abs(local)
    web, pin = clevis.width * clevis.thickness**3 / 12.0, np.pi / 64.0 * strut.bolt.diameter**4
    stress = (half[:, 0] * web / (web + pin) * 0.5 * post / beams.rectangle_modulus(clevis.width, clevis.thickness)
              + half[:, 1] * post / beams.rectangle_modulus(clevis.thickness, clevis.width))
    # On the rail's end of the strut acts the same force as on its front: the strut only hands it on.
    welded = welds.peak_line_force(welds.box(end.length, end.width), local, frames.cross([end.ahead, 0.0, end.height], local))
    part = ("limiter_seat",)
    return [strength.item("limiter_bracket", part, strut.point, "limiter seat: web", cases, stress,
                          clevis.yield_strength / allowables.yield_safety, "MPa", "post beside the bolt, yield over safety",
                          allowables.on_yield),
            strength.item("limiter_bracket", part, strut.point, "limiter seat: weld on the rail", cases, welded, end.allowed, "N/mm",
                          "flare groove as a line, 5/16 R, 0.30 F_EXX; 0.40 yield in the rail's wall (AWS D1.1)", strength.ON_WELDS)]
