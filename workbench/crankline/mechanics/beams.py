"""Beams and plate strips that hold a powertrain: moment, stress, deflection, stiffness; mm, N, N/mm2 (= MPa).

Linear bending of straight members (Euler and Bernoulli; shear where said), as in any handbook of beam formulas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ..units import sized
from .frames import cross
from .shaft import TubeSection, tube_section

STEEL_MODULUS = 200_000.0
"""Young's modulus of 4130, MPa (29 Msi, published material tables)."""


GAUSS = 1.0 / math.sqrt(3.0)
"""The two points between -1 and 1 by which a cubic is integrated exactly, each with the weight 1 (Gauss and Legendre)."""


class Bending(NamedTuple):
    """Largest bending moment N.mm and end forces (..., 2) N of a beam."""

    moment: np.ndarray
    reactions: np.ndarray


def rectangle_modulus(width: ArrayLike, thickness: ArrayLike) -> np.ndarray:
    """Elastic section modulus of a rectangle bent across its thickness, mm3: w t^2 / 6."""
    return np.asarray(width, dtype=float) * np.asarray(thickness, dtype=float) ** 2 / 6.0


def tube_modulus(outer_diameter: ArrayLike, wall: ArrayLike) -> np.ndarray:
    """Elastic section modulus of a round tube, mm3: 2 I / D."""
    return 2.0 * tube_section(outer_diameter, wall).second_moment / outer_diameter


def tube_net_section(outer_diameter: float, wall: float, hole: float) -> tuple[float, float, float]:
    """Area mm2 and two elastic section moduli mm3 of a round tube cross-drilled through both walls by a hole (diameter mm).

    The first modulus is that of bending about an axis square to the hole, which has the holes in its stretched fibers; the second that of
    bending about the hole's own axis. The sectors that the hole takes out of the wall are counted by its width at the bore.
    """
    outer, inner = 0.5 * outer_diameter, 0.5 * outer_diameter - wall
    half = float(np.arcsin(min(0.5 * hole / max(inner, 1e-9), 1.0)))
    quartic = (outer**4 - inner**4) / 4.0
    return ((outer**2 - inner**2) * (np.pi - 2.0 * half),
            quartic * (np.pi - 2.0 * half - np.sin(2.0 * half)) / (outer * np.cos(half)) if half < 1.5 else 0.0,
            quartic * (np.pi - 2.0 * half + np.sin(2.0 * half)) / outer)


def column_load(modulus: ArrayLike, second_moment: ArrayLike, area: ArrayLike, yield_strength: ArrayLike, length: ArrayLike,
                factor: float = 1.0) -> np.ndarray:
    """Load at which a straight column fails, N: Euler where it is slender, J. B. Johnson's parabola where it is not (machine design
    handbooks). factor: effective length over length: 1 between two pins, 2 for a mast."""
    slenderness = factor * np.asarray(length, dtype=float) / np.sqrt(np.asarray(second_moment, dtype=float) / area)
    change = np.pi * np.sqrt(2.0 * np.asarray(modulus) / yield_strength)
    stocky = yield_strength * (1.0 - 0.5 * (slenderness / change) ** 2)
    return area * np.where(slenderness < change, stocky, np.pi**2 * modulus / np.maximum(slenderness, 1e-9) ** 2)


def nonslender_ratio(modulus: ArrayLike, yield_strength: ArrayLike, share: float = 0.11) -> np.ndarray:
    """Largest outside diameter over wall of a round tube that yields before its wall buckles locally: share E / Fy (AISC 360, table B4.1a
    case 9, pushed; a bent one may have 0.31 E / Fy, table B4.1b case 20, so that the first is the careful side)."""
    return share * np.asarray(modulus, dtype=float) / yield_strength


