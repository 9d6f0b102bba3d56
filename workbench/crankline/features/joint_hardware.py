"""Pieces of hardware of one joint: what is bought, how many, how long. Parts count theirs with these; ``hardware`` gathers a car's.

What is drilled on assembly has no holes in the parts and says so.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from .. import catalog
from ..mechanics.fasteners import INTO_METAL
from ..units import INCH, length_text, sized

PITCH = 4.0 * INCH
"""Largest distance of screws or rivets along an edge of sheet (common practice, no source)."""
END = 1.0 * INCH
"""From the end of an edge to its first and last screw or rivet (common practice, no source)."""
ON_ASSEMBLY = "common practice, drilled on assembly"


@dataclass(frozen=True)
class HardwareLine:
    """``row``: name in the catalog of hardware, or what it is where the catalog has none (``known`` False).

    ``count``: of what the builder chooses, as many as there may be; ``where``: keys of the parts that it joins; ``length`` of a bolt
    under its head, of a dowel as far as it stands out of the block, of a spacer its thickness, mm, None where the parts do not give it;
    ``note``: what else has to be known of it, such as that no hole is drawn.
    """
    row: str
    count: int
    where: tuple[str, ...]
    length: float | None = None
    known: bool = True
    note: str = ""


def spaced() -> str:
    """What is noted of screws or rivets along an edge."""
    return f"{ON_ASSEMBLY}, no farther apart than {length_text(PITCH)}"


def along(length: float) -> int:
    """Screws or rivets along an edge of sheet of a length in mm: one near either end and none further apart than ``PITCH``; one in the
    middle of an edge that is too short for two."""
    return 1 + math.ceil((length - 2.0 * END) / PITCH - 1e-9) if length > 2.0 * END else 1


def piece(kind: str, diameter: float, count: int, where: tuple[str, ...], length: float | None = None,
          note: str = "") -> tuple[HardwareLine, ...]:
    """So many of one kind for a diameter; nothing where the count is 0."""
    if count == 0:
        return ()
    name = catalog.hardware_name(kind, diameter)
    return (HardwareLine(name or f"{kind.replace('_', ' ')} {sized(diameter)}", count, where, length, name is not None, note),)


def through(diameter: float, count: int, grip: float, where: tuple[str, ...]) -> tuple[HardwareLine, ...]:
    """Bolt, locknut and a washer under each; two threads stand out of the nut."""
    name = catalog.hardware_name("bolt", diameter)
    thread = catalog.hardware(name).thread if name else None
    pitch = catalog.fastener(thread).pitch if thread else 0.15 * diameter
    least = grip + 2.0 * _height("washer", diameter) + _height("nut", diameter) + 2.0 * pitch
    return (*_bolt(diameter, count, least, where), *piece("nut", diameter, count, where), *piece("washer", diameter, 2 * count, where))


def tapped(diameter: float, count: int, grip: float, where: tuple[str, ...]) -> tuple[HardwareLine, ...]:
    """Bolt into a tapped hole, with a washer."""
    least = grip + _height("washer", diameter) + INTO_METAL * diameter
    return (*_bolt(diameter, count, least, where), *piece("washer", diameter, count, where))


def bolts_of(holes: list[tuple[float, float, float]]) -> list[tuple[float, int]]:
    """(bolt diameter, count) of clearance holes (y, z, diameter): the largest bolt of the catalog that the hole clears closely."""
    counts: dict[float, int] = {}
    for _, _, hole in holes:
        fit = catalog.bolt_in(hole)
        diameter = fit.diameter if fit else hole
        counts[diameter] = counts.get(diameter, 0) + 1
    return sorted(counts.items())


def _height(kind: str, diameter: float) -> float:
    name = catalog.hardware_name(kind, diameter)
    # Without a row: a nut as high as its bolt is thick, a washer of a fifth.
    return catalog.hardware(name).height if name else diameter * {"nut": 1.0, "washer": 0.2}[kind]


def _bolt(diameter: float, count: int, least: float, where: tuple[str, ...]) -> tuple[HardwareLine, ...]:
    """Bolts in the next length of the catalog's steps."""
    name = catalog.hardware_name("bolt", diameter)
    step = catalog.hardware(name).step if name else 5.0
    return piece("bolt", diameter, count, where, round(step * math.ceil(least / step - 1e-9), 6))
