"""Flat patterns of a car's plates: one cut file each, named after the part's key."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from ..features.registry import declaration
from ..geometry.outline import Flat
from ..record import filled
from ..snapshot import Snapshot
from . import dxf


def cut(snapshot: Snapshot, flats: Mapping[str, Flat]) -> dict[str, Flat]:
    """Those flats that belong to parts of the car that are cut from sheet or plate, by key."""
    known = thicknesses(snapshot)
    return {key: flats[key] for key in sorted(flats) if key in known}


def thicknesses(snapshot: Snapshot) -> dict[str, float]:
    """Part key to thickness in mm of every part of a car that is cut from sheet or plate: bought ones have an outline too, but nobody
    cuts it."""
    car, found = filled(snapshot.car), {}
    for part in snapshot.parts:
        thickness = declaration(part.kind, part.key).thickness
        given = thickness(car) if thickness else None
        if given is not None:
            found[part.key] = given
    return found


def file_name(key: str) -> str:
    """File name of a part's flat pattern: ``mid_plate`` makes ``mid-plate.dxf``, ``rail_tab/left_front`` ``rail-tab-left-front.dxf``."""
    return key.replace("_", "-").replace("/", "-") + ".dxf"


def write(flats: Mapping[str, Flat], folder: str | Path) -> list[Path]:
    """Write every flat pattern into a folder; the paths, sorted by key. SheetError at the first that is not fit to cut."""
    return [dxf.write(flats[key], Path(folder) / file_name(key)) for key in sorted(flats)]