def tube_stress(section: TubeSection, outer_diameter: ArrayLike, axial: ArrayLike, moment: ArrayLike,
                torque: ArrayLike = 0.0) -> np.ndarray:
    """Equivalent stress of a round tube, MPa: axial and bending add up, twist joins them as in sqrt(s^2 + 3 t^2) (von Mises)."""
    outer = 0.5 * np.asarray(outer_diameter, dtype=float)
    direct = np.abs(axial) / section.area + np.abs(moment) * (outer / section.second_moment)
    return np.sqrt(direct**2 + 3.0 * (np.asarray(torque) * (outer / section.polar_moment)) ** 2)


_section = lru_cache(maxsize=256)(tube_section)
"""A screening asks each of its tubes for its section a few hundred times."""


@dataclass(frozen=True)
class Bar:
    """A round tube of some length, clamped at one end unless said otherwise."""
    outer_diameter: float
    wall: float
    length: float
    yield_strength: float
    modulus: float = STEEL_MODULUS
    shear_modulus: float = 77_000.0

    @property
    def section(self) -> TubeSection:
        """Its section."""
        return _section(self.outer_diameter, self.wall)

    @property
    def bending(self) -> float:
        """E I, N.mm2."""
        return self.modulus * float(self.section.second_moment)

    @property
    def twist(self) -> float:
        """G J, N.mm2."""
        return self.shear_modulus * float(self.section.polar_moment)

    def stress(self, axial: ArrayLike, moment: ArrayLike, torque: ArrayLike = 0.0) -> np.ndarray:
        """`tube_stress` of it, MPa."""
        return tube_stress(self.section, self.outer_diameter, axial, moment, torque)

    def column(self, factor: float = 1.0) -> float:
        """`column_load` of its whole length, N."""
        return float(column_load(self.modulus, self.section.second_moment, self.section.area, self.yield_strength, self.length, factor))


class Flanged(NamedTuple):
    """Section of a flat tab with a flange along each edge: mm2, elastic moduli mm3 and second moments mm4 of bending across its
    thickness (weak) and in its plane (strong), torsion constant mm4."""
    area: float
    weak_modulus: float
    strong_modulus: float
    weak: float
    strong: float
    torsion: float


def flanged(width: float, thickness: float, flange: float = 0.0, holes: float = 0.0) -> Flanged:
    """A tab, less ``holes`` (their diameters together, mm) of its width, and two flanges on one side of it, as thick as it is.

    In its own plane the flanges count for nothing and the holes as if they stood at the edges: the careful side. Torsion of a thin open
    section: sum of b t^3 / 3.
    """
    net = width - holes
    areas, middles = np.array([net * thickness, 2.0 * thickness * flange]), np.array([0.5 * thickness, thickness + 0.5 * flange])
    center = (areas * middles).sum() / areas.sum()
    weak = net * thickness**3 / 12.0 + 2.0 * thickness * flange**3 / 12.0 + (areas * (middles - center) ** 2).sum()
    strong = thickness * net**3 / 12.0
    return Flanged(float(areas.sum()), float(weak / max(center, thickness + flange - center)), strong / (0.5 * width), float(weak), strong,
                   (net + 2.0 * flange) * thickness**3 / 3.0)


def simple_beam(span: float, positions: ArrayLike, forces: ArrayLike) -> Bending:
    """A beam on two simple supports under point forces: the careful side for a tube whose ends are welded.

    positions: (k,) from the left support, mm; forces: (..., k) N. Largest moment stands under a force. ValueError for a position off the
    span.
    """
    positions = np.atleast_1d(np.asarray(positions, dtype=float))
    forces = np.asarray(forces, dtype=float)
    if not np.all((positions >= 0.0) & (positions <= span)):
        raise ValueError(f"span: found a force off the span of {sized(span)}; move it between the supports.")
    right = (forces * positions).sum(axis=-1) / span
    left = forces.sum(axis=-1) - right
    moments = left[..., None] * positions - forces @ np.maximum(positions - positions[:, None], 0.0)
    return Bending(np.abs(moments).max(axis=-1), np.stack([left, right], axis=-1))


