"""Which objects a car is made of, as rows: from the model alone, in the order in which they depend on one another.

Read by what makes a document, by what tells that a document lacks a part or has one too many, by repairs, and by whatever asks how a
part would be if a number of the car were another one.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from .. import model, sections
from ..geometry import chassis_tube, enclosure_mount, setup_stand
from ..mechanics.frames import Frame
from ..mechanics.scene import Scene
from ..record import filled
from .base import PartFeature
from .records import Records
from .registry import PARTS, declaration, declared, proxy_class

SIDES = ("left", "right")
FACES = ("front", "rear")

CONTAINERS = (("chassis", "Chassis"), ("data", "Data"), ("powertrain", "Powertrain"), ("mounts", "Mounts"),
              ("driveline", "Driveline"))
"""Key and label of the branches of a car's tree."""

Links = Mapping[str, "str | tuple[str, ...] | None"]


class MakeError(ValueError):
    """A car that cannot be made into a document. One sentence."""


@dataclass(frozen=True)
class Row:
    """One object of a car. ``record``: as the car file gives it, absent fields absent; ``links``: link to the key of what it names, or to
    several keys; ``number``: place in the car file's list, 0 where there is none; ``name``: what the tree calls
    an object that is no part, and ``branch``: where it puts it."""
    key: str
    kind: str
    record: Any = None
    links: Links = field(default_factory=dict)
    number: int = 0
    name: str = ""
    branch: str = "data"

    @property
    def has_shape(self) -> bool:
        """Whether it is a part, and no table."""
        return self.kind in PARTS

    @property
    def container(self) -> str:
        """Key of the branch of the tree in which it stands."""
        return declaration(self.kind, self.key).container if self.has_shape else self.branch

    @property
    def label(self) -> str:
        """What it is called in the tree: ``rail/left`` is Main rail, left."""
        if self.name or not self.has_shape:
            return self.name
        rest = self.key.partition("/")[2].replace("_", " ")
        name = declaration(self.kind, self.key).label
        return f"{name}, {rest}" if rest else name


def upstream(car: model.Car) -> tuple[Row, ...]:
    """Everything that a car has before it is placed: chassis, data, the layout. No row of it has a shape."""
    rows = [Row("chassis", "chassis", name="Chassis data", branch="chassis"),
            Row("engine_data", "engine_data", car.engine, name="Engine data"),
            Row("transmission_data", "transmission_data", car.transmission, name="Transmission data"),
            Row("layout", "layout", car.placement, name="Layout",
                links={"Chassis": "chassis", "Engine": "engine_data", "Transmission": "transmission_data"}),
            Row("car", "car", car.car, name="Car")]
    rows += [Row(f"mass/{n:02d}", "mass", mass, name=mass.name) for n, mass in enumerate(car.masses or (), 1)]
    rows += [Row(f"protective_item/{n:02d}", "protective_item", item, name=item.item)
             for n, item in enumerate(car.protective_items or (), 1)]
    return tuple(rows)


def plan(car: model.Car, scene: Scene) -> tuple[Row, ...]:
    """Every part of a car, and the table that rail tabs share; MakeError where one of them has nothing to stand on."""
    mounts = car.mounts
    if mounts.transmission is not None and mounts.cross_member is None:
        raise MakeError("mounts.transmission needs a transmission cross member, but mounts.cross_member is missing; give it, or leave "
                        "out mounts.transmission")
    if mounts.limiter_strut is not None and car.plates.front is None:
        raise MakeError("mounts.limiter_strut is bolted to a front plate, but plates.front is missing; give it, or leave out "
                        "mounts.limiter_strut")
    return (*_chassis(car, scene), *_powertrain(car, scene), *_mounts(car), *_driveline(car))


WAITS: Mapping[str, tuple[str, ...]] = {"rail_tab": ("plates.mid", "mounts.rail_tabs"), "tie_tab": ("plates.mid", "mounts.rail_tabs"),
                                        "firewall": ("plates.mid", "mounts.rail_tabs"), "front_tab": ("mounts.rail_tabs",),
                                        "plate_foot": ("mounts.rail_tabs",), "shaft_envelope": ("driveshaft", "rear_end.suspension")}
