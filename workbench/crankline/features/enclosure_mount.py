"""Enclosure mount: carries the enclosure tube in a loop or at the transmission's tail."""
from __future__ import annotations

from ..geometry import enclosure_mount
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN, CHASSIS
from .base import PartFeature, linked_record, linked_records


class EnclosureMount(PartFeature):
    """One mount; its key says which: ``enclosure_mount/front_top``."""
    kind = "enclosure_mount"
    geometry = enclosure_mount
    links = (("Enclosure", "The tube that it carries, with the sizes of its mounts"),)
    link_lists = (("Loops", "The loops that may carry it"),)

    def spec(self, obj, scene):
        end, side = place_of(obj)
        return enclosure_mount.spec(linked_record(obj, "Enclosure"), scene, linked_records(obj, "Loops"), end, side)

    def frame(self, obj, scene) -> Frame:
        return enclosure_mount.frame(linked_record(obj, "Enclosure"), scene, linked_records(obj, "Loops"), place_of(obj)[0])

    def moves(self, obj) -> str:
        at_tail = linked_record(obj, "Enclosure").front_support == "transmission_tail" and place_of(obj)[0] == "front"
        return BETWEEN if at_tail else CHASSIS

    def material(self, obj) -> str:
        return obj.Enclosure.Material if obj.Enclosure is not None else ""


def place_of(obj) -> tuple[str, str]:
    """(front or rear, top or bottom), from the key."""
    end, _, side = obj.Key.partition("/")[2].partition("_")
    side = side.partition("_")[0]   # a copy's key ends with a number
    if end not in enclosure_mount.ENDS or side not in enclosure_mount.SIDES:
        raise ValueError(f"{obj.Label}: its key {obj.Key!r} names no place; delete this object")
    return end, side
