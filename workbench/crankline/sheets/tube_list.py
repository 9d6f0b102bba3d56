"""The tubes and bars of a kit: what is sawn from stock, how its ends are made, how it is bent, and how many lengths of stock it takes."""
from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from .. import catalog, units
from ..geometry import cope, tube
from ..geometry.cope import CopedEnd
from ..geometry.piece import Bar, Piece, Tube
from ..measure.part_marks import Marked
from ..reports import csv_table
from ..snapshot import Snapshot
from ..units import INCH
from . import csv_list

LIST = "tubes.csv"
"""Name of the list."""
STOCK = 240.0 * INCH
"""Length of a stick of tube as it is bought: 20 ft (common practice, no source; a supplier may cut it shorter for shipping)."""
SAME = 0.05
"""mm by which equal pieces may differ (as of ``congruence.TOLERANCE``)."""
KERF = 0.125 * INCH
"""What one cut of a saw takes (common practice, no source)."""


@dataclass(frozen=True)
class Sawn:
    """One row: mark of the part, the piece, how many a car needs, material, and length that it is sawn to, mm."""
    mark: str
    piece: Tube | Bar
    quantity: int
    material: str
    length: float
    ends: tuple[CopedEnd, CopedEnd] | None

    @property
    def section(self) -> tuple[float, float]:
        """Outside diameter and wall of a tube, width and thickness of a bar, mm."""
        return (self.piece.outer_diameter, self.piece.wall) if isinstance(self.piece, Tube) else (self.piece.width, self.piece.thickness)

    @property
    def mass(self) -> float | None:
        """kg of one piece before it is coped; None where the material's density is not known."""
        if self.material not in catalog.names("materials"):
            return None
        area = tube.volume(*self.section, 1.0) if isinstance(self.piece, Tube) else math.prod(self.section)
        return area * self.length * catalog.material(self.material).density


def sawn(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]]) -> tuple[Sawn, ...]:
    """Every piece of tube and bar of a car's kit, in the order of the marks."""
    found: list[Sawn] = []
    for item in marked:
        part = snapshot.part(item.keys[0])
        for piece in pieces.get(item.keys[0], ()):
            if isinstance(piece, (Tube, Bar)):
                row = _sawn(item, piece, part.material if part is not None else "")
                same = next((i for i, other in enumerate(found) if _equal(other, row)), None)
                if same is None:
                    found.append(row)
                else:
                    other = found[same]
                    named = replace(other.piece, name=f"{other.piece.name}, {piece.name}")
                    found[same] = replace(other, piece=named, quantity=other.quantity + row.quantity)
    return tuple(found)


def _sawn(item: Marked, piece: Tube | Bar, material: str) -> Sawn:
    if isinstance(piece, Bar):
        return Sawn(item.mark, piece, item.quantity * piece.count, material, piece.length, None)
    ends = cope.ends(piece)
    return Sawn(item.mark, piece, item.quantity * piece.count, material, cope.cut_length(piece, ends), ends)


def _equal(a: Sawn, b: Sawn) -> bool:
    """Whether two pieces of one part are the same piece: neither bends nor ends tell them apart."""
    if (a.mark, type(a.piece), a.material, a.piece.note) != (b.mark, type(b.piece), b.material, b.piece.note):
        return False
    if not np.allclose([*a.section, a.length], [*b.section, b.length], rtol=0.0, atol=SAME):
        return False
    if not (isinstance(a.piece, Tube) and isinstance(b.piece, Tube) and a.ends and b.ends):
        return True
    bent = [[*piece.straights, piece.radius, *(piece.radius * turn for turn in (*piece.bends, *piece.rotations))]
            for piece in (a.piece, b.piece)]
    return (len(bent[0]) == len(bent[1]) and np.allclose(*bent, rtol=0.0, atol=SAME)
            and all(np.allclose(one.outward, other.outward, rtol=0.0, atol=SAME) for one, other in zip(a.ends, b.ends)))