"""Role of a part to what has to be there, beside its own section, before it is made (paths of ``sections.FINISHED``)."""

BROUGHT_BY = {"front_tab": "plates.front"}
"""Role of a part to the section without which a car has none, where that is not the one in which it is edited."""


def waiting(car: model.Car) -> dict[str, str]:
    """Roles of the parts that a finished car would have here, and this one has not, to the path of the section that it lacks."""
    gone, found = sections.lacking(car), {}
    for role, part in declared().items():
        brought_by = BROUGHT_BY.get(role, part.section)
        if brought_by not in sections.FINISHED and not sections.get(car, brought_by):
            continue
        lacks = [path for path in (part.section, *WAITS.get(role, ())) if path in gone]
        if lacks:
            found[role] = lacks[0]
    return found


def expected(car: model.Car, scene: Scene) -> set[str]:
    """Keys of every part that a car has."""
    return {row.key for row in plan(car, scene) if row.has_shape}


@dataclass(frozen=True)
class Described:
    """A part as the car's model has it, without a document: the class that would make it, and what it is made from."""
    feature: type[PartFeature]
    records: Records

    def spec(self, scene: Scene) -> Any:
        """The frozen spec of its shape."""
        return self.feature.spec(self.records, scene)

    def frame(self, scene: Scene) -> Frame | None:
        """Where its shape's frame stands in the car frame; None for the car frame itself."""
        return self.feature.frame(self.records, scene)


def described(car: model.Car, scene: Scene) -> dict[str, Described]:
    """Every part of a car, by key; MakeError as for ``plan``."""
    rows = plan(car, scene)
    held = {row.key: filled(row.record) if row.record is not None else None for row in rows}

    def linked(keys: str | tuple[str, ...] | None) -> Any:
        return tuple(held[key] for key in keys) if isinstance(keys, tuple) else None if keys is None else held[keys]

    found = {}
    for row in rows:
        if row.has_shape:
            cls = proxy_class(row.kind)
            links = {name: linked(row.links.get(name)) for name, _doc in cls.links}
            links.update({name: linked(row.links.get(name, ())) for name, _doc in cls.link_lists})
            found[row.key] = Described(cls, Records(row.key, row.label, held[row.key], links, dict(cls.states)))
    return found


def _chassis(car: model.Car, scene: Scene) -> Iterator[Row]:
    member = car.mounts.cross_member
    if member is not None:
        yield Row("cross_member", "cross_member", member)
    for key in chassis_tube.specs(scene.chassis, cross_member=member):
        # Only the footwell tube is broken by the cross member; no other tube depends on it.
        broken = member is not None and key.startswith("footwell_tube")
        yield Row(key, "chassis_tube", links={"CrossMember": "cross_member" if broken else None})
    before: tuple[str, ...] = ()
    for number, tube in enumerate(car.chassis.tubes or (), 1):
        links: Links = {"CrossMember": "cross_member" if member is not None else None, "Tubes": before}
        yield Row(f"tube/{tube.name}", "frame_tube", tube, links, number)
        before += (f"tube/{tube.name}",)
    if car.mounts.rail_tabs is not None:
        yield Row("rail_tabs", "rail_tabs", car.mounts.rail_tabs, name="Rail tabs")


def _powertrain(car: model.Car, scene: Scene) -> Iterator[Row]:
    yield Row("engine", "engine")
    yield Row("transmission", "transmission")
    for number, header in enumerate(car.headers or (), 1):
        yield Row(f"header/{header.name}", "header", header, number=number)
    if car.plates.protector is not None:
        yield Row("protector", "protector", car.plates.protector)
    support = "support_tube" if car.mounts.support_tube is not None else None
    if support is not None:
        yield Row("support_tube", "support_tube", car.mounts.support_tube)
    if car.plates.mid is None:
        return
    tabs = _tabs(car)
    yield Row("mid_plate", "mid_plate", car.plates.mid, {"RailTabs": tabs, "SupportTube": support})
    if tabs is None:
        return
    if support is not None:
        for side in SIDES:
            yield Row(f"tie_tab/{side}", "tie_tab",
                      links={"MidPlate": "mid_plate", "RailTabs": tabs, "SupportTube": support})
    if scene.chassis.firewall is not None:
        yield Row("firewall", "firewall", links={"MidPlate": "mid_plate", "RailTabs": tabs})


