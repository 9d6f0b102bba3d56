"""Receiver of the transmission mount: sleeve welded to the cross member, with the cross bolt's hole."""
from __future__ import annotations

from ..geometry import mount_layout, receiver
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature


class Receiver(PartFeature):
    """It stands on the cross member and points at the transmission's tail, so it leans with the powertrain and stays where the member
    is."""
    kind = "receiver"
    geometry = receiver
    material_of = "TransmissionMount"
    moves_with = BETWEEN
    welded = True
    links = (("TransmissionMount", "The mount that it takes"), ("CrossMember", "The cross member that it is welded to"))

    @classmethod
    def spec(cls, records, scene):
        return receiver.spec(records["TransmissionMount"], records["CrossMember"], scene)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        mount = mount_layout.spec(records["TransmissionMount"], records["CrossMember"], scene)
        return receiver.frame(mount, scene.engine_frame)
