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

    @classmethod
    def spec(cls, records, scene):
        return driveshaft.spec(records.own, scene)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return scene.shaft_frame

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        """The tube in its own material; yokes and joints are steel whatever the tube is."""
        tube = driveshaft.tube_volume(driveshaft.spec(records.own, scene))
        return records.own.density * tube + catalog.material(JOINT_MATERIAL).density * (volume() - tube)
