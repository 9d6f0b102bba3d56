"""Enclosure mount: carries the enclosure tube in a loop or at the transmission's tail."""
from __future__ import annotations

from ..geometry import enclosure_mount
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN, CHASSIS
from .base import PartFeature


class EnclosureMount(PartFeature):
    """One mount; its key says which: ``enclosure_mount/front_top``."""
    kind = "enclosure_mount"
    geometry = enclosure_mount
    material_of = "Enclosure"
    links = (("Enclosure", "The tube that it carries, with the sizes of its mounts"),)
    link_lists = (("Loops", "The loops that may carry it"),)

    @classmethod
    def spec(cls, records, scene):
        end, side = place_of(records)
        return enclosure_mount.spec(records["Enclosure"], scene, records["Loops"], end, side)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return enclosure_mount.frame(records["Enclosure"], scene, records["Loops"], place_of(records)[0])

    @classmethod
    def moves(cls, records) -> str:
        at_tail = records["Enclosure"].front_support == "transmission_tail" and place_of(records)[0] == "front"
        return BETWEEN if at_tail else CHASSIS


def place_of(records) -> tuple[str, str]:
    """(front or rear, top or bottom), from the key."""
    end, _, side = records.key.partition("/")[2].partition("_")
    side = side.partition("_")[0]   # a copy's key ends with a number
    if end not in enclosure_mount.ENDS or side not in enclosure_mount.SIDES:
        raise ValueError(f"{records.label}: its key {records.key!r} names no place; delete this object")
    return end, side
