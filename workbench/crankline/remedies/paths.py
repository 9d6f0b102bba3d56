"""Paths that parts and quantities declare, to the parameters that are turned."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ..units import DEG, INCH
from .parameters import (
    BY_PATH,
    Parameter,
    described,
    loop_height,
    loop_opening,
    loop_pins,
    loop_section,
    loop_size,
    loop_station,
    station_of,
)

NEAR = {"placement.crank_height": 2 * INCH, "placement.axle_to_block": 3 * INCH, "placement.pitch": 2 * DEG}
"""How far the placement is tried to free one part of another."""
_LOOP = "containment.loops."


def of_path(path: str, subjects: Iterable[str] = (), as_they_are: bool = False) -> tuple[Parameter, ...]:
    """The parameters of a path (``rules.quantity.Tries``), of a ``*`` one for each loop among the subjects (keys of parts). as_they_are:
    no shape is made again, so the ring of a loop is read off where it would be. A field that has no words here is told by what its record
    says of it; KeyError for a path of no number."""
    mark, bare = (path[0], path[1:]) if path[0] in "+-~" else ("", path)
    ways = {"+": (1.0,), "-": (-1.0,)}.get(mark, (1.0, -1.0))
    if bare.startswith(_LOOP):
        name, _, field = bare.removeprefix(_LOOP).partition(".")
        keys = [f"loop/{name}"] if name != "*" else [key for key in subjects if key.startswith("loop/")]
        return tuple(station_of(key) if as_they_are and field == "x" else _of_loop(key, field, ways) for key in keys)
    found = BY_PATH.get(bare) or described(bare)
    if mark == "~":
        found = replace(found, reach=NEAR[bare])
    return (replace(found, ways=ways) if mark in ("+", "-") else found,)


def _of_loop(key: str, field: str, ways: tuple[float, ...]) -> Parameter:
    every = (loop_station(key), loop_height(key), *loop_size(key, ways), loop_opening(key), *loop_pins(key), *loop_section(key))
    return {parameter.name: parameter for parameter in every}[f"{_LOOP}{key.partition('/')[2]}.{field}"]
