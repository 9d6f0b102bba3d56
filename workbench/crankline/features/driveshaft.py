"""Driveshaft: tube and two joints between transmission and rear end, at static ride height."""
from __future__ import annotations

from .. import catalog, model
from ..geometry import driveshaft
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature

JOINT_MATERIAL = "4130N"


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
        """The tube in its own material; yokes and joints are steel whatever the tube is."""
        record = self.read(obj)
        tube = driveshaft.tube_volume(driveshaft.spec(record, scene))
        return record.density * tube + catalog.material(JOINT_MATERIAL).density * (obj.Shape.Volume - tube)
