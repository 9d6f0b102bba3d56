"""What the parts of a document are made from: pieces of sheet, tube and bar, the welds between them, and what is not there yet."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import FreeCAD as App

from ..geometry.piece import Piece, Seam
from ..units import read_in
from .base import PartFeature, car_units
from .read import members


def pieces(layout) -> dict[str, tuple[Piece, ...]]:
    """Key to the pieces of sheet, tube and bar that every part of the kit is made from, unless it is not finished yet."""
    return {obj.Key: found for obj, found in _told(layout, "pieces")}


def seams(layout) -> dict[str, tuple[Seam, ...]]:
    """Key to the welds between the pieces of every part that has some, their points in the car frame."""
    return {obj.Key: tuple(replace(seam, points=tuple(tuple(obj.Placement.multVec(App.Vector(*point))) for point in seam.points))
                           for seam in found) for obj, found in _told(layout, "seams")}


def _told(layout, name: str) -> Iterator[tuple[Any, Any]]:
    """What a function of this name, of the geometry of a part, tells of its spec, unless the part is not finished yet."""
    for obj in members(layout):
        told = getattr(getattr(getattr(obj, "Proxy", None), "geometry", None), name, None)
        if told is None:
            continue
        try:
            if obj.Proxy.unfinished(obj.Proxy.records(obj)):
                continue
            with read_in(car_units(layout)):
                found = told(obj.Proxy.spec_of(obj))
        except ValueError:
            continue   # a part in error is a finding and has no pieces
        yield obj, found


def not_cut(layout) -> str:
    """Which parts have no cut file because something that they need is not there yet, one sentence; empty where there are none."""
    told = []
    for obj in members(layout):
        proxy = getattr(obj, "Proxy", None)
        try:
            why = proxy.unfinished(proxy.records(obj)) if isinstance(proxy, PartFeature) else ""
        except ValueError:
            continue
        told += [f"{obj.Label} ({why})"] if why else []
    return f"no cut file was written for {', '.join(told)}" if told else ""
