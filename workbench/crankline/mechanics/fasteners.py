"""Bolts and pins: stress area, proof and clamp load, shear, tension, bearing; mm, N, N/mm2 (= MPa), torque N.mm.

Screening arithmetic for a builder, never a certificate. Resistances are those of EN 1993-1-8 table 3.4 (factored loads
on one side, strength over gamma_M2 on the other). Threads and grades are data: they come in as numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .frames import cross

METRIC_FACTOR, INCH_FACTOR = 0.9382, 0.9743
"""Pitches taken off the diameter for the stress area: ISO 898-1 (metric), ASME B1.1 (inch threads)."""

GAMMA_M2 = 1.25
"""Partial factor for bolts and for plates in bearing, EN 1993-1-8 clause 2.2 (recommended value)."""


INTO_METAL = 1.5
"""Thread of a bolt in a tapped hole, in bolt diameters (common practice for aluminum, no source)."""


@dataclass(frozen=True)
class Bolt:
    """A bolt as numbers: diameter mm, stress_area mm2, proof and ultimate strength MPa.

    threads_in_shear: whether a shear plane may cut the thread, which is the careful side and the default.
    """

    diameter: float
    stress_area: float
    proof: float
    ultimate: float
    threads_in_shear: bool = True

    @property
    def shear_area(self) -> float:
        """Area of one shear plane, mm2: stress area through the thread, else the shank."""
        return self.stress_area if self.threads_in_shear else np.pi / 4.0 * self.diameter**2


def stress_area(diameter: ArrayLike, pitch: ArrayLike, factor: ArrayLike = METRIC_FACTOR) -> np.ndarray:
    """Tensile stress area of a thread, mm2: pi/4 (d - factor P)^2, with `METRIC_FACTOR` or `INCH_FACTOR`."""
    return np.pi / 4.0 * (np.asarray(diameter, dtype=float) - np.asarray(factor) * pitch) ** 2


def proof_load(proof: ArrayLike, area: ArrayLike) -> np.ndarray:
    """Load in N that a bolt takes without lasting stretch: proof strength x stress area (ISO 898-1, SAE J429)."""
    return np.asarray(proof, dtype=float) * area


def clamp_load(proof: ArrayLike, area: ArrayLike, fraction: ArrayLike = 0.75) -> np.ndarray:
    """Preload in N of a bolt that is to be taken out again: 75 % of the proof load (published bolt torque tables)."""
    return fraction * proof_load(proof, area)


def tightening_torque(clamp: ArrayLike, diameter: ArrayLike, nut_factor: ArrayLike = 0.20) -> np.ndarray:
    """Torque in N.mm for a preload in N: K F d; K = 0.20 dry (published bolt torque tables)."""
    return nut_factor * np.asarray(clamp, dtype=float) * diameter


def shear_factor(ultimate: ArrayLike, threads_in_shear: ArrayLike = True) -> np.ndarray:
    """Shear over tensile strength (EN 1993-1-8 table 3.4): 0.6; 0.5 for bolts of 1000 MPa or more cut in the thread."""
    return np.where(np.asarray(threads_in_shear) & (np.asarray(ultimate) >= 1000.0), 0.5, 0.6)


def shear_resistance(bolt: Bolt, planes: ArrayLike = 1, gamma: float = GAMMA_M2) -> np.ndarray:
    """Shear resistance of one bolt, N: planes x alpha_v f_ub A / gamma_M2; two planes = double shear."""
    alpha = shear_factor(bolt.ultimate, bolt.threads_in_shear)
    return alpha * bolt.ultimate * bolt.shear_area / gamma * planes


def tension_resistance(bolt: Bolt, gamma: float = GAMMA_M2) -> float:
    """Tension resistance of one bolt, N: 0.9 f_ub A_s / gamma_M2 (EN 1993-1-8 table 3.4)."""
    return 0.9 * bolt.ultimate * bolt.stress_area / gamma


def utilisation(
    shear: ArrayLike, tension: ArrayLike, bolt: Bolt, planes: ArrayLike = 1, gamma: float = GAMMA_M2
) -> np.ndarray:
    """Share of a bolt's resistance used by shear and tension (N) together; 1 is all of it.

    V / V_Rd + T / (1.4 T_Rd), and not less than T / T_Rd (EN 1993-1-8 table 3.4).
    """
    pulled = np.asarray(tension, dtype=float) / tension_resistance(bolt, gamma)
    return np.maximum(np.asarray(shear, dtype=float) / shear_resistance(bolt, planes, gamma) + pulled / 1.4, pulled)


def bearing_resistance(
    diameter: ArrayLike,
    thickness: ArrayLike,
    hole: ArrayLike,
    end_distance: ArrayLike,
    edge_distance: ArrayLike,
    plate_ultimate: ArrayLike,
    bolt_ultimate: ArrayLike = np.inf,
    gamma: float = GAMMA_M2,
) -> np.ndarray:
    """Bearing resistance of a plate at an end bolt, N: k1 alpha_b f_u d t / gamma_M2 (EN 1993-1-8 table 3.4).

    alpha_b = min(e1 / 3 d0, f_ub / f_u, 1), k1 = min(2.8 e2 / d0 - 1.7, 2.5). end_distance (e1): hole center to the edge
    along the load, edge_distance (e2): across it, hole: d0, mm. EN 1999-1-1 uses the same form for aluminum. Zero where
    the edge is so near that nothing is left.
    """
    along = np.minimum(np.minimum(np.asarray(end_distance, dtype=float) / (3.0 * np.asarray(hole)),
                                  np.asarray(bolt_ultimate) / plate_ultimate), 1.0)
    across = np.minimum(np.maximum(2.8 * np.asarray(edge_distance, dtype=float) / hole - 1.7, 0.0), 2.5)
    return across * along * plate_ultimate * diameter * thickness / gamma


def strip_resistance(diameter: ArrayLike, engagement: ArrayLike, tapped_ultimate: ArrayLike, gamma: float = GAMMA_M2) -> np.ndarray:
    """Pull in N at which a tapped thread strips: shear area of the internal thread x 0.6 f_u / gamma.

    Area 7/8 pi d L_e: that of FED-STD-H28/2B (Machinery's Handbook) with basic dimensions, for 60 degree threads of any pitch. The screw
    counts as the stronger material.
    """
    return 0.875 * np.pi * np.asarray(diameter, dtype=float) * engagement * 0.6 * tapped_ultimate / gamma


def group_forces(places: ArrayLike, bearing: float, force: ArrayLike, moment: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Largest shear and largest pull, (...) N each, on one bolt of a pattern that holds a rigid plate against a rigid face.

    places: (n, 2) bolts as (u, v) in the face; force (..., 3) along u, v and the normal, whose positive sense lifts the plate off, and
    moment (..., 3) about the origin of the places, right-handed. In the face the elastic vector method; out of it the plate tips about
    a line ``bearing`` mm beyond the outermost bolt, and bolts are pulled by their distance from it (machine design handbooks). Pressing
    does not relieve the bolts: the careful side. One bolt holds no moment about its own axis; it is left out there.
    """
    places = np.asarray(places, dtype=float).reshape(-1, 2)
    force, moment = np.asarray(force, dtype=float), np.asarray(moment, dtype=float)
    middle = places.mean(axis=0)
    moment = moment - cross([*middle, 0.0], force)
    count, (u, v) = len(places), (places - middle).T
    polar = (u**2 + v**2).sum()
    spin = moment[..., 2:] / polar if polar > 1e-9 else np.zeros_like(moment[..., 2:])
    shear = np.hypot(force[..., :1] / count - spin * v, force[..., 1:2] / count + spin * u).max(axis=-1)
    pull = np.maximum(force[..., 2:], 0.0) / count * np.ones(count)
    for tipping, arm in ((moment[..., :1], v), (-moment[..., 1:2], u)):
        # Positive about u lifts what stands at +v, so the plate bears beyond the lowest v; about v it is the other way round.
        low, high = arm - arm.min() + bearing, arm.max() - arm + bearing
        pull = pull + np.where(tipping > 0.0, tipping * low / (low**2).sum(), -tipping * high / (high**2).sum())
    return shear, pull.max(axis=-1)


def least_edge_distance(hole: ArrayLike) -> np.ndarray:
    """Least distance of a hole's center from any edge, mm: 1.2 d0 (EN 1993-1-8 table 3.3)."""
    return 1.2 * np.asarray(hole, dtype=float)
