"""Hardware of a car's joints with counts: what is bought and bolted, joint by joint, for lists and kits.

Every part lists what holds it (``part_kind``), counted with the sizes that its geometry uses, so a list and the drilled holes cannot
disagree. What belongs to engine and transmission themselves (studs in the block, bolts of the converter's pads) is theirs and not
listed; dowels and pad spacers are, because the plates between decide their length.
"""
from __future__ import annotations

from .. import model
from ..mechanics import scene as scenes
from ..record import filled
from ..units import read_in
from .joint_hardware import HardwareLine
from .registry import declared


def hardware(car: model.Car) -> tuple[HardwareLine, ...]:
    """Every piece of hardware of a car, joint by joint; ValueError where a joint cannot be laid out."""
    scene, car = scenes.of(car), filled(car)
    with read_in(car.car.units):
        return tuple(line for part in declared().values() if part.hardware for line in part.hardware(car, scene))


def total(lines: tuple[HardwareLine, ...]) -> tuple[tuple[str, float | None, int], ...]:
    """(row, length, count) over all joints, sorted: what is ordered."""
    sums: dict[tuple[str, float | None], int] = {}
    for line in lines:
        sums[line.row, line.length] = sums.get((line.row, line.length), 0) + line.count
    return tuple((row, length, count) for (row, length), count in sorted(sums.items(), key=lambda item: (item[0][0], item[0][1] or 0.0)))
