"""Which parts a car has: from the model, in the order in which they depend on one another."""
from __future__ import annotations

from ..geometry import chassis_tube
from ..record import filled

_LABELS = {"rail": "Main rail", "upper_rail": "Second rail", "upright": "Upright", "footwell_tube": "Footwell tube",
           "rear_cross_member": "Rear cross member", "upper_fore_aft": "Upper fore-aft member"}


def label(key: str) -> str:
    """What a part is called in the tree: ``rail/left`` is Main rail, left."""
    stem, _, rest = key.partition("/")
    name = _LABELS.get(stem, stem.replace("_", " ").capitalize())
    return f"{name}, {rest.replace('_', ' ')}" if rest else name


def add(maker) -> None:
    """Add every part of the maker's car to its document."""
    car = maker.car

    def part(container: str, kind: str, key: str, record=None, **links):
        return maker.add(container, kind, key, label(key), record, **links)

    maker.document.recompute([maker.layout])   # the chassis says which tubes there are once its sketches were read
    scene = maker.scene()
    for key in chassis_tube.specs(scene.chassis):
        part("chassis", "chassis_tube", key)
    tabs = part("data", "rail_tabs", "rail_tabs", car.mounts.rail_tabs)
    part("powertrain", "engine", "engine")
    part("powertrain", "transmission", "transmission")
    if car.plates.protector is not None:
        part("powertrain", "protector", "protector", car.plates.protector)
    part("powertrain", "mid_plate", "mid_plate", car.plates.mid, RailTabs=tabs)
    if car.plates.front is not None:
        front = part("powertrain", "front_plate", "front_plate", car.plates.front, RailTabs=tabs)
        if car.plates.front.kind == "narrow":
            for side in ("left", "right"):
                part("mounts", "plate_foot", f"plate_foot/{side}", RailTabs=tabs, FrontPlate=front)
    levels = ("", "_upper") if filled(car.plates.mid).kind == "double_rail" else ("",)
    for side in ("left", "right"):
        for face in ("front", "rear"):
            for level in levels:
                part("mounts", "rail_tab", f"rail_tab/{side}_{face}{level}", RailTabs=tabs)
    part("driveline", "driveshaft", "driveshaft", car.driveshaft)
    loops: list = []
    if car.containment is not None:
        for number, loop in enumerate(car.containment.loops or (), 1):
            obj = part("driveline", f"{loop.kind}_loop", f"loop/{loop.name}", loop)
            obj.Number = number
            loops.append(obj)
        if car.containment.enclosure is not None:
            part("driveline", "enclosure", "enclosure", car.containment.enclosure, Loops=loops)
