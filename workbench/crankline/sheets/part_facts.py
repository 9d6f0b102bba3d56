"""What is said of a part beside its views: material, finish, mass, what it meets and how, what it is easily taken for, how it is welded."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from .. import catalog, units
from ..features.part_kind import Hold
from ..features.registry import declaration
from ..geometry.piece import Bar, Piece, Seam, Sheet, Solid, Tube
from ..measure import part_marks, relations
from ..measure.measurer import Measurer
from ..measure.part_marks import Marked
from ..snapshot import PartView, Snapshot
from . import flat_patterns, part_welds, tube_list
from .part_welds import Welded
from .tube_list import Sawn

NEAR = 2.0
"""mm that boxes of parts may be apart that are joined: shims and clearance (common practice, no source)."""
SIZES = "Sizes of fillets: the leg that the strength screening counts on"
UNSIZED = "Fillets without a size: leg = thickness of the thinner piece (common practice)"
_PAINTED = "deburr; bare where it is welded, paint after welding"
FINISH = {"alloy_steel": _PAINTED, "carbon_steel": _PAINTED, "aluminum": "deburr, break edges", "titanium": "deburr, break edges",
          "composite": "as laid up, edges sealed"}
"""Family of materials to what is done to a finished part (common practice, no source); the customer may order something else."""


@dataclass(frozen=True)
class Facts:
    """One mark. lines: sentences that are written below its views; files: name of the cut file of each sheet of it, by the piece's name;
    part: the first of its parts, and joints: what that is welded to; both nothing where there is no shape."""
    mark: str
    name: str
    quantity: int
    mass: float | None
    pieces: tuple[Piece, ...]
    lines: tuple[str, ...]
    files: Mapping[str, str]
    saws: tuple[Sawn, ...]
    part: PartView | None = None
    joints: tuple[Welded, ...] = ()

    @property
    def assembled(self) -> bool:
        """Whether it has to be seen put together: welded, of several pieces, bent, or of none that is drawn."""
        return bool(self.part is not None and self.part.shape is not None and (
            self.joints or len(self.pieces) != 1 or isinstance(self.pieces[0], Solid) or getattr(self.pieces[0], "bends", ())))

    def cut_file(self, piece: Sheet) -> str:
        """Name of a piece's cut file."""
        return self.files[piece.name]

    def sawn(self, piece: Tube | Bar) -> Sawn | None:
        """The row of a piece in the tube list."""
        return next((row for row in self.saws if row.piece.name == piece.name), None)


def facts(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]],
          measurer: Measurer | None = None, seams: Mapping[str, Sequence[Seam]] = MappingProxyType({})) -> tuple[Facts, ...]:
    """Of every mark, in order; seams: key to the welds inside a part, car frame. Without a measurer it is said what a part is made to meet,
    not whether it does."""
    files, saws = flat_patterns.cut_files(snapshot, marked, pieces), tube_list.sawn(snapshot, marked, pieces)
    names, fillets = part_marks.by_key(marked), part_welds.legs(snapshot)
    found = []
    for item in marked:
        part = snapshot.part(item.keys[0])
        if part is None:
            continue
        saws_of = tuple(row for row in saws if row.mark == item.mark)
        made = _merged(pieces.get(part.key, ()), saws_of, item.quantity)
        joints = (*part_welds.of_mark(snapshot, item.keys, names, fillets, measurer), *part_welds.inside(seams.get(part.key, ())))
        found.append(Facts(item.mark, declaration(part.kind, part.key).label, item.quantity, part.mass, made,
                           (*_lines(snapshot, item, part, made, names, measurer), *([SIZES] if any(one.leg for one in joints) else []),
                            *([UNSIZED] if any(one.leg is None for one in joints) else [])),
                           {one.piece.name: one.name for one in files if one.mark == item.mark},
                           saws_of, part, joints))
    return tuple(found)


def _merged(pieces: Sequence[Piece], saws: Sequence[Sawn], quantity: int) -> tuple[Piece, ...]:
    """The pieces of a part; those of tube and bar that are equal but for their name once, as in the tube list."""
    found = [replace(row.piece, count=row.quantity // quantity) for row in saws]
    return (*(one for one in pieces if isinstance(one, Sheet)), *found, *(one for one in pieces if isinstance(one, Solid)))


def _lines(snapshot: Snapshot, item: Marked, part: PartView, pieces: Sequence[Piece], names: Mapping[str, str],
           measurer: Measurer | None) -> list[str]:
    family = catalog.family(part.material) if part.material else ""
    finish = "deburr" if part.reference else FINISH.get(family or "", "deburr")   # what is no part of the car is neither welded nor painted
    told = [f"{part.material or 'material as ordered'}; {finish}; {mass_text(part.mass, item.quantity)}"]
    also = [f"{one.count} × {one.name}: {one.note}" for one in pieces if isinstance(one, Solid)]
    if also:
        told.append(f"Also {'; '.join(also)}")
    met = meets(snapshot, item, names, measurer)
    told += [f"{how.capitalize()} to {', '.join(to)}" if how != "sliding" else f"Slides in {', '.join(to)}" for how, to in met.items()]
    if item.look_alikes:
        told.append(f"LOOK-ALIKE of {', '.join(item.look_alikes)}: check the mark")
    return told


def mass_text(mass: float | None, quantity: int) -> str:
    """Mass of one part, and of all where there are several, in the units that people read now."""
    if mass is None:
        return "mass not known"
    unit = "lb" if units.reading() == "in" else "kg"
    one = units.to(mass, "mass", unit)
    return f"mass {one:.3f} {unit}" + (f" each, {quantity * one:.3f} {unit} for {quantity}" if quantity > 1 else "")


def meets(snapshot: Snapshot, item: Marked, names: Mapping[str, str], measurer: Measurer | None) -> dict[str, list[str]]:
    """How to what: marks of the kit's parts, names of the others, that parts of a mark are joined to by design and, where that can be
    measured, are beside; what is welded also touches (bolted faces may have a shim between them)."""
    found: dict[str, list[str]] = {}
    for key in item.keys:
        part = snapshot.part(key)
        if part is None:
            continue
        for other in snapshot.parts:
            joint = relations.join(part, other) if other.key != key else None
            if joint is None or not _meet(part, other, joint.how, measurer):
                continue
            name = part_welds.called(other, names)
            if name not in found.setdefault(joint.how, []):
                found[joint.how].append(name)
    return {how: sorted(to) for how, to in sorted(found.items())}


def _meet(part: PartView, other: PartView, how: str, measurer: Measurer | None) -> bool:
    if measurer is None or part.shape is None or other.shape is None:
        return True
    if not measurer.near(part.shape, other.shape, NEAR):
        return False
    return how != Hold.WELDED.value or bool(measurer.meets(part.shape, other.shape))