def fixed_end_moments(span: float, positions: ArrayLike, forces: ArrayLike) -> np.ndarray:
    """Moments (..., 2) in N.mm at the clamped ends of a beam under point forces: F a b^2 / L^2 and F a^2 b / L^2 (any beam table).

    positions: (k,) from the left end, mm; forces: (..., k) N. What a weld at a tube's end may get that `simple_beam` leaves out.
    """
    a, forces = np.atleast_1d(np.asarray(positions, dtype=float)), np.asarray(forces, dtype=float)
    return np.stack([(forces * a * (span - a) ** 2).sum(axis=-1), (forces * a**2 * (span - a)).sum(axis=-1)], axis=-1) / span**2


def cantilever_give(point: ArrayLike, start: ArrayLike, end: ArrayLike, axes: ArrayLike, bending: tuple[float, float], twist: float,
                    axial: float) -> np.ndarray:
    """Displacement over force, (3, 3) mm/N, of a point that hangs rigidly on the start of a straight bar clamped at its end.

    axes: two unit vectors square to the bar, bending about which has the stiffnesses E I of ``bending``; twist: G J, axial: E A. The
    integral of M M / E I along the bar (Castigliano), exact by two Gauss points.
    """
    point, start, end = (np.asarray(item, dtype=float) for item in (point, start, end))
    length = float(np.linalg.norm(end - start))
    if length < 1e-9:
        return np.zeros((3, 3))
    along = (end - start) / length
    turns, soft = np.array([*np.asarray(axes, dtype=float), along]), 1.0 / np.array([*bending, twist])
    found = np.outer(along, along) * (length / axial)
    for node in (-GAUSS, GAUSS):
        # What a force on the point turns at the place: one row for each axis.
        moment = cross(turns, point - start - along * (0.5 * (1.0 + node) * length))
        found += 0.5 * length * moment.T @ (soft[:, None] * moment)
    return found


def cantilever_stress(force: ArrayLike, arm: ArrayLike, width: ArrayLike, thickness: ArrayLike) -> np.ndarray:
    """Bending stress at the root of a flat tab loaded square to its face, MPa: 6 F a / (w t^2)."""
    return np.asarray(force, dtype=float) * arm / rectangle_modulus(width, thickness)


class StripStiffness(NamedTuple):
    """Stiffness of a plate strip between two clamped ends that move parallel, N/mm.

    normal: square to the plate (fore-aft for an engine plate), along: along the span, across: in the plane, across it.
    """

    normal: np.ndarray
    along: np.ndarray
    across: np.ndarray


def strip_stiffness(
    modulus: ArrayLike, poisson: ArrayLike, thickness: ArrayLike, width: ArrayLike, span: ArrayLike
) -> StripStiffness:
    """Stiffness of the free strip of an engine plate between bolt pattern and rail, both ends clamped.

    normal: 12 D w / span^3 with the plate's D = E t^3 / 12 (1 - nu^2): a wide strip cannot curl sideways. Two strips, one
    each side, make a beam clamped at both ends: 24 E I / span^3 = 192 E I / (2 span)^3. along: E t w / span.
    across: bending and shear of the deep strip in series (Timoshenko, shear coefficient 5/6).
    """
    modulus, thickness, width, span = (np.asarray(value, dtype=float) for value in (modulus, thickness, width, span))
    normal = modulus * thickness**3 * width / (1.0 - np.asarray(poisson, dtype=float) ** 2) / span**3
    area = thickness * width
    shear_modulus = modulus / (2.0 * (1.0 + np.asarray(poisson, dtype=float)))
    across = 1.0 / (span**3 / (modulus * thickness * width**3) + span / (5.0 / 6.0 * shear_modulus * area))
    return StripStiffness(normal, modulus * area / span, across)


def strip_stress(force: ArrayLike, thickness: ArrayLike, width: ArrayLike, span: ArrayLike) -> np.ndarray:
    """Bending stress at the clamped ends of one such strip under a force square to it, MPa: moment F span / 2."""
    return 0.5 * np.asarray(force, dtype=float) * span / rectangle_modulus(width, thickness)
