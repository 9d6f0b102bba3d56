"""Driveshaft: tube and two joints between transmission and rear end, at static ride height."""
from __future__ import annotations

from .. import model
from ..geometry import driveshaft
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature


class Driveshaft(PartFeature):
    """The shaft; its length is the distance between the joints and therefore a result."""
    kind = "driveshaft"
    record = model.Driveshaft
    geometry = driveshaft
    moves_with = BETWEEN

    def spec(self, obj, scene):
        return driveshaft.spec(self.read(obj), scene)

    def frame(self, obj, scene) -> Frame:
        return scene.shaft_frame

    def mass(self, obj, scene) -> float:
        return self.read(obj).density * obj.Shape.Volume
