"""A document brought to a car's model: the one way in which a car comes into a document and is changed there.

Whoever wants to change a car reads its model (``read.car``), makes another one, and hands it over. What differs is written, added, linked
again or removed; what does not differ is not touched, so that only what changed is computed again.
"""
from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import FreeCAD as App

from .. import model
from ..mechanics.chassis import completed
from ..mechanics.scene import Scene, pinion, stack_of
from ..record import difference, filled
from ..units import read_in
from . import chassis as chassis_feature
from . import chassis_drawing, props, read
from .base import PartFeature
from .copied_sketches import copied_sketches
from .data import CarData, waivers_text
from .plan import CONTAINERS, MakeError, Row, plan, upstream
from .registry import proxy_class
from .transaction import transaction


@dataclass(frozen=True)
class Changes:
    """Keys of the objects that came into a document, that were written or linked again, and that left it."""
    added: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()


def apply(layout, car: model.Car, folder: str | Path | None = None, title: str = "Edit Car") -> Changes:
    """Bring the document of a layout's car to a model, recomputed, as one undo step of the name ``title``.

    MakeError where the car cannot be placed or its tree was taken apart, ValueError where the document's car cannot be read; then the
    document is as it was. ``folder`` is where a sketch document that the model newly names is looked for. A part that cannot be laid out
    is in error afterwards and says so; it does not stop the others.
    """
    with transaction(layout.Document, title):
        return reconciled(layout, car, folder)


def reconciled(layout, car: model.Car, folder: str | Path | None = None) -> Changes:
    """As ``apply``, inside a transaction that is open."""
    target, before = layout.Document, read.car(layout)
    containers = {part.Key: part for part in read.containers(layout)}
    if lost := [label for key, label in CONTAINERS if key not in containers]:
        raise MakeError(f"{layout.Label}: the branch {lost[0]} of the car's tree was deleted; undo that before the car is edited")
    work = Reconciler(target, containers, {**{obj.Key: obj for obj in read.members(layout)}, "layout": layout})
    work.settle(before, car, folder)
    target.recompute()
    return work.changes


def add(target: App.Document, containers: Mapping[str, Any], row: Row, made: Mapping[str, Any]):
    """One object: made, filled from its record, linked to the layout and to what its row names; ``made``: key to object."""
    cls = proxy_class(row.kind)
    host_type = "Part::FeaturePython" if issubclass(cls, PartFeature) else "App::FeaturePython"
    obj = target.addObject(host_type, "".join(word.capitalize() for word in re.split(r"\W+|_", row.key)))
    cls(obj, row.key)
    obj.Label = row.label
    if cls.has_layout:
        obj.Layout = made.get("layout")
    _fill(obj, row, made)
    containers[row.container].addObject(obj)
    return obj


def _fill(obj, row: Row, made: Mapping[str, Any]) -> bool:
    """Give an object the record, the links and the number of its row; whether any of it was not there yet."""
    record = proxy_class(row.kind).record
    changed = row.record is not None and record is not None and props.write(obj, props.table(record), row.record)
    for name, keys in row.links.items():
        wanted = [made[key] for key in keys] if isinstance(keys, tuple) else None if keys is None else made[keys]
        if _names(getattr(obj, name)) != _names(wanted):
            setattr(obj, name, wanted)
            changed = True
    if row.number and obj.Number != row.number:
        obj.Number, changed = row.number, True
    return changed


def _names(linked: Any) -> Any:
    return [one.Name for one in linked] if isinstance(linked, (list, tuple)) else linked and linked.Name


