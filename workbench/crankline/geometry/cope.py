"""What a coped end looks like unrolled: how far each line along the outside of a tube runs before it meets what the end is coped to.

A template of this curve, wrapped around the tube, is what a fabricator saws or grinds to. Turns are counted right-handed about the tube
as it runs from its first to its last end, from a line that both ends share, so that two templates on one tube are clocked to each other.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from . import tube
from .piece import Bend, Met, Tube

STEPS = 360
"""Lines around the tube that a template is computed at (numerical)."""
REACH = 2.0
"""How far before its end a tube's outside is looked at for what it is coped to, in the sums of both diameters (numerical)."""
_WALK, _HALVINGS = 400, 45


@dataclass(frozen=True)
class CopedEnd:
    """One end. outward: mm beyond the end of the centerline at which each line along the outside ends, by turn (negative where the cope
    bites back); angles: rad between the tube and each member that it meets, at most a right one; clocking: rad of each such member about
    the tube, from the shared line; diameters: of these members."""
    outward: np.ndarray
    angles: tuple[float, ...] = ()
    clocking: tuple[float, ...] = ()
    diameters: tuple[float, ...] = ()

    @property
    def square(self) -> bool:
        """Whether it is a plain square cut."""
        return not self.angles

    @property
    def longest(self) -> float:
        """mm beyond the end of the centerline that the tube's outside reaches."""
        return float(self.outward.max())

    @property
    def deepest(self) -> float:
        """Depth of the cope: from its farthest to its nearest point along the tube, mm."""
        return float(self.outward.max() - self.outward.min())


def turns(steps: int = STEPS) -> np.ndarray:
    """Turns at which ends are computed, rad from the shared line, (steps,)."""
    return np.arange(steps) * (2.0 * np.pi / steps)


def ends(piece: Tube, steps: int = STEPS) -> tuple[CopedEnd, CopedEnd]:
    """First and last end of a piece of tube."""
    found = []
    for number, met in enumerate((piece.first, piece.last)):
        if not met:
            found.append(CopedEnd(np.zeros(steps)))
            continue
        point, outward = (np.array(item) for item in piece.ends[number])
        # The tube runs out of its last end and into its first one.
        along = outward if number else -outward
        zero, aside = across(along)
        angle = turns(steps)
        radial = np.cos(angle)[:, None] * zero + np.sin(angle)[:, None] * aside
        lines = point + 0.5 * piece.outer_diameter * radial
        # Beyond the end of its centerline there is no tube to cope.
        reach = np.minimum(np.min([_first(item, lines, outward, piece.outer_diameter) for item in met], axis=0), 0.0)
        found.append(CopedEnd(reach, *zip(*(_met(item, point, along, zero, aside) for item in met))))
    return found[0], found[1]


def cut_length(piece: Tube, ends: tuple[CopedEnd, CopedEnd]) -> float:
    """Length of stock that a piece with these ends is sawn to before it is bent and coped: from the farthest point at one end to that at
    the other, mm."""
    return piece.center_length + sum(end.longest for end in ends)


def across(along: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The direction from which turns are counted, up where the tube is not upright, else forward, and the one a quarter turn on."""
    up = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    zero = up - along * (along @ up)
    zero /= np.linalg.norm(zero)
    return zero, np.cross(along, zero)


def _met(item: Met, point: np.ndarray, along: np.ndarray, zero: np.ndarray, aside: np.ndarray) -> tuple[float, float, float]:
    """Angle to a member, its clocking in 0 to a half turn (a member runs both ways), and its diameter."""
    direction = _tangent(item, point)
    angle = math.acos(min(1.0, abs(float(direction @ along))))
    clocking = math.atan2(float(direction @ aside), float(direction @ zero)) % math.pi
    return angle, 0.0 if math.pi - clocking < 1e-9 else clocking, item.diameter


def _tangent(item: Met, point: np.ndarray) -> np.ndarray:
    """Direction of a member where the end meets it."""
    if isinstance(item, tube.Header):
        direction = np.array(item.direction)
    else:
        direction = np.cross(item.axis, point - np.array(item.center))
    return direction / np.linalg.norm(direction)


def _from_bend(item: Bend, points: np.ndarray) -> np.ndarray:
    """Distance of points from the centerline of a bend, taken as a whole ring."""
    axis = np.array(item.axis) / np.linalg.norm(item.axis)
    off = points - np.array(item.center)
    height = off @ axis
    return np.hypot(np.linalg.norm(off - height[..., None] * axis, axis=-1) - item.radius, height)


def _first(item: Met, lines: np.ndarray, outward: np.ndarray, diameter: float) -> np.ndarray:
    """Where lines that run outward first enter a member, mm beyond the end; where one passes beside it, abreast of its middle: so far a
    tube that is wider than the member reaches around it."""
    return _into_header(item, lines, outward) if isinstance(item, tube.Header) else _into_bend(item, lines, outward, diameter)


def _into_header(item: tube.Header, lines: np.ndarray, outward: np.ndarray) -> np.ndarray:
    axis = np.array(item.direction) / np.linalg.norm(item.direction)
    across = outward - axis * (outward @ axis)
    off = lines - np.array(item.point)
    off = off - (off @ axis)[:, None] * axis
    a, b, c = float(across @ across), off @ across, (off ** 2).sum(axis=1) - (item.diameter / 2.0) ** 2
    return (-b - np.sqrt(np.maximum(b * b - a * c, 0.0))) / max(a, 1e-12)


def _into_bend(item: Bend, lines: np.ndarray, outward: np.ndarray, diameter: float) -> np.ndarray:
    """By steps along each line, then halving the one in which it enters."""
    reach = REACH * (diameter + item.diameter)
    steps = np.linspace(-reach, reach, _WALK)
    off = _from_bend(item, lines[:, None, :] + steps[:, None] * outward)
    inside = off < item.diameter / 2.0
    index = np.maximum(inside.argmax(axis=1), 1)
    low, high = steps[index - 1], steps[index]
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        within = _from_bend(item, lines + middle[:, None] * outward) < item.diameter / 2.0
        low, high = np.where(within, low, middle), np.where(within, middle, high)
    return np.where(inside.any(axis=1), high, steps[off.argmin(axis=1)])
