"""Header: a box that holds exhaust pipes beside the engine. What the pipes do inside it is not known. Engine frame, mm."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..units import write

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1


@dataclass(frozen=True)
class Spec:
    """Opposite corners, the lower first."""
    low: tuple[float, float, float]
    high: tuple[float, float, float]


def spec(header: model.Header, scene: Scene) -> Spec:
    """What the box is made from; ValueError where it has no inside."""
    for low, high in (("x_rear", "x_front"), ("y_right", "y_left"), ("z_low", "z_high")):
        a, b = getattr(header, low), getattr(header, high)
        if a >= b:
            raise ValueError(f"headers[{header.name}].{low}: {write(a, 'length')} is not less than {high} {write(b, 'length')}; give {low} "
                             "the smaller of the two")
    return Spec((header.x_rear, header.y_right, header.z_low), (header.x_front, header.y_left, header.z_high))


def build(spec: Spec) -> Part.Shape:
    """The box in the engine frame."""
    return Part.makeBox(*(high - low for low, high in zip(spec.low, spec.high)), Vector(*spec.low))
