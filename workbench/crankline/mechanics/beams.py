"""Beams and plate strips that hold a powertrain: moment, stress, deflection, stiffness; mm, N, N/mm2 (= MPa).

Linear bending of straight members (Euler and Bernoulli; shear where said), as in any handbook of beam formulas.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from .shaft import tube_section


class Bending(NamedTuple):
    """Largest bending moment N.mm, deflection mm and end forces N of a beam."""

    moment: np.ndarray
    deflection: np.ndarray
    reactions: np.ndarray


def rectangle_modulus(width: ArrayLike, thickness: ArrayLike) -> np.ndarray:
    """Elastic section modulus of a rectangle bent across its thickness, mm3: w t^2 / 6."""
    return np.asarray(width, dtype=float) * np.asarray(thickness, dtype=float) ** 2 / 6.0


def tube_modulus(outer_diameter: ArrayLike, wall: ArrayLike) -> np.ndarray:
    """Elastic section modulus of a round tube, mm3: 2 I / D."""
    return 2.0 * tube_section(outer_diameter, wall).second_moment / outer_diameter


def simple_beam(
    span: float, positions: ArrayLike, forces: ArrayLike, bending_stiffness: float
) -> Bending:
    """A beam on two simple supports under point forces: the careful side for a tube whose ends are welded.

    positions: (k,) from the left support, mm; forces: (..., k) N; bending_stiffness: E I, N.mm2. Largest moment stands
    under a force; the deflection is the largest of 201 evenly spaced points. ValueError for a position off the span.
    """
    positions = np.atleast_1d(np.asarray(positions, dtype=float))
    forces = np.asarray(forces, dtype=float)
    if not np.all((positions >= 0.0) & (positions <= span)):
        raise ValueError(f"span: found a force off the span of {span:g} mm; move it between the supports.")
    right = (forces * positions).sum(axis=-1) / span
    left = forces.sum(axis=-1) - right
    moments = left[..., None] * positions - (forces[..., None, :] * np.maximum(
        positions[:, None] - positions, 0.0)).sum(axis=-1)
    x = np.linspace(0.0, span, 201)[:, None]
    # Deflection at x of a unit force at a: the reciprocal form covers both sides of the force.
    near, far = np.minimum(x, positions), np.maximum(x, positions)
    unit = near * (span - far) * (span**2 - near**2 - (span - far) ** 2) / (6.0 * bending_stiffness * span)
    sag = forces @ unit.T
    return Bending(np.abs(moments).max(axis=-1), np.abs(sag).max(axis=-1), np.stack([left, right], axis=-1))


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
