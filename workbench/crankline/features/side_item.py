"""A numbered item of the side view, as the part that it points at describes it: plain numbers and words, no sheet."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .. import units
from ..snapshot import PartView


@dataclass(frozen=True)
class Item:
    """One item: where its leader ends (car mm), what the list says of it, whether its mark or number stands below, whether the leader ends
    inside an outline, and keys of the parts that it is of, where these are not all of their role."""
    name: str
    x: float
    z: float
    x_text: float | None = None
    z_text: float | None = None
    note: str = ""
    low: bool = False
    inside: bool = False
    keys: tuple[str, ...] = ()


def size(value: float, system: str) -> str:
    """A size in the car's unit, without the unit."""
    return units.decimal(value / units.INCH, 4) if system == "in" else units.decimal(value, 2)


def tube(section: Any, material: str | None, system: str) -> str:
    """Outside diameter, wall and material of a tube."""
    return f"{size(section.outer_diameter, system)} × {size(section.wall, system)} {material or ''}".rstrip()


def plate(record: Any, system: str) -> str:
    """Thickness and material of a plate."""
    return f"{size(record.thickness, system)} {record.material}"


def at(point: Any) -> tuple[float, float]:
    """X and Z of a point (3,)."""
    return float(point[0]), float(point[2])


def boxes(parts: tuple[PartView, ...]) -> Iterator[tuple[PartView, Any]]:
    """Part and box, car frame, of every part that has a shape."""
    return ((part, part.shape.BoundBox) for part in parts if part.shape is not None and not part.shape.isNull())
