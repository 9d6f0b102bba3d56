"""Flat patterns of a car's plates: one cut file each, named after the part's key."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from ..geometry.outline import Flat
from ..snapshot import Snapshot
from . import dxf

ENVELOPES = ("engine", "transmission")
"""Kinds of bought parts: they have a flat outline too, but nobody cuts it."""


def cut(snapshot: Snapshot, flats: Mapping[str, Flat]) -> dict[str, Flat]:
    """Those flats that belong to parts of the car that are cut from sheet or plate, by key."""
    kinds = {part.key: part.kind for part in snapshot.parts}
    return {key: flats[key] for key in sorted(flats) if key in kinds and kinds[key] not in ENVELOPES}


def file_name(key: str) -> str:
    """File name of a part's flat pattern: ``mid_plate`` makes ``mid-plate.dxf``, ``rail_tab/left_front`` ``rail-tab-left-front.dxf``."""
    return key.replace("_", "-").replace("/", "-") + ".dxf"


def write(flats: Mapping[str, Flat], folder: str | Path) -> list[Path]:
    """Write every flat pattern into a folder; the paths, sorted by key. SheetError at the first that is not fit to cut."""
    return [dxf.write(flats[key], Path(folder) / file_name(key)) for key in sorted(flats)]