def sticks(rows: Sequence[Sawn], stock: float = STOCK, kerf: float = KERF) -> dict[tuple[str, str, float, float], list[list[Sawn]]]:
    """How pieces are cut from sticks of stock, longest first, each from the first stick that has room: (kind, material, section) to the
    pieces of each stick. A piece longer than a stick has one of its own."""
    found: dict[tuple[str, str, float, float], list[list[Sawn]]] = {}
    left: dict[tuple[str, str, float, float], list[float]] = {}
    for row in sorted(rows, key=lambda row: -row.length):
        wide, thick = row.section
        key = ("tube" if isinstance(row.piece, Tube) else "bar", row.material, round(wide, 6), round(thick, 6))
        for _ in range(row.quantity):
            rooms, cut = left.setdefault(key, []), found.setdefault(key, [])
            place = next((i for i, room in enumerate(rooms) if room >= row.length), None)
            if place is None:
                rooms.append(stock)
                cut.append([])
                place = len(rooms) - 1
            rooms[place] -= row.length + kerf
            cut[place].append(row)
    return found


def write(rows: Sequence[Sawn], folder: str | Path) -> Path:
    """Write the list into a folder; its path. SheetError where it cannot be written."""
    return csv_list.write(listed(rows), Path(folder) / LIST)


def listed(rows: Sequence[Sawn]) -> str:
    """The list as comma-separated text in the units that people read now: in and lb, or mm and kg; below it the sticks of stock."""
    unit, mass_unit = ("in", "lb") if units.reading() == "in" else ("mm", "kg")
    lines: list[tuple[Any, ...]] = [
        ("mark", "piece", "quantity", "form", "material", f"outside_or_width_{unit}", f"wall_or_thickness_{unit}", f"cut_length_{unit}",
         f"centerline_length_{unit}", "first_end", "last_end", "bends", f"mass_{mass_unit}", "note")]

    def read(length: float) -> float:
        return units.rounded(units.to(length, "length", unit), 6)

    for row in rows:
        center = row.piece.center_length if isinstance(row.piece, Tube) else row.piece.length
        first, last = (end_text(end) for end in row.ends) if row.ends else ("", "")
        mass = "" if row.mass is None else units.rounded(units.to(row.mass, "mass", mass_unit), 6)
        lines.append((row.mark, row.piece.name, row.quantity, "tube" if isinstance(row.piece, Tube) else "bar", row.material,
                      *map(read, row.section), read(row.length), read(center), first, last, bend_text(row.piece), mass, row.piece.note))
    lines += [(), ("stock", "form", "material", f"outside_or_width_{unit}", f"wall_or_thickness_{unit}", f"stick_{unit}", "sticks",
                   "cut from each")]
    for (form, material, wide, thick), cut in sorted(sticks(rows).items()):
        told = "; ".join(" + ".join(f"{row.mark} {row.piece.name}" for row in one) for one in cut)
        lines.append(("", form, material, read(wide), read(thick), read(STOCK), len(cut), told))
    return csv_table.lines(lines)


def end_text(end: CopedEnd) -> str:
    """How an end is made, in the units that people read now: to what angle and diameter it is coped, how it is clocked, how deep."""
    if end.square:
        return "square"
    told = [f"cope to {units.sized(diameter)}, {math.degrees(angle):.1f} deg, clocked {math.degrees(clocking):.1f} deg"
            for angle, clocking, diameter in zip(end.angles, end.clocking, end.diameters)]
    return f"{' and '.join(told)}, {units.sized(end.deepest)} deep"


def bend_text(piece: Tube | Bar) -> str:
    """The bends along a tube: straight, bend, rotation ... in the order in which they are made from its first end."""
    if not isinstance(piece, Tube) or not piece.bends:
        return ""
    told = [_straight(piece.straights[0])]
    for number, (bend, straight) in enumerate(zip(piece.bends, piece.straights[1:])):
        turned = math.degrees(piece.rotations[number - 1]) if number else 0.0
        told += [f"rotate {turned:.1f} deg" if abs(turned) > 0.05 else "", f"bend {math.degrees(bend):.1f} deg", _straight(straight)]
    return f"center-line radius {units.sized(piece.radius)}: {', '.join(filter(None, told))}"


def _straight(length: float) -> str:
    return units.sized(length) if length > SAME else ""
