"""Header: a box that holds exhaust pipes, for clearances. It goes with the engine and weighs nothing here."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..compat import add_property
from ..geometry import header
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .part_kind import ENGINE_PATHS, NOT_SCREENED, OWN, PHANTOM, Look, PartKind, Removal, Supply, none
from .side_item import Item, at


def numbered(snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Boxes that look alike from the side, which left and right mostly do, are one item."""
    keys = {part.key for part in parts}
    alike: dict[tuple[float, ...], list[str]] = {}
    for box in snapshot.car.headers or ():
        if f"header/{box.name}" in keys:
            alike.setdefault((box.x_rear, box.x_front, box.z_low, box.z_high), []).append(box.name)
    for (x_rear, x_front, _low, z_high), names in alike.items():
        yield Item(f"Header {', '.join(names)}", *at(snapshot.placed.engine_point(0.3 * x_rear + 0.7 * x_front, 0.0, z_high)), None, None,
                   "box around the pipes")


class Header(PartFeature):
    """One box; pipes that wind around a member are several."""
    kind = "header"
    declares = (PartKind(
        role="header", kind="header", label="Header", container="powertrain",
        section="headers",
        moves_with=POWERTRAIN, welded=False, reference=True, protective=False,
        supply=Supply.CUSTOMER, mark=OWN,
        look=Look((0.72, 0.45, 0.36), 80, edge=(0.60, 0.34, 0.26)),
        stands_on=none("it hangs on the engine"),
        joints=none("a box around pipes meets what it meets"),
        keeps_clear=("starter_to_chassis",),
        near_driver=True,
        side_view=PHANTOM,
        numbered=numbered,
        hardware=none("bolts and gaskets of a header belong to the engine"),
        removal=Removal(absent=ENGINE_PATHS, off_with="header"),
        parameters=none("where its pipes run is given by the car"),
        stronger=NOT_SCREENED),)
    record = model.Header
    geometry = header

    def ensure(self, obj) -> None:
        super().ensure(obj)
        add_property(obj, "App::PropertyInteger", "Number", "Identity", "Place in the list of headers")
        obj.setPropertyStatus("Number", "Output")

    @classmethod
    def spec(cls, records, scene):
        return header.spec(records.own, scene)

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return 0.0
