"""Receiver of the transmission mount: sleeve welded to the cross member, with the cross bolt's hole."""
from __future__ import annotations

from ..geometry import mount_layout, receiver
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature
from .part_kind import MOUNT, NOT_SCREENED, OUTLINE, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none


class Receiver(PartFeature):
    """It stands on the cross member and points at the transmission's tail, so it leans with the powertrain and stays where the member
    is."""
    kind = "receiver"
    declares = (PartKind(
        role="receiver", kind="receiver", label="Receiver", container="mounts",
        section="mounts.transmission",
        moves_with=BETWEEN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="RC",
        look=MOUNT,
        stands_on=(("cross_member",),),
        joints=(Joint(Hold.WELDED, ("cross_member",), Weld.AROUND),),
        keeps_clear=none("the cross member under it is what keeps clear"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=none("the transmission mount that it takes is numbered"),
        hardware=none("the transmission mount lists the cross bolt"),
        removal=WELDED_IN,
        parameters=("mounts.cross_member.offset", "mounts.cross_member.z"),
        stronger=NOT_SCREENED),)
    geometry = receiver
    material_of = "TransmissionMount"
    links = (("TransmissionMount", "The mount that it takes"), ("CrossMember", "The cross member that it is welded to"))

    @classmethod
    def spec(cls, records, scene):
        return receiver.spec(records["TransmissionMount"], records["CrossMember"], scene)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        mount = mount_layout.spec(records["TransmissionMount"], records["CrossMember"], scene)
        return receiver.frame(mount, scene.engine_frame)
