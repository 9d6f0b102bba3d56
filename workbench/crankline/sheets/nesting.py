"""Flat patterns of one material and thickness laid out together on sheets of stock, by the rectangles around them: on shelves, the
tallest first, each on the first shelf and sheet that has room for it. Pure but for what ``dxf`` writes."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .. import units
from ..geometry.outline import Flat, Loop, Vertex
from ..reports import csv_table
from ..units import sized
from . import csv_list, dxf
from .drawing import SheetError
from .flat_patterns import CutFile

LIST = "nests.csv"
EDGE, GAP = 10.0, 6.0
"""mm kept free along the edges of a sheet, and between parts; at least a thickness between them (common practice, no source)."""


@dataclass(frozen=True)
class Place:
    """Where a rectangle lies: its number, the sheet that it is on, its lower left corner, mm, and whether it is turned a quarter."""
    number: int
    sheet: int
    x: float
    y: float
    turned: bool


@dataclass
class _Shelf:
    sheet: int
    y: float
    height: float
    used: float


def packed(sizes: Sequence[tuple[float, float]], stock: tuple[float, float], gap: float = GAP, edge: float = EDGE) -> tuple[Place, ...]:
    """Places of rectangles (width, height) on sheets of a size, mm, in the order given; ValueError with the number of one that is larger
    than a sheet."""
    long, wide = max(stock) - 2.0 * edge, min(stock) - 2.0 * edge
    shelves: list[_Shelf] = []
    tops: list[float] = []
    found: dict[int, Place] = {}
    # Longer side along the shelf: shelves are low, and the rest of a sheet stays in one piece.
    lying = [(max(size), min(size), size[1] > size[0]) for size in sizes]
    for number in sorted(range(len(sizes)), key=lambda i: (-lying[i][1], -lying[i][0], i)):
        length, height, turned = lying[number]
        if length > long or height > wide:
            raise ValueError(number)
        shelf = next((one for one in shelves if one.height >= height and one.used + length <= long), None)
        if shelf is None:
            sheet = next((i for i, top in enumerate(tops) if top + height <= wide), len(tops))
            if sheet == len(tops):
                tops.append(0.0)
            shelf = _Shelf(sheet, tops[sheet], height, 0.0)
            tops[sheet] += height + gap
            shelves.append(shelf)
        found[number] = Place(number, shelf.sheet, edge + shelf.used, edge + shelf.y, turned)
        shelf.used += length + gap
    return tuple(found[number] for number in range(len(sizes)))


def _moved(points: Sequence[tuple[float, float]], turned: bool, dy: float, dz: float) -> list[tuple[float, float]]:
    return [(dy - z, dz + y) if turned else (dy + y, dz + z) for y, z in points]


def _laid(file: CutFile, place: Place) -> dxf.Pattern:
    """A cut file's pattern where it lies on its sheet."""
    low_y, low_z, _high_y, high_z = file.flat.bounds
    dy, dz = (place.x + high_z, place.y - low_y) if place.turned else (place.x - low_y, place.y - low_z)

    def lines(given: Sequence[Sequence[tuple[float, float]]]) -> list[list[tuple[float, float]]]:
        return [_moved(line, place.turned, dy, dz) for line in given]

    def item(one: Any) -> Any:
        if isinstance(one, Loop):
            corners = _moved([(v.y, v.z) for v in one.vertices], place.turned, dy, dz)
            return Loop(tuple(Vertex(y, z, v.bulge) for (y, z), v in zip(corners, one.vertices)))
        (y, z), = _moved([(one.y, one.z)], place.turned, dy, dz)
        return type(one)(y, z, one.diameter)

    flat = Flat(item(file.flat.outer), tuple(map(item, file.flat.inner)))
    return dxf.Pattern(flat, lines(file.etched), lines(file.piece.bends), lines(file.piece.trims))


def write(files: Sequence[CutFile], folder: str | Path, stock: tuple[float, float], system: str) -> list[Path]:
    """Write ``nest_<material>_<thickness>_<sheet>.dxf`` for every sheet of stock, and the list of what is on them; the paths. SheetError
    where a part is larger than the stock. What is laid up is not cut from sheet and left out."""
    folder, unit = Path(folder), "in" if system == "in" else "mm"
    groups: dict[tuple[str, float], list[CutFile]] = {}
    for file in files:
        if not file.laid_up:
            groups.setdefault((file.material, round(file.piece.thickness, 4)), []).extend([file] * file.quantity)
    paths: list[Path] = []
    rows: list[tuple[Any, ...]] = [("file", "material", f"thickness_{unit}", f"stock_length_{unit}", f"stock_width_{unit}", "mark", "piece",
                                    "quantity", "sheet_used_percent")]
    for (material, thickness), parts in sorted(groups.items()):
        boxes = [(high_y - low_y, high_z - low_z) for low_y, low_z, high_y, high_z in (part.flat.bounds for part in parts)]
        try:
            places = packed(boxes, stock, max(GAP, thickness))
        except ValueError as error:
            part = parts[error.args[0]]
            raise SheetError(f"{part.name} does not fit on stock of {sized(max(stock))} by {sized(min(stock))} with {sized(EDGE)} free "
                             "along its edges; give a larger --stock") from None
        for sheet in range(1 + max(place.sheet for place in places)):
            here = [place for place in places if place.sheet == sheet]
            name = f"nest_{material or 'material'}_{thickness:g}mm_{sheet + 1}.dxf"
            paths.append(dxf.write_patterns([_laid(parts[place.number], place) for place in here], folder / name))
            share = 100.0 * sum(parts[place.number].flat.area for place in here) / (stock[0] * stock[1])
            length = units.to(1.0, "length", unit)
            counted: dict[tuple[str, str], int] = {}
            for place in here:
                which = parts[place.number].mark, parts[place.number].piece.name
                counted[which] = counted.get(which, 0) + 1
            rows += [(name, material, *(units.rounded(value * length, 6) for value in (thickness, max(stock), min(stock))), *which, count,
                      round(share, 1)) for which, count in sorted(counted.items())]
    return [*paths, csv_list.write(csv_table.lines(rows), folder / LIST)]
