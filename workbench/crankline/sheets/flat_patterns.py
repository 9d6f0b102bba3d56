"""Flat patterns of a kit: one cut file for each piece that is cut from sheet, named after its part's mark, and a list of them.

Equal parts share one file, whose quantity is in the list. The mark is etched where there is room for it.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .. import catalog, units
from ..geometry.piece import Piece, Sheet
from ..measure.part_marks import Marked
from ..snapshot import Snapshot
from . import csv_list, dxf, etched_mark

LIST = "flats.csv"
"""Name of the list of cut files."""


@dataclass(frozen=True)
class CutFile:
    """A piece of sheet as it is ordered: file, mark of its part, the piece, how many a car needs, material ("" where not given)."""
    name: str
    mark: str
    piece: Sheet
    quantity: int
    material: str

    @property
    def etched(self) -> tuple[tuple[etched_mark.Point, ...], ...]:
        """Lines of the mark, clear of bend and trim lines; none where there is no room for it."""
        return etched_mark.strokes(self.piece.flat, self.mark, self.piece.bends, self.piece.trims)

    @property
    def mass(self) -> float | None:
        """kg of one piece; None where the material's density is not known."""
        if self.material not in catalog.names("materials"):
            return None
        return self.piece.flat.area * self.piece.thickness * catalog.material(self.material).density


def cut_files(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]]) -> tuple[CutFile, ...]:
    """The cut files of a car, in the order of their marks."""
    found = []
    for item in marked:
        part = snapshot.part(item.keys[0])
        sheets = [piece for piece in pieces.get(item.keys[0], ()) if isinstance(piece, Sheet)]
        for piece in sheets:
            stem = item.mark if len(sheets) == 1 else f"{item.mark}-{piece.name.replace(' ', '-')}"
            material = part.material if part is not None else ""
            found.append(CutFile(f"{stem}.dxf", item.mark, piece, item.quantity * piece.count, material))
    return tuple(found)


def write(files: Sequence[CutFile], folder: str | Path, system: str) -> list[Path]:
    """Write every cut file and the list of them into a folder; the paths. SheetError at the first that is not fit to cut."""
    folder = Path(folder)
    paths = [dxf.write(file.piece.flat, folder / file.name, file.etched, file.piece.bends, file.piece.trims) for file in files]
    return [*paths, csv_list.write(listed(files, system), folder / LIST)]


def listed(files: Sequence[CutFile], system: str) -> str:
    """The list as comma-separated text in the units of the car: in, in2, lb or mm, mm2, kg."""
    unit, mass_unit = ("in", "lb") if system == "in" else ("mm", "kg")
    lines: list[tuple[Any, ...]] = [
        ("file", "mark", "piece", "quantity", "material", f"thickness_{unit}", f"area_{unit}2", f"cut_length_{unit}", f"mass_{mass_unit}",
         "note")]
    for file in files:
        flat, length = file.piece.flat, units.to(1.0, "length", unit)
        mass = "" if file.mass is None else units.rounded(units.to(file.mass, "mass", mass_unit), 6)
        lines.append((file.name, file.mark, file.piece.name, file.quantity, file.material,
                      units.rounded(file.piece.thickness * length, 6), units.rounded(flat.area * length * length, 6),
                      units.rounded(flat.cut_length * length, 6), mass, file.piece.note))
    return csv_list.text(lines)
