"""Enclosure tube around the front of the driveshaft, carried by loops or by the transmission's tail."""
from __future__ import annotations

from .. import model
from ..geometry import enclosure
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN, CHASSIS
from .base import PartFeature, linked_records


class Enclosure(PartFeature):
    """The tube; its ends are chassis stations, its axis goes through the centres of what carries it."""
    kind = "enclosure"
    schema = 2
    record = model.Enclosure
    geometry = enclosure
    link_lists = (("Loops", "The loops that may carry it"),)

    def spec(self, obj, scene):
        return enclosure.spec(self.read(obj), scene, linked_records(obj, "Loops"))

    def frame(self, obj, scene) -> Frame:
        return enclosure.frame(self.read(obj), scene, linked_records(obj, "Loops"))

    def moves(self, obj) -> str:
        return BETWEEN if self.read(obj).front_support == "transmission_tail" else CHASSIS
