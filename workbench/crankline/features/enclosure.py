"""Enclosure tube around the front of the driveshaft, carried by loops or by the transmission's tail."""
from __future__ import annotations

from .. import model
from ..geometry import enclosure
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN, CHASSIS
from .base import PartFeature


class Enclosure(PartFeature):
    """The tube; its ends are chassis stations, its axis goes through the centres of what carries it."""
    kind = "enclosure"
    schema = 2
    record = model.Enclosure
    geometry = enclosure
    link_lists = (("Loops", "The loops that may carry it"),)

    @classmethod
    def spec(cls, records, scene):
        return enclosure.spec(records.own, scene, records["Loops"])

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return enclosure.frame(records.own, scene, records["Loops"])

    @classmethod
    def moves(cls, records) -> str:
        return BETWEEN if records.own.front_support == "transmission_tail" else CHASSIS
