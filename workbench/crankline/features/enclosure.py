"""Enclosure tube around the front of the driveshaft, carried by loops or by the transmission's tail."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import enclosure
from ..mechanics.frames import Frame
from ..record import filled
from ..snapshot import BETWEEN, CHASSIS, PartView, Snapshot
from .base import PartFeature
from .part_kind import NOT_SCREENED, OUTLINE, Hold, Joint, Look, PartKind, Removal, Supply, none
from .side_item import Item, size, tube


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its top, with the station of its rear end."""
    given, system = filled(snapshot.car.containment).enclosure if snapshot.car.containment else None, snapshot.system
    if given:
        x = given.x_rear + 0.3 * (given.x_front - given.x_rear)
        yield Item("Enclosure tube, rear end", x, float(snapshot.placed.shaft_at(x)[2]) + given.outer_diameter / 2.0, given.x_rear, None,
                   f"{tube(given, None, system)}, to X {size(given.x_front, system)}")


class Enclosure(PartFeature):
    """The tube; its ends are chassis stations, its axis goes through the centers of what carries it."""
    kind = "enclosure"
    declares = (PartKind(
        role="enclosure", kind="enclosure", label="Enclosure", container="driveline",
        section="containment.enclosure",
        moves_with=CHASSIS, welded=False, reference=False, protective=True,
        supply=Supply.KIT, mark="EN",
        look=Look((0.97, 0.75, 0.38), 60),
        stands_on=none("what carries it is a rule of containment"),
        joints=(Joint(Hold.SLIDING, ("transmission",)),),
        keeps_clear=none("loops and enclosure have rules of their own, over travel and with the joints"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=numbered,
        hardware=none("its mounts list their screws"),
        removal=Removal(off_with="enclosure"),
        parameters=("containment.enclosure.outer_diameter", "containment.enclosure.x_rear", "containment.enclosure.x_front"),
        stronger=NOT_SCREENED),)
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
