"""Receiver of the transmission mount: sleeve welded to the cross member, with the cross bolt's hole."""
from __future__ import annotations

from ..geometry import mount_layout, receiver
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature, linked_record


class Receiver(PartFeature):
    """It stands on the cross member and points at the transmission's tail, so it leans with the powertrain and stays where the member is."""
    kind = "receiver"
    geometry = receiver
    moves_with = BETWEEN
    welded = True
    links = (("TransmissionMount", "The mount that it takes"), ("CrossMember", "The cross member that it is welded to"))

    def spec(self, obj, scene):
        return receiver.spec(linked_record(obj, "TransmissionMount"), linked_record(obj, "CrossMember"), scene)

    def frame(self, obj, scene) -> Frame:
        mount = mount_layout.spec(linked_record(obj, "TransmissionMount"), linked_record(obj, "CrossMember"), scene)
        return receiver.frame(mount, scene.engine_frame)

    def material(self, obj) -> str:
        return obj.TransmissionMount.Material if obj.TransmissionMount is not None else ""
