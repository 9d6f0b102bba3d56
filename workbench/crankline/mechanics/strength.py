"""Strength screening of what holds the powertrain: margins of bolts, tabs, welds, cross bolt, support tube and plates.

Screening arithmetic for a builder, never a certificate: straight load paths, no fatigue, no fit-up, no buckling, no heat-
softened aluminum unless the yield strength given says so. A margin is allowable over actual less 1: 0 is all of it used,
below 0 is too much. Loads come from `mounts_load`, formulas from `fasteners`, `welds` and `beams`; mm, N, MPa.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from . import beams, fasteners, frames, welds
from .fasteners import Bolt


class Concept(NamedTuple):
    """The one safety concept of a margin: in words, and how many times the allowable the part yields or fails at."""

    words: str
    factor: float


PIN = Concept("partial factor 1 on proof strength", 1.0)
"""A pin in bending, EN 1993-1-8 clause 3.13 with gamma_M0 = 1."""

ON_WELDS = Concept("allowable stress, yield in shear over 1.5", 1.5)
"""Fillets: 0.40 of the thinner part's yield is allowed (AWS D1.1), and it yields in shear at 0.60 (AISC 360 section J4.2); the weld metal,
0.30 F_EXX allowed and 0.60 F_EXX at failure (section J2.4), has more: the careful side."""

MOVEMENT = Concept("no strength", math.inf)
"""A movement or a size, of which nothing breaks."""

BARE = Concept("strength without safety", 1.0)


class Margin(NamedTuple):
    """One item at its worst case: actual and allowable in unit, margin = allowable / actual - 1 (inf where unloaded); concept: what safety
    is in the allowable."""

    item: str
    case: str
    actual: float
    allowable: float
    unit: str
    margin: float
    basis: str
    concept: Concept = BARE

    @property
    def left(self) -> float:
        """Margin to yield or failure: the safety taken out of the allowable; below 0 the part would yield under the stated load."""
        return (self.margin + 1.0) * self.concept.factor - 1.0


@dataclass(frozen=True)
class Item:
    """One screened item: its group (what rules ask by), its worst margin, the keys of its parts, where it is (car frame, mm)."""

    group: str
    margin: Margin
    subjects: tuple[str, ...]
    point: tuple[float, float, float]


@dataclass(frozen=True)
class Allowables:
    """Safety on strength. gamma_bolt: EN 1993-1-8; yield_safety: 1.5 on yield for bending, common practice (allowable
    stress design has 1.67 for members and 1.33 for solid rectangles); plate_travel: fore-aft movement at a plate that
    needs no limiter strut, mm, assumed default."""

    gamma_bolt: float = fasteners.GAMMA_M2
    yield_safety: float = 1.5
    plate_travel: float = 1.5

    @property
    def on_yield(self) -> Concept:
        """Allowable stress: yield over safety."""
        return Concept(f"allowable stress, yield over {self.yield_safety:g}", self.yield_safety)

    @property
    def on_bolts(self) -> Concept:
        """Bolts and plates in bearing: strength over a partial factor."""
        return Concept(f"partial factor {self.gamma_bolt:g} on strength", self.gamma_bolt)


@dataclass(frozen=True)
class RailMount:
    """One ear of an engine plate between a pair of rail tabs, or bolted to one tab; plate square to X.

    bolt, bolts: the fastener and how many hold this ear. tabs: 2 = clamped between a pair (double shear), 1 = single.
    plate_*, tab_*: thickness, ultimate and yield strength in MPa; hole: clearance hole; edge_distance: hole to the nearest
    edge, of plate and tab; tab_width: along the plate; bolt_height: mean height of the bolts above the weld;
    weld_leg, filler_strength: fillets on both faces of each tab, as long as the tab is wide.
    """

    bolt: Bolt
    bolts: int
    tabs: int
    hole: float
    edge_distance: float
    plate_thickness: float
    plate_ultimate: float
    tab_thickness: float
    tab_width: float
    tab_yield: float
    tab_ultimate: float
    bolt_height: float
    weld_leg: float
    filler_strength: float

    def __post_init__(self) -> None:
        if self.bolts < 1 or self.tabs not in (1, 2):
            raise ValueError(f"rail mount: found {self.bolts} bolts and {self.tabs} tabs; give at least 1 bolt and 1 or 2 tabs.")


def margin(item: str, cases: Sequence[str], actual: ArrayLike, allowable: ArrayLike, unit: str, basis: str,
           concept: Concept = BARE) -> Margin:
    """The worst of several cases; actual and allowable broadcast over the cases. nan counts as the worst of all."""
    # A dozen plain numbers: arrays take several times as long.
    used, allowed = (np.asarray(values, dtype=float).reshape(-1).tolist() for values in (actual, allowable))
    count = max(len(used), len(allowed))
    # One of the two may be the same in all cases.
    used, allowed = (values * count if len(values) < count else values for values in (used, allowed))
    left = [limit / value - 1.0 if value else math.inf for value, limit in zip(used, allowed)]
    worst = min(range(count), key=lambda case: left[case] if left[case] == left[case] else -math.inf)
    return Margin(item, cases[worst], used[worst], allowed[worst], unit, left[worst], basis, concept)


class Use(NamedTuple):
    """How loads use one item, case by case (cases,): what an `Item` is made of. allowable: one number, or of each case."""
    group: str
    subjects: tuple[str, ...]
    point: tuple[float, float, float]
    name: str
    actual: np.ndarray
    allowable: ArrayLike
    unit: str
    basis: str
    concept: Concept

    def worst(self, cases: Sequence[str], some: slice = slice(None)) -> Item:
        """The item at its worst case, or at that of some of them, which ``cases`` names."""
        allowable = self.allowable if np.ndim(self.allowable) == 0 else np.asarray(self.allowable)[some]
        return Item(self.group, margin(self.name, cases, self.actual[some], allowable, self.unit, self.basis, self.concept), self.subjects,
                    self.point)


def item(group: str, subjects: tuple[str, ...], point: tuple[float, float, float], name: str, cases: Sequence[str], actual: ArrayLike,
         allowable: ArrayLike, unit: str, basis: str, concept: Concept) -> Item:
    """An `Item` of a `margin`."""
    return Item(group, margin(name, cases, actual, allowable, unit, basis, concept), subjects, point)


def worst(margins: Iterable[Margin]) -> tuple[Margin, ...]:
    """Every item once, with its smallest margin, smallest first."""
    kept: dict[str, Margin] = {}
    for found in margins:
        if found.item not in kept or found.margin < kept[found.item].margin:
            kept[found.item] = found
    return tuple(sorted(kept.values(), key=lambda found: found.margin))


# --- plate and tabs at a rail -----------------------------------------------------------------------------------------


def rail_mount(
    name: str, cases: Sequence[str], force: ArrayLike, mount: RailMount, allowables: Allowables = Allowables()
) -> tuple[Margin, ...]:
    """Margins of bolts, plate, tabs and tab welds of one rail mount under forces (cases, 3), N in the car frame.

    In the plane of the plate (Y, Z) the bolts are sheared, evenly; fore-aft (X) the plate leans on a tab, the tabs bend
    as cantilevers above their weld, together, and the bolts that tie them are pulled by all of it. The pitch of the plate
    against the car frame is ignored, and so is friction under the bolts.
    """
    force = np.atleast_2d(np.asarray(force, dtype=float))
    in_plane, fore_aft = np.hypot(force[:, 1], force[:, 2]), np.abs(force[:, 0])
    gamma, bolt = allowables.gamma_bolt, mount.bolt
    shear, tension = in_plane / mount.bolts, fore_aft / mount.bolts
    used = fasteners.utilisation(shear, tension, bolt, planes=mount.tabs, gamma=gamma)
    plate_bearing, tab_bearing = (
        fasteners.bearing_resistance(bolt.diameter, thickness, mount.hole, mount.edge_distance, mount.edge_distance,
                                     ultimate, bolt.ultimate, gamma)
        for thickness, ultimate in ((mount.plate_thickness, mount.plate_ultimate), (mount.tab_thickness, mount.tab_ultimate)))
    bent = tab_stress(force / mount.tabs, mount.bolt_height, mount.tab_width, mount.tab_thickness)
    welded = tab_weld_force(force / mount.tabs, mount.bolt_height, mount.tab_width, mount.tab_thickness)
    return (
        margin(f"{name}: bolts", cases, used, 1.0, "", "shear and tension, EN 1993-1-8 table 3.4", allowables.on_bolts),
        margin(f"{name}: plate bearing", cases, shear, plate_bearing, "N", "EN 1993-1-8 table 3.4", allowables.on_bolts),
        margin(f"{name}: tab bearing", cases, shear / mount.tabs, tab_bearing, "N", "EN 1993-1-8 table 3.4", allowables.on_bolts),
        margin(f"{name}: tab bending", cases, bent, mount.tab_yield / allowables.yield_safety, "MPa",
               "cantilever, yield over safety", allowables.on_yield),
        margin(f"{name}: tab welds", cases, welded, welds.allowable_force(mount.filler_strength, mount.weld_leg), "N/mm",
               welds.AS_A_LINE, ON_WELDS),
        margin(f"{name}: edge distance", cases[:1], fasteners.least_edge_distance(mount.hole), mount.edge_distance, "mm",
               "1.2 hole diameters, EN 1993-1-8 table 3.3", MOVEMENT),
    )


def tab_stress(force: ArrayLike, height: ArrayLike, width: ArrayLike, thickness: ArrayLike) -> np.ndarray:
    """Largest direct stress at the root of one upright tab, MPa, under forces (..., 3) at a height above it.

    Bent over its thickness by X, over its width by Y, pulled by Z; the three add up at a corner.
    """
    force = np.abs(np.asarray(force, dtype=float))
    return (beams.cantilever_stress(force[..., 0], height, width, thickness)
            + beams.cantilever_stress(force[..., 1], height, thickness, width)
            + force[..., 2] / (np.asarray(width, dtype=float) * thickness))


def tab_weld_force(force: ArrayLike, height: float, width: float, thickness: float) -> np.ndarray:
    """Largest force per length, N/mm, of the fillets on both faces of one upright tab under forces (..., 3) above them.

    The coped foot is taken as straight: real welds follow the tube and are longer.
    """
    # Weld plane: u along the tab's width (Y), v against X, normal Z up; (u, v, normal) is right-handed.
    x, y, z = np.moveaxis(np.asarray(force, dtype=float), -1, 0)
    turned = np.stack([y, -x, z], axis=-1)
    moment = frames.cross([0.0, 0.0, height], turned)
    return welds.peak_line_force(welds.pair(thickness, width), turned, moment)


# --- transmission mount, support tube ---------------------------------------------------------------------------------


def cross_bolt(group: str, subjects: tuple[str, ...], point: tuple[float, float, float], name: str, force: ArrayLike, bolt: Bolt,
               lug_thickness: float, gap: float = 0.0, sleeve_length: float = 0.0, allowables: Allowables = Allowables()) -> list[Use]:
    """How a bolt that works as a pin, axis along Y, in double shear is used under forces (cases, 3), N; ``name``: what it is called.

    Its bending counts where the lugs, lug_thickness each, stand a gap off the sleeve of sleeve_length (mm) between them:
    moment F/2 (lug/2 + gap + sleeve/4), the form for pins of EN 1993-1-8 clause 3.13 with the sleeve as the middle plate,
    against 1.5 W f_y / gamma_M0 with the proof strength as f_y and gamma_M0 = 1. Along its axis the bolt holds nothing.
    """
    force = np.atleast_2d(np.asarray(force, dtype=float))
    across = np.hypot(force[:, 0], force[:, 2])
    resistance = fasteners.shear_resistance(bolt, planes=2, gamma=allowables.gamma_bolt)
    moment = across / 2.0 * (lug_thickness / 2.0 + gap + sleeve_length / 4.0)
    holds = 1.5 * np.pi / 32.0 * bolt.diameter**3 * bolt.proof
    return [Use(group, subjects, point, f"{name} shear", across, resistance, "N", "double shear, EN 1993-1-8 table 3.4",
                allowables.on_bolts),
            Use(group, subjects, point, f"{name} bending", moment, holds, "N.mm", "pin bending, EN 1993-1-8 clause 3.13", PIN),
            Use(group, subjects, point, f"{name} shear with bending", np.hypot(moment / holds, across / resistance), 1.0, "",
                "root of (M / M_Rd)^2 + (F / F_Rd)^2, EN 1993-1-8 clause 3.13", PIN)]


def tube_beam(name: str, cases: Sequence[str], moment: ArrayLike, outer_diameter: float, wall: float, yield_strength: float,
              allowables: Allowables = Allowables()) -> Margin:
    """Margin in bending of a cross tube (support tube, cross member) as a simple beam between its ends.

    moment: largest of it (2, cases), N.mm, of the forces along X and of those along Z, tube along Y. They are added as vectors, though they
    may stand apart: the careful side.
    """
    return margin(f"{name}: bending", cases, np.hypot(*np.asarray(moment, dtype=float)) / beams.tube_modulus(outer_diameter, wall),
                  yield_strength / allowables.yield_safety, "MPa", "simple beam, yield over safety", allowables.on_yield)


# --- fore-aft stiffness of a plate ------------------------------------------------------------------------------------


def plate_fore_aft(
    name: str, cases: Sequence[str], force: ArrayLike, modulus: float, poisson: float, yield_strength: float,
    thickness: float, width: float, span: float, allowables: Allowables = Allowables(),
) -> tuple[Margin, Margin]:
    """Margins in movement and stress of a plate's two free strips under its whole fore-aft load (cases,), N.

    width and span: of the strip on one side between bolt pattern and rail. A margin below 0 in either says that the plate
    needs a fore-aft limiter strut: thin plates hold up and down and sideways, not fore and aft.
    """
    force = 0.5 * np.abs(np.atleast_1d(np.asarray(force, dtype=float)))
    stiffness = beams.strip_stiffness(modulus, poisson, thickness, width, span).normal
    return (
        margin(f"{name}: fore-aft movement", cases, force / stiffness, allowables.plate_travel, "mm",
               "clamped plate strips, assumed limit", MOVEMENT),
        margin(f"{name}: fore-aft stress", cases, beams.strip_stress(force, thickness, width, span),
               yield_strength / allowables.yield_safety, "MPa", "clamped plate strips, yield over safety", allowables.on_yield),
    )
