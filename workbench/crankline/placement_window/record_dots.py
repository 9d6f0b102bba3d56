"""Placement records as dots of a window."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .. import records
from ..mechanics import placement as placing
from .window import Window


@dataclass(frozen=True)
class Dot:
    """A record within a window: axle-to-block and crank height, mm, at the window's station; whether its figures are invented."""
    x: float
    z: float
    invented: bool


def dots(collection: records.Collection, window: Window) -> tuple[Dot, ...]:
    """The records whose placement is within a window. Their crank height is at the rear of the block; at another station it is
    as their own pitch has it, or level where they have none."""
    car = window.judge.car
    ahead = float(placing.station(placing.Block(car.engine.base_drop, car.engine.block_length), car.placement.height_at))
    found = []
    for entry in collection.entries:
        record = entry.record
        x, z = record.axle_to_block, record.crank_height - ahead * float(np.sin(record.pitch or 0.0))
        if window.x[0] <= x <= window.x[-1] and window.z[0] <= z <= window.z[-1]:
            found.append(Dot(x, z, record.invented))
    return tuple(found)
