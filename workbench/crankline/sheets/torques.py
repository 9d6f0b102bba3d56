"""How tight the bolts of a kit's joints are drawn: size, grade, torque and where, for the instruction sheet.

What is screwed into engine or transmission is tightened as their makers say, since only they know the thread in the casting.
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import catalog
from ..features.joint_hardware import HardwareLine
from ..mechanics import fasteners

NUT_FACTOR = 0.20
"""K of a dry, plated bolt (published bolt torque tables)."""
SOURCE = ("Torque is K F d: K = 0.20 for dry threads, F = 75% of the proof load of the grade (SAE J429, ISO 898-1), as published bolt "
          "torque tables have it. Oiled or waxed threads need less: ask the maker of the bolt. Add what turns a locknut on the bare "
          "thread.")
SNUG = "snug: full torque would crush the tube"
MAKER = "as the maker of engine or transmission says"
CROSS_BOLT = frozenset({"receiver", "transmission_mount"})
"""What the cross bolt joins; it goes through a tube (common practice, no source)."""


@dataclass(frozen=True)
class Torque:
    """One kind of bolt in one joint: name in the catalog, grade, keys of what it joins, how many; torque in N mm,
    None where it is not ours to say, and why in ``note``."""
    row: str
    grade: str
    where: tuple[str, ...]
    count: int
    torque: float | None
    note: str = ""


def of(lines: tuple[HardwareLine, ...]) -> tuple[Torque, ...]:
    """Every bolt of a car's hardware, joint by joint, in the order of the lines."""
    nutted = {line.where for line in lines if _kind(line) == "nut"}
    found = []
    for line in lines:
        if _kind(line) != "bolt":
            continue
        grade = (catalog.hardware(line.row).grade or "") if line.known else ""
        if line.where not in nutted:
            torque, note = None, MAKER
        elif frozenset(line.where) == CROSS_BOLT:
            torque, note = None, SNUG
        else:
            torque, note = _torque(line)
        found.append(Torque(line.row, grade, line.where, line.count, torque, note))
    return tuple(found)


def _torque(line: HardwareLine) -> tuple[float | None, str]:
    row = catalog.hardware(line.row) if line.known else None
    if row is None or row.thread is None or row.grade is None:
        return None, "its grade is not known: ask its maker"
    thread = catalog.fastener(row.thread)
    clamp = fasteners.clamp_load(catalog.grade(row.grade).proof, thread.stress_area)
    return float(fasteners.tightening_torque(clamp, thread.diameter, NUT_FACTOR)), ""


def _kind(line: HardwareLine) -> str:
    return catalog.hardware(line.row).kind if line.known else line.row.split(" ")[0]
