"""A car as it was read from a document: the model, the scene, every part's shape in the car frame, and what is unsound.

Checks, reports and sheets see this and nothing of the document, so that they run on whatever made it.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from . import model
from .mechanics.scene import Scene
from .record import filled

POWERTRAIN, CHASSIS, BETWEEN = "powertrain", "chassis", "between"
"""What a part moves with when the placement changes; a driveshaft hangs between both."""

UPSTREAM = ("layout", "chassis", "engine_data", "transmission_data")
"""Kinds, and keys, of what every placed number depends on."""


EDITED = ("edited", "altered")
"""Kinds of ``Unsound`` of a part whose shape was edited by hand; ``altered`` where the part protects people."""


@dataclass(frozen=True)
class PartView:
    """One leaf part. ``shape`` is the host's shape in the car frame; mass in kg, None where the material is unknown.
    A ``reference`` is no part that is made: a swept volume, say. ``developed_area`` of sheet laid flat, mm2; ``developed_length`` of
    straight stock before it is bent, mm; None where a part has none."""
    key: str
    kind: str
    label: str
    material: str
    mass: float | None
    shape: Any
    moves_with: str
    digest: str
    welded: bool = False
    reference: bool = False
    developed_area: float | None = None
    developed_length: float | None = None


@dataclass(frozen=True)
class Unsound:
    """Something about the document that makes a reading doubtful. ``kind`` is one of invalid, touched, proxy, stale,
    link, missing, extra, moved, edited, altered, axle,
    catalog, undrawn, solid; ``blocking`` where layout or chassis are concerned."""
    key: str
    kind: str
    message: str
    blocking: bool = False


@dataclass(frozen=True)
class Snapshot:
    """Everything that checks and sheets read. ``car`` keeps absent fields absent; ``scene`` is None where none exists."""
    car: model.Car
    scene: Scene | None
    parts: tuple[PartView, ...]
    unsound: tuple[Unsound, ...] = ()

    @property
    def placed(self) -> Scene:
        """The scene; ValueError where there is none."""
        if self.scene is None:
            raise ValueError("the document holds no placed powertrain; correct the placement and recompute")
        return self.scene

    @property
    def system(self) -> str:
        """Units in which the car is written and read, ``in`` or ``mm``."""
        return str(filled(self.car.car).units)

    def part(self, key: str) -> PartView | None:
        """The part of a key, None where the document has none."""
        return next((part for part in self.parts if part.key == key), None)

    def kind(self, kind: str) -> tuple[PartView, ...]:
        """All parts of a kind, sorted by key."""
        return tuple(sorted((part for part in self.parts if part.kind == kind), key=lambda part: part.key))
