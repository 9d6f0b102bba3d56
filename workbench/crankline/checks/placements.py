"""What quantities read at many placements at once: the same car, scene, settings and poses that they are asked at for one, as arrays.

``Quantity.reads`` takes either: a ``Context``, for the one placement of a document, or ``Placements``. So no figure has a second formula.
"""
from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any, Protocol

import numpy as np

from .. import model
from ..mechanics import shaft
from ..mechanics import travel as moving
from ..mechanics.fourbar import SuspensionError
from ..mechanics.scene import Scene
from ..rules import conditions
from ..rules.quantity import NotEvaluated
from .poses import PoseFigure, poses_over


class Asked(Protocol):
    """Where a quantity is asked: car with its defaults filled in, scene, settings of the rule, poses by name."""

    @property
    def car(self) -> model.Car: ...

    @property
    def scene(self) -> Scene: ...

    @property
    def settings(self) -> Mapping[str, Any]: ...

    @property
    def poses(self) -> Mapping[str, PoseFigure]: ...


class Placements:
    """Many placements of one car. car: with its defaults filled in; scene: of the placements (``scene.spread``). What several quantities
    share is computed once."""

    def __init__(self, car: model.Car, scene: Scene) -> None:
        self.car, self.scene = car, scene
        self.settings: Mapping[str, Any] = {}

    @cached_property
    def poses(self) -> dict[str, PoseFigure]:
        """The driveline in every pose, by name, arrays over the placements."""
        return {pose.name: pose for pose in poses_over(self.car, self.scene)}

    @cached_property
    def slip(self) -> dict[str, shaft.Slip]:
        """The slip, static and at both ends, over the placements; nan where it does not exist."""
        try:
            return moving.slip_over(self.scene)
        except SuspensionError as reason:
            raise NotEvaluated(str(reason)) from None

    @cached_property
    def facts(self) -> tuple[tuple[dict[str, Any], np.ndarray], ...]:
        """What conditions of rules are asked about, with the placements (a mask) at which each is so."""
        told = conditions.facts(self.car, self.scene)
        shape = self.scene.driveline.length.shape
        varying = np.broadcast_to(np.asarray(told["shaft_passes_driver"], dtype=object), shape)
        words = sorted(set(varying.ravel()), key=str)
        return tuple(({**told, "shaft_passes_driver": word}, varying == word) for word in words)
