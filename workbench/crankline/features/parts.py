"""Which parts a car has: from the model, in the order in which they depend on one another."""
from __future__ import annotations

from ..geometry import chassis_tube, enclosure_mount
from ..record import filled
from .make import MakeError

SIDES = ("left", "right")
FACES = ("front", "rear")
_LABELS = {"rail": "Main rail", "upper_rail": "Second rail", "upright": "Upright", "footwell_tube": "Footwell tube",
           "rear_cross_member": "Rear cross member", "upper_fore_aft": "Upper fore-aft member"}


def label(key: str) -> str:
    """What a part is called in the tree: ``rail/left`` is Main rail, left."""
    stem, _, rest = key.partition("/")
    name = _LABELS.get(stem, stem.replace("_", " ").capitalize())
    return f"{name}, {rest.replace('_', ' ')}" if rest else name


def expected(car, scene) -> set[str]:
    """Keys of every part that a car has: what ``add`` would make of it."""
    lister = _Lister(car, scene)
    add(lister)
    return lister.keys


class _Lister:
    """Stands where the maker does and only writes down which parts it is asked for."""

    class _Nothing:
        Number = 0

        def recompute(self, _objects) -> None:
            """There is no document to recompute."""

    def __init__(self, car, scene):
        self.car, self._scene, self.layout = car, scene, None
        self.document, self.keys = self._Nothing(), set()

    def scene(self):
        return self._scene

    def add(self, _container, kind, key, _label, _record=None, **_links):
        if kind != "rail_tabs":   # a table without a shape
            self.keys.add(key)
        return self._Nothing()


def add(maker) -> None:
    """Add every part of the maker's car to its document."""
    car = maker.car

    def part(container: str, kind: str, key: str, record=None, **links):
        return maker.add(container, kind, key, label(key), record, **links)

    mounts, containment = car.mounts, car.containment
    if mounts.transmission is not None and mounts.cross_member is None:
        raise MakeError("mounts.transmission stands on a transmission cross member, but mounts.cross_member is missing; give it, or leave "
                        "out mounts.transmission")
    if mounts.limiter_strut is not None and car.plates.front is None:
        raise MakeError("mounts.limiter_strut is bolted to a front plate, but plates.front is missing; give it, or leave out "
                        "mounts.limiter_strut")
    maker.document.recompute([maker.layout])   # the chassis says which tubes there are once its sketches were read
    scene = maker.scene()
    member = None
    if mounts.cross_member is not None:
        member = part("mounts", "cross_member", "cross_member", mounts.cross_member)
    for key in chassis_tube.specs(scene.chassis, cross_member=mounts.cross_member):
        # Only the footwell tube is broken by the cross member; no other tube depends on it.
        part("chassis", "chassis_tube", key, CrossMember=member if key.startswith("footwell_tube") else None)
    tabs = part("data", "rail_tabs", "rail_tabs", mounts.rail_tabs)
    part("powertrain", "engine", "engine")
    part("powertrain", "transmission", "transmission")
    for number, header in enumerate(car.headers or (), 1):
        part("powertrain", "header", f"header/{header.name}", header).Number = number
    if car.plates.protector is not None:
        part("powertrain", "protector", "protector", car.plates.protector)
    support = None
    if mounts.support_tube is not None:
        support = part("mounts", "support_tube", "support_tube", mounts.support_tube)
    mid = part("powertrain", "mid_plate", "mid_plate", car.plates.mid, RailTabs=tabs, SupportTube=support)
    if support is not None:
        for side in SIDES:
            part("mounts", "tie_tab", f"tie_tab/{side}", MidPlate=mid, RailTabs=tabs, SupportTube=support)
    if scene.chassis.firewall is not None:
        part("powertrain", "firewall", "firewall", MidPlate=mid, RailTabs=tabs)
    strut = None
    if mounts.limiter_strut is not None:
        strut = part("mounts", "limiter_strut", "limiter_strut", mounts.limiter_strut)
        for kind in ("limiter_bracket", "limiter_seat"):
            part("mounts", kind, kind, LimiterStrut=strut)
    if car.plates.front is not None:
        front = part("powertrain", "front_plate", "front_plate", car.plates.front, RailTabs=tabs, LimiterStrut=strut)
        if car.plates.front.kind == "narrow":
            for side in SIDES:
                part("mounts", "plate_foot", f"plate_foot/{side}", RailTabs=tabs, FrontPlate=front)
        else:
            for side in SIDES:
                for face in FACES:
                    part("mounts", "rail_tab", f"front_tab/{side}_{face}", RailTabs=tabs, FrontPlate=front)
    levels = ("", "_upper") if filled(car.plates.mid).kind == "double_rail" else ("",)
    for side in SIDES:
        for face in FACES:
            for level in levels:
                part("mounts", "rail_tab", f"rail_tab/{side}_{face}{level}", RailTabs=tabs)
    if mounts.transmission is not None:
        mount = part("mounts", "transmission_mount", "transmission_mount", mounts.transmission, CrossMember=member)
        part("mounts", "receiver", "receiver", TransmissionMount=mount, CrossMember=member)
    shaft = part("driveline", "driveshaft", "driveshaft", car.driveshaft)
    part("driveline", "shaft_envelope", "shaft_envelope", Driveshaft=shaft)
    if containment is None:
        return
    loops: list = []
    for number, loop in enumerate(containment.loops or (), 1):
        obj = part("driveline", f"{loop.kind}_loop", f"loop/{loop.name}", loop)
        obj.Number = number
        loops.append(obj)
    enclosure = None
    if containment.enclosure is not None:
        enclosure = part("driveline", "enclosure", "enclosure", containment.enclosure, Loops=loops)
        for end in enclosure_mount.ENDS:
            for side in enclosure_mount.SIDES:
                part("driveline", "enclosure_mount", f"enclosure_mount/{end}_{side}", Enclosure=enclosure, Loops=loops)
    if containment.tunnel is not None:
        part("driveline", "tunnel", "tunnel", containment.tunnel, Loops=loops, Enclosure=enclosure)