class Reconciler:
    """The objects of one car, on their way from what a document holds to what a model wants. ``made``: key to object, kept current."""

    def __init__(self, target: App.Document, containers: Mapping[str, Any], made: Mapping[str, Any]):
        self.target, self.containers, self.made = target, containers, dict(made)
        self._added: list[str] = []
        self._changed: list[str] = []
        self._removed: list[str] = []
        self._leaving: list[Any] = []

    @property
    def changes(self) -> Changes:
        """What was done so far."""
        return Changes(tuple(self._added), tuple(dict.fromkeys(self._changed)), tuple(self._removed))

    def settle(self, before: model.Car | None, car: model.Car, folder: str | Path | None) -> Any:
        """Do it all; ``before``: the model that the document holds, None for an empty one. Chassis and layout are recomputed, the rest is
        left to the caller. Returns the layout."""
        labels = {} if before is None else {row.key: row.label for row in upstream(before)}
        wanted = list(upstream(car))
        for row in wanted:
            self._put(row, labels)
        self._chassis(before, car, folder)
        self._tables(before, car)
        layout = self.made["layout"]
        self.target.recompute([layout])   # the chassis says which tubes there are once its sketches were read
        with read_in(car.car.units):
            parts = plan(car, _scene(layout))
            for row in parts:
                self._put(row, {row.key: row.label})
        keys = {row.key for row in wanted} | {row.key for row in parts}
        self._remove(keys)
        props.put(self.made["car"], "MadeWith", sorted(keys))
        return layout

    def _put(self, row: Row, labels: Mapping[str, str]) -> None:
        """Make the object of a row, or bring it to its row. A label that the user gave stays."""
        obj = self.made.get(row.key)
        if obj is not None and obj.Kind != row.kind:
            self._leaving.append(obj)
            self._removed.append(row.key)
            obj = None
        if obj is None:
            self.made[row.key] = add(self.target, self.containers, row, self.made)
            self._added.append(row.key)
            return
        changed = _fill(obj, row, self.made)
        if obj.Label != row.label and obj.Label == labels.get(row.key):
            obj.Label, changed = row.label, True
        if changed:
            self._changed.append(row.key)

    def _remove(self, wanted: set[str]) -> None:
        """Take out what the car no longer has: last made first, so that nothing is left linking to what is gone."""
        gone = [key for key in self.made if key not in wanted]
        for obj in [*self._leaving, *reversed([self.made.pop(key) for key in gone])]:
            self.target.removeObject(obj.Name)
        self._leaving.clear()
        self._removed += gone

    def _chassis(self, before: model.Car | None, car: model.Car, folder: str | Path | None) -> None:
        """Sketches and numbers of the chassis; the sketches win where both give something, so they come first."""
        obj = self.made["chassis"]
        if before is not None and _same_chassis(before, car):
            return
        if before is None or before.chassis.sketches != car.chassis.sketches:
            self._new_sketches(obj, car, folder)
        else:
            whole = car if car.chassis.sketches is None else _over(before, car)
            chassis_drawing.redraw(obj.SideSketch, obj.PlanSketch, whole.chassis, whole.rear_end, whole.car.wheelbase)
        by_numbers = car.chassis.sketches is None
        derived = completed(filled(car.chassis), car.car.wheelbase) if by_numbers else None
        props.write(obj, chassis_feature.CHASSIS, car.chassis, derived)
        props.write(obj, chassis_feature.REAR_END, car.rear_end, _rear_end_derived(car))
        obj.touch()   # the numbers of sketches are shown in it, so that writing them tells nobody
        if before is not None:
            self._changed.append("chassis")

    def _new_sketches(self, obj, car: model.Car, folder: str | Path | None) -> None:
        """A side and a plan sketch: copied from the document that the car file names, or drawn from its numbers."""
        old = [sketch for sketch in (obj.SideSketch, obj.PlanSketch) if sketch is not None]
        named = car.chassis.sketches
        if named is not None:
            side, plan_sketch = copied_sketches(self.target, named, Path(folder or "."))
        else:
            side = self.target.addObject("Sketcher::SketchObject", "SideSketch")
            plan_sketch = self.target.addObject("Sketcher::SketchObject", "PlanSketch")
            side.Label, plan_sketch.Label = "Side sketch", "Plan sketch"
            chassis_drawing.draw(side, plan_sketch, car.chassis, car.rear_end, car.car.wheelbase)
        for sketch in (side, plan_sketch):
            self.containers["chassis"].addObject(sketch)
        obj.SideSketch, obj.PlanSketch = side, plan_sketch
        for sketch in old:
            self.target.removeObject(sketch.Name)

    def _tables(self, before: model.Car | None, car: model.Car) -> None:
        """What stands in layout and car object beside their own records: the stack, the rules, what was given empty, the tree's name."""
        layout, car_object, root = self.made["layout"], self.made["car"], self.containers["root"]
        stack = stack_of(car.plates)
        changed = props.put(layout, "ProtectorThickness", stack.protector)
        changed = props.put(layout, "MidPlateThickness", stack.mid_plate) or changed
        if changed and before is not None:
            self._changed.append("layout")
        changed = props.write(car_object, CarData.RULES, car.rules)
        changed = props.write(car_object, CarData.TITLE_BLOCK, car.title_block) or changed
        changed = props.put(car_object, "Waivers", waivers_text(car.rules.waivers if car.rules else None)) or changed
        changed = props.put(car_object, "Given", given_but_empty(car)) or changed
        if changed and before is not None:
            self._changed.append("car")
        if before is not None and root.Label == before.car.name != car.car.name:
            root.Label = car.car.name


def _scene(layout) -> Scene:
    """The placed car, once the layout was computed; MakeError says why there is none."""
    for obj in (layout.Chassis, layout.Engine, layout.Transmission, layout):
        if "Invalid" in obj.State:
            raise MakeError(obj.getStatusString())
    return layout.Proxy.scene(layout)


def _same_chassis(before: model.Car, car: model.Car) -> bool:
    # Further tubes are objects of their own.
    absent: Any = None
    held, wanted = (replace(one.chassis, tubes=absent) for one in (before, car))
    return (before.car.wheelbase == car.car.wheelbase and difference(held, wanted) == []
            and difference(before.rear_end, car.rear_end) == [])


def _over(before: Any, wanted: Any) -> Any:
    """A record with what it leaves out taken from another one: a chassis of sketches need not state what they give."""
    if wanted is None or type(before) is not type(wanted) or not is_dataclass(wanted) or isinstance(wanted, type):
        return before if wanted is None else wanted
    return replace(wanted, **{one.name: _over(getattr(before, one.name), getattr(wanted, one.name)) for one in fields(wanted)})


def given_but_empty(car: model.Car) -> list[str]:
    """Sections and lists that the car file gives although they hold nothing: told from absent ones."""
    containment, rules = car.containment, car.rules
    found = []
    for name, value in (("masses", car.masses), ("protective_items", car.protective_items), ("headers", car.headers),
                        ("chassis.tubes", car.chassis.tubes),
                        ("containment.loops", containment.loops if containment else None)):
        if value == ():
            found.append(name)
    found += ["containment"] if containment is not None else []
    found += ["rules"] if rules is not None else []
    found += ["title_block"] if car.title_block is not None else []
    return found


def _rear_end_derived(car: model.Car) -> model.RearEnd | None:
    """The rear end with its joint stated, where the car file leaves that to the housing."""
    if car.rear_end.pinion_joint is not None or car.chassis.sketches is not None:
        return None
    joint, _pitch = pinion(car.chassis, car.rear_end)
    return replace(car.rear_end, pinion_joint=model.Point(x=float(joint[0]), y=float(joint[1]), z=float(joint[2])))
