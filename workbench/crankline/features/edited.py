"""Which section of a car an object of its document shows, and is edited through."""
from __future__ import annotations

from dataclasses import dataclass, replace

from .. import model, sections
from ..mechanics import scene as scenes
from ..mechanics.chassis import completed
from ..mechanics.scene import Scene
from ..record import filled
from .plan import plan
from .registry import PARTS, declaration, proxy_class


@dataclass(frozen=True)
class Place:
    """A section by its path, and which item of it where it is a list, counting from 0."""
    path: str
    item: int | None = None


def path_of(kind: str, key: str) -> str:
    """The section of a car that the object of a kind and key shows; empty where it shows none, as a branch of the tree does not."""
    if kind in PARTS:
        return declaration(kind, key).section
    record = getattr(proxy_class(kind), "record", None)
    # The chassis object holds several sections: its first one is where a panel of it begins.
    return "chassis.rails" if record is model.Chassis else next(iter(sections.paths_of(record)), "") if record is not None else ""


def place_of(kind: str, key: str, car: model.Car) -> Place | None:
    """Where in a car the object of a kind and key is edited; None where it is edited nowhere, as a branch of the tree is not, or where
    the car no longer holds its item."""
    path = path_of(kind, key)
    if not path:
        return None
    section = sections.section_of(path)
    if not section.many:
        return Place(path)
    name = key.partition("/")[2]
    names = sections.items(car, path)
    if name in names:
        return Place(path, names.index(name))
    number = int(name) - 1 if name.isdigit() else -1
    return Place(path, number) if 0 <= number < len(names) else None


def keys_at(place: Place, car: model.Car, scene: Scene) -> tuple[str, ...]:
    """Keys of the parts that a section makes: its own, and those that come with it. MakeError where the car cannot be laid out."""
    return tuple(row.key for row in plan(car, scene) if row.has_shape and place_of(row.kind, row.key, car) == place)


def foreseen(layout, car: model.Car) -> Scene:
    """The scene that a document would have with another model; ValueError says why there is none. Where sketches give the chassis, it is
    as they have it now."""
    if car.chassis.sketches is None:
        return scenes.of(replace(car, chassis=completed(filled(car.chassis), car.car.wheelbase)))
    chassis, rear_end, *_rest = layout.Proxy.inputs(layout)
    return scenes.build(chassis, rear_end, car.engine, car.transmission, car.placement, scenes.stack_of(car.plates))
