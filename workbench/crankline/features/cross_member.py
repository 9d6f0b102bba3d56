"""Transmission cross member: welded between the rails or into the footwell tube; it stays where the chassis is."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import cross_member
from ..mechanics.chassis import cross_member_station
from ..record import filled
from ..snapshot import CHASSIS, PartView, Snapshot
from .base import ChassisPart
from .part_kind import MOUNT, THIN, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none
from .result_properties import developed_length
from .side_item import Item, tube


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its center."""
    member, chassis = filled(snapshot.car.mounts).cross_member, snapshot.placed.chassis
    if member:
        x = cross_member_station(member, chassis)
        yield Item("Transmission cross member", x, member.z, x, member.z, tube(member.section, "", snapshot.system), True)


class CrossMember(ChassisPart):
    """The tube that carries the transmission mount."""
    kind = "cross_member"
    declares = (PartKind(
        role="cross_member", kind="cross_member", label="Cross member", container="mounts",
        section="mounts.cross_member",
        moves_with=CHASSIS, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="CM",
        look=MOUNT,
        stands_on=(("rail/left", "upper_rail/left", "footwell_tube/left"), ("rail/right", "upper_rail/right", "footwell_tube/right")),
        joints=(Joint(Hold.WELDED, ("rail", "upper_rail", "footwell_tube", "upright"), Weld.AROUND),),
        keeps_clear=("oil_pan_to_members", "transmission_pan_to_members", "starter_to_chassis", "damper_to_chassis", "header_to_chassis",
                     "shaft_to_containment"),
        near_driver=True,
        side_view=THIN,
        numbered=numbered,
        hardware=none("it is welded, and the transmission mount lists what it is bolted with"),
        removal=WELDED_IN,
        parameters=("mounts.cross_member.offset", "mounts.cross_member.z"),
        stronger=dict.fromkeys(("tail_alone", "cross_member", "chassis_tubes"),
                               tuple(f"mounts.cross_member.section.{name}" for name in ("outer_diameter", "wall")))),)
    record = model.CrossMember
    geometry = cross_member

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_length(obj, "Length of the tube's centerline before bending and coping, grip allowance not included")

    @classmethod
    def spec(cls, records, scene):
        return cross_member.spec(records.own, scene)

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedLength = cross_member.developed_length(spec)