def _tabs(car: model.Car) -> str | None:
    """Key of the table that rail tabs share; None where the car has none yet."""
    return "rail_tabs" if car.mounts.rail_tabs is not None else None


def _mounts(car: model.Car) -> Iterator[Row]:
    mounts, front, tabs = car.mounts, car.plates.front, _tabs(car)
    strut = "limiter_strut" if mounts.limiter_strut is not None else None
    if strut is not None:
        yield Row("limiter_strut", "limiter_strut", mounts.limiter_strut)
        for kind in ("limiter_bracket", "limiter_seat"):
            yield Row(kind, kind, links={"LimiterStrut": strut})
    if front is not None:
        yield Row("front_plate", "front_plate", front, {"RailTabs": tabs, "LimiterStrut": strut})
        clamped: Links = {"RailTabs": tabs, "FrontPlate": "front_plate"}
        if tabs is None:
            pass    # feet and tabs are made of what the rail tabs are made of
        elif front.kind == "narrow":
            for side in SIDES:
                yield Row(f"plate_foot/{side}", "plate_foot", links=clamped)
        else:
            for side in SIDES:
                for face in FACES:
                    yield Row(f"front_tab/{side}_{face}", "rail_tab", links=clamped)
    if car.plates.mid is not None and tabs is not None:
        levels = ("", "_upper") if filled(car.plates.mid).kind == "double_rail" else ("",)
        for side in SIDES:
            for face in FACES:
                for level in levels:
                    yield Row(f"rail_tab/{side}_{face}{level}", "rail_tab", links={"RailTabs": tabs})
    if mounts.transmission is not None:
        yield Row("transmission_mount", "transmission_mount", mounts.transmission, {"CrossMember": "cross_member"})
        yield Row("receiver", "receiver", links={"TransmissionMount": "transmission_mount", "CrossMember": "cross_member"})
    if mounts.setup_stands is not None:
        yield Row("setup_bar", "setup_bar", mounts.setup_stands)
        for end in setup_stand.ENDS:
            yield Row(f"setup_stand/{end}", "setup_stand", links={"SetupStands": "setup_bar"})


def _driveline(car: model.Car) -> Iterator[Row]:
    if car.driveshaft is not None:
        yield Row("driveshaft", "driveshaft", car.driveshaft)
        if car.rear_end.suspension is not None:
            yield Row("shaft_envelope", "shaft_envelope", links={"Driveshaft": "driveshaft"})
    containment = car.containment
    if containment is None:
        return
    tubes = tuple(f"tube/{tube.name}" for tube in car.chassis.tubes or ())
    loops = tuple(f"loop/{loop.name}" for loop in containment.loops or ())
    for number, (key, loop) in enumerate(zip(loops, containment.loops or ()), 1):
        yield Row(key, f"{loop.kind}_loop", loop, {"Tubes": tubes}, number)
    enclosure = "enclosure" if containment.enclosure is not None else None
    if enclosure is not None:
        yield Row("enclosure", "enclosure", containment.enclosure, {"Loops": loops})
        for end in enclosure_mount.ENDS:
            for side in enclosure_mount.SIDES:
                yield Row(f"enclosure_mount/{end}_{side}", "enclosure_mount", links={"Enclosure": enclosure, "Loops": loops})
    if containment.tunnel is not None:
        yield Row("tunnel", "tunnel", containment.tunnel, {"Loops": loops, "Enclosure": enclosure, "Tubes": tubes})
