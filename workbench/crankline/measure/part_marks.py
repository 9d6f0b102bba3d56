"""Marks of the parts that are made for the kit: a few letters and a number that stand on drawings, cut files and lists.

Equal parts share one mark, whatever side they go to. A part and its mirror image share the number and are told apart by L and R, or by A
and B where both stand in the middle of the car. Parts
that look alike and are not have marks of their own, and each names the other. A mark follows from the part's key and shape alone, so
that it is the same in every run.
"""
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..features.registry import declaration
from ..geometry.congruence import congruent
from ..snapshot import PartView, Snapshot
from .measurer import Measurer

ALIKE = 0.05
"""Share of their volume within which two parts of one name with equally many faces look alike at a glance (common practice, no source)."""

NEAR_VOLUME = 1e-2
"""Share of their volume within which two parts can be equal: wider than the tolerance of any part's faces (numerical)."""


@dataclass(frozen=True)
class Marked:
    """One mark: the keys of the parts that share it, in order, and the marks of parts that are easily taken for it."""
    mark: str
    keys: tuple[str, ...]
    look_alikes: tuple[str, ...] = ()

    @property
    def quantity(self) -> int:
        """How many of it the car needs."""
        return len(self.keys)


@dataclass
class _Group:
    """Equal parts while they are sorted: letters and number, the first of them, its volume."""
    letters: str
    number: int
    first: PartView
    volume: float
    keys: list[str]
    side: str = ""

    @property
    def mark(self) -> str:
        return f"{self.letters}-{self.number}{self.side}"


def of(snapshot: Snapshot, measurer: Measurer) -> tuple[Marked, ...]:
    """The marks of a snapshot's parts, sorted; a part without a shape has none."""
    groups: dict[str, list[_Group]] = {}
    for part in sorted(snapshot.parts, key=lambda part: part.key):
        letters = declaration(part.kind, part.key).mark
        if letters and part.shape is not None and (volume := measurer.volume(part.shape)) is not None:
            _join(groups.setdefault(letters, []), letters, part, volume, measurer)
    found = [Marked(group.mark, tuple(group.keys), _alike(group, of_letters, measurer))
             for of_letters in groups.values() for group in of_letters]
    return tuple(sorted(found, key=lambda item: _order(item.mark)))


def by_key(marked: Sequence[Marked]) -> dict[str, str]:
    """Part key to mark."""
    return {key: item.mark for item in marked for key in item.keys}


def _join(groups: list[_Group], letters: str, part: PartView, volume: float, measurer: Measurer) -> None:
    """Put a part into the group of its equals, or open one."""
    side = ""
    # A fast look first: faces are read only of parts that can be equal.
    near = [group for group in groups
            if group.first.material == part.material and math.isclose(group.volume, volume, rel_tol=NEAR_VOLUME)]
    for group in near:
        if congruent(measurer.faces(group.first.shape), measurer.faces(part.shape)):
            group.keys.append(part.key)
            return
    number = 1 + max((group.number for group in groups), default=0)
    for group in near:
        if not group.side and congruent(measurer.faces(group.first.shape).mirrored(), measurer.faces(part.shape)):
            group.side, side = _sides(*(_middle(measurer.solid(one.shape)["bbox"]) for one in (group.first, part)))
            number = group.number
            break
    groups.append(_Group(letters, number, part, volume, [part.key], side))


def _middle(box: Sequence[float]) -> float:
    """The middle of a box across the car."""
    return (box[1] + box[4]) / 2.0


def _sides(first: float, second: float) -> tuple[str, str]:
    """What tells two mirrored parts apart whose middles are at these Y: the one farther left is L; A and B where both are in the middle."""
    if abs(first - second) < 1.0:
        return "A", "B"
    return ("L", "R") if first > second else ("R", "L")


def _alike(group: _Group, groups: Sequence[_Group], measurer: Measurer) -> tuple[str, ...]:
    def alike(other: _Group) -> bool:
        return (other is not group and math.isclose(other.volume, group.volume, rel_tol=ALIKE)
                and measurer.face_count(other.first.shape) == measurer.face_count(group.first.shape))

    return tuple(sorted((other.mark for other in groups if alike(other)), key=_order))


def _order(mark: str) -> tuple[str, int, str]:
    letters, _, rest = mark.partition("-")
    digits = rest.rstrip("LRAB")
    return letters, int(digits), rest[len(digits):]
