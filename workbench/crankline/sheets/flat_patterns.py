"""Flat patterns of a kit: one cut file for each piece that is cut from sheet, named after its part's mark, and a list of them.

Equal parts share one file, whose quantity is in the list. The mark is etched where there is room for it; where there is none the list
says so. Holes for the engine's dowels are cut to size, or as pilots that are marked to be reamed.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from .. import catalog, units
from ..geometry.outline import Circle, Flat
from ..geometry.piece import Piece, Sheet
from ..measure.part_marks import Marked
from ..record import filled
from ..reports import csv_table
from ..snapshot import Snapshot
from ..units import sized
from . import csv_list, dxf, etched_mark
from .drawing import SheetError

LIST = "flats.csv"
"""Name of the list of cut files."""
DOWELLED = ("mid_plate", "protector")
"""Kinds of parts through which the dowels between block and transmission go."""
REAM = "REAM"
BY_HAND = "mark by hand: no room to etch it"
LAID_UP = "a pattern to lay up to, not to cut from sheet"


@dataclass(frozen=True)
class CutFile:
    """A piece of sheet as it is ordered: file, mark of its part, the piece, how many a car needs, material ("" where not given). reamed:
    its holes that are finished by a reamer, as they are then; pilot: diameter at which these are cut, mm, 0 where they are cut to size."""
    name: str
    mark: str
    piece: Sheet
    quantity: int
    material: str
    reamed: tuple[Circle, ...] = ()
    pilot: float = 0.0

    @cached_property
    def flat(self) -> Flat:
        """What is cut."""
        if not self.pilot:
            return self.piece.flat
        return replace(self.piece.flat, inner=tuple(replace(item, diameter=self.pilot) if item in self.reamed else item
                                                    for item in self.piece.flat.inner))

    @cached_property
    def mark_strokes(self) -> tuple[tuple[etched_mark.Point, ...], ...]:
        """Lines of the mark, clear of bend and trim lines; none where there is no room for it."""
        return etched_mark.strokes(self.piece.flat, self.mark, self.piece.bends, self.piece.trims)

    @cached_property
    def etched(self) -> tuple[tuple[etched_mark.Point, ...], ...]:
        """All lettering: the mark, what the piece has beside it, and what says that a hole is reamed."""
        found = self.mark_strokes
        for text in self.piece.lettering:
            found += etched_mark.strokes(self.piece.flat, text, (*self.piece.bends, *found), self.piece.trims)
        for hole in self.reamed if self.pilot else ():
            found += etched_mark.beside(self.piece.flat, hole, REAM, (*found, *self.piece.bends, *self.piece.trims))
        return found

    @property
    def laid_up(self) -> bool:
        """Whether it is laid up to the pattern instead of cut from sheet."""
        return catalog.family(self.material) == "composite"

    @property
    def note(self) -> str:
        """What the shop has to know besides the file."""
        told = [self.piece.note] if self.piece.note else []
        if self.reamed:
            size = sized(self.reamed[0].diameter)
            told.append(f"ream {len(self.reamed)} dowel holes to {size}, cut as pilots of {sized(self.pilot)}" if self.pilot else
                        f"{len(self.reamed)} dowel holes cut to {size}")
        if self.laid_up:
            told.append(LAID_UP)
        return "; ".join([*told, *([] if self.mark_strokes else [BY_HAND])])

    @property
    def mass(self) -> float | None:
        """kg of one piece when it is finished; None where the material's density is not known."""
        if self.material not in catalog.names("materials"):
            return None
        return self.piece.flat.area * self.piece.thickness * catalog.material(self.material).density


def cut_files(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]]) -> tuple[CutFile, ...]:
    """The cut files of a car, in the order of their marks. SheetError where the pilot of the dowel holes is as large as they are."""
    pilot = _pilot(snapshot)
    found = []
    for item in marked:
        part = snapshot.part(item.keys[0])
        sheets = [piece for piece in pieces.get(item.keys[0], ()) if isinstance(piece, Sheet)]
        for piece in sheets:
            stem = item.mark if len(sheets) == 1 else f"{item.mark}-{piece.name.replace(' ', '-')}"
            material = part.material if part is not None else ""
            reamed = _dowel_holes(snapshot, piece) if part is not None and part.kind in DOWELLED else ()
            found.append(CutFile(f"{stem}.dxf", item.mark, piece, item.quantity * piece.count, material, reamed, pilot if reamed else 0.0))
    return tuple(found)


def _pilot(snapshot: Snapshot) -> float:
    """Diameter at which dowel holes are cut, 0 where they are cut to size."""
    mid, dowel = filled(snapshot.car).plates.mid, filled(snapshot.car).engine.dowel_diameter
    if mid is None or mid.dowel_pilot is None:
        return 0.0
    if mid.dowel_pilot >= dowel:
        raise SheetError(f"plates.mid.dowel_pilot: {sized(mid.dowel_pilot)} was found; give less than the dowels' {sized(dowel)}, or leave "
                         "it out to have the holes cut to size")
    return float(mid.dowel_pilot)


def _dowel_holes(snapshot: Snapshot, piece: Sheet) -> tuple[Circle, ...]:
    """The holes of a plate of the stack through which the engine's dowels go."""
    engine = filled(snapshot.car).engine
    dowels = {(round(y, 3), round(z, 3)) for y, z, diameter in engine.rear_holes if abs(diameter - engine.dowel_diameter) < 0.01}
    return tuple(hole for hole in piece.flat.holes
                 if (round(hole.y, 3), round(hole.z, 3)) in dowels and abs(hole.diameter - engine.dowel_diameter) < 0.01)


def write(files: Sequence[CutFile], folder: str | Path, system: str) -> list[Path]:
    """Write every cut file and the list of them into a folder; the paths. SheetError at the first that is not fit to cut."""
    folder = Path(folder)
    paths = [dxf.write(file.flat, folder / file.name, file.etched, file.piece.bends, file.piece.trims) for file in files]
    return [*paths, csv_list.write(listed(files, system), folder / LIST)]


def listed(files: Sequence[CutFile], system: str) -> str:
    """The list as comma-separated text in the units of the car: in, in2, lb or mm, mm2, kg. Area and cut length are those of the file."""
    unit, mass_unit = ("in", "lb") if system == "in" else ("mm", "kg")
    lines: list[tuple[Any, ...]] = [
        ("file", "mark", "piece", "quantity", "material", f"thickness_{unit}", f"area_{unit}2", f"cut_length_{unit}", f"mass_{mass_unit}",
         "note")]
    for file in files:
        length = units.to(1.0, "length", unit)
        mass = "" if file.mass is None else units.rounded(units.to(file.mass, "mass", mass_unit), 6)
        lines.append((file.name, file.mark, file.piece.name, file.quantity, file.material,
                      units.rounded(file.piece.thickness * length, 6), units.rounded(file.flat.area * length * length, 6),
                      units.rounded(file.flat.cut_length * length, 6), mass, file.note))
    return csv_table.lines(lines)
