"""A tube of the chassis: rails, uprights, cross members, upper members. All of them come from the chassis object."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import chassis_tube
from ..snapshot import CHASSIS, PartView, Snapshot
from .base import ChassisPart
from .part_kind import (
    CHASSIS_IS_AROUND,
    CHASSIS_TUBES,
    NOT_SCREENED,
    OWN,
    STAYS,
    STEEL_TUBE,
    THIN,
    Hold,
    Joint,
    Nothing,
    Numbered,
    PartKind,
    Supply,
    none,
)
from .side_item import Item, boxes, tube


def rails(snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """The left main rail, in its rear third."""
    given = snapshot.placed.chassis.rails
    for _part, box in boxes(_left(parts)):
        yield Item("Main rail", box.XMin + 0.27 * box.XLength, given.height, None, given.height,
                   tube(given.section, given.material, snapshot.system), True)


def upper_members(snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """The left upper member, in its rear third."""
    given = snapshot.placed.chassis.upper_fore_aft
    for _part, box in boxes(_left(parts)) if given else ():
        yield Item("Upper member", box.XMin + 0.3 * box.XLength, given.z, None, given.z, tube(given.section, "", snapshot.system))


def footwell(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """The footwell tube, in one piece or two."""
    yield from _across(snapshot, "Footwell tube", snapshot.placed.chassis.footwell_tube)


def rear_member(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """The rear cross member."""
    yield from _across(snapshot, "Rear cross member", snapshot.placed.chassis.rear_cross_member)


def _left(parts: tuple[PartView, ...]) -> tuple[PartView, ...]:
    return tuple(part for part in parts if part.key.endswith("/left"))


def _across(snapshot: Snapshot, name: str, member: model.CrossTube | None) -> Iterator[Item]:
    if member and member.x is not None and member.z is not None:
        yield Item(name, member.x, member.z, member.x, member.z, tube(member.section, "", snapshot.system), True)


def _tube(role: str, label: str, keeps_clear: tuple[str, ...], parameters: tuple[str, ...],
          numbered: Numbered | Nothing) -> PartKind:
    """All tubes of the chassis are alike but for what keeps clear of them and what moves them; upper members carry no mount."""
    owner = parameters[0].rpartition(".")[0]
    sizes = tuple(f"{owner}.section.{name}" for name in ("outer_diameter", "wall"))
    return PartKind(
        role=role, kind="chassis_tube", label=label, container="chassis",
        section=owner,   # what moves it stands where it is edited
        moves_with=CHASSIS, welded=False, reference=False, protective=False, supply=Supply.CUSTOMER, mark=OWN, look=STEEL_TUBE,
        stands_on=none("it is the chassis that others are built on"),
        joints=(Joint(Hold.WELDED, CHASSIS_TUBES),),
        keeps_clear=keeps_clear, near_driver=CHASSIS_IS_AROUND, side_view=THIN, numbered=numbered,
        hardware=none("it is welded"), removal=STAYS, parameters=parameters,
        stronger=NOT_SCREENED if role == "upper_fore_aft" else {"chassis_tubes": sizes})


class ChassisTube(ChassisPart):
    """One tube; its key says which."""
    kind = "chassis_tube"
    declares = (
        _tube("rail", "Main rail",
            ("oil_pan_to_members", "transmission_pan_to_members", "bell_to_chassis", "starter_to_chassis", "damper_to_chassis",
             "header_to_chassis", "shaft_to_containment"),
            ("chassis.rails.half_spacing", "chassis.rails.height"), rails),
        _tube("upper_rail", "Second rail",
            ("oil_pan_to_members", "transmission_pan_to_members", "bell_to_chassis", "starter_to_chassis", "damper_to_chassis",
             "header_to_chassis"),
            ("chassis.rails.upper_height", "chassis.rails.half_spacing"), none("the main rail below it is numbered")),
        _tube("upright", "Upright",
            ("bell_to_chassis", "starter_to_chassis", "damper_to_chassis", "header_to_chassis"),
            ("chassis.uprights.half_spacing", "chassis.uprights.x"), none("it is seen at once and has no station of its own to tell")),
        _tube("footwell_tube", "Footwell tube",
            ("oil_pan_to_members", "transmission_pan_to_members", "starter_to_chassis", "header_to_chassis"),
            ("chassis.footwell_tube.z", "chassis.footwell_tube.x"), footwell),
        _tube("rear_cross_member", "Rear cross member",
            ("oil_pan_to_members", "transmission_pan_to_members", "header_to_chassis", "shaft_to_containment"),
            ("chassis.rear_cross_member.z", "chassis.rear_cross_member.x"), rear_member),
        _tube("upper_fore_aft", "Upper fore-aft member",
            ("bell_to_chassis", "starter_to_chassis", "header_to_chassis", "shaft_to_containment"),
            ("chassis.upper_fore_aft.z", "chassis.upper_fore_aft.half_spacing"), upper_members),
    )
    geometry = chassis_tube
    links = (("CrossMember", "The transmission cross member that is in the line of this tube and breaks it"),)
    optional_links = ("CrossMember",)

    @classmethod
    def spec(cls, records, scene):
        found = chassis_tube.specs(scene.chassis, cross_member=records["CrossMember"])
        if records.key not in found:
            raise ValueError(f"{records.label}: the chassis has no {records.key} any more; draw it in the sketches or delete this object")
        return found[records.key]

    @classmethod
    def material(cls, records, scene) -> str:
        return (scene.chassis.rails.material or "") if scene is not None else ""
