"""Support tube: upper cross tube behind the mid plate, welded to the uprights; it moves with the powertrain."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import support_tube
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .part_kind import MOUNT, OUTLINE, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none
from .side_item import Item, at, tube


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its center."""
    given, scene = filled(snapshot.car.mounts).support_tube, snapshot.placed
    if given:
        x, z = at(scene.engine_point(-scene.stack.total - given.behind_plate, 0.0, given.above_crank))
        yield Item("Support tube", x, z, x, z, tube(given.section, given.material, snapshot.system))


class SupportTube(PartFeature):
    """The tube to which the top of the mid plate is tied."""
    kind = "support_tube"
    declares = (PartKind(
        role="support_tube", kind="support_tube", label="Support tube", container="mounts",
        section="mounts.support_tube",
        moves_with=POWERTRAIN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="ST",
        look=MOUNT,
        stands_on=none("whether it reaches the uprights is a rule of practice"),
        joints=(Joint(Hold.WELDED, ("upright",), Weld.AROUND),),
        keeps_clear=("header_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=numbered,
        hardware=none("the tie tabs list their bolts"),
        removal=WELDED_IN,
        parameters=("mounts.support_tube.behind_plate", "mounts.support_tube.above_crank"),
        stronger=dict.fromkeys(("support_tube", "chassis_tubes"),
                               ("mounts.support_tube.section.outer_diameter", "mounts.support_tube.section.wall"))),)
    record = model.SupportTube
    geometry = support_tube

    @classmethod
    def spec(cls, records, scene):
        return support_tube.spec(records.own, scene)
