"""A whole car as a document: used alike by headless runs, the window and tests."""
from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import FreeCAD as App

from .. import model
from ..mechanics.chassis import completed
from ..mechanics.scene import Scene, pinion
from ..record import filled
from ..units import read_in
from . import chassis as chassis_feature
from . import props
from .base import PartFeature, identify
from .data import CarData, waivers_text
from .plan import CONTAINERS, MakeError, Row, plan, upstream
from .registry import CONTAINER, proxy_class


def document(car: model.Car, name: str = "Car", folder: str | Path | None = None) -> App.Document:
    """A new document holding the car, recomputed. ``folder`` is where a named sketch document is looked for."""
    made = App.newDocument(re.sub(r"\W", "_", name) or "Car")
    made.Label = name
    try:
        add_car(made, car, folder)
        made.recompute()
    except Exception:
        App.closeDocument(made.Name)
        raise
    return made


def add_car(target: App.Document, car: model.Car, folder: str | Path | None = None):
    """Add a car to a document; only its chassis and layout are recomputed. Returns its layout object; MakeError says why the car cannot
    be placed. Several cars in one document are legal."""
    containers = _containers(target, car.car.name)
    sketches = _sketches(target, containers["chassis"], car, folder)
    made: dict[str, Any] = {}
    for row in upstream(car):
        made[row.key] = add(target, containers, row, made)
    chassis, layout, car_object = made["chassis"], made["layout"], made["car"]
    chassis.SideSketch, chassis.PlanSketch = sketches
    derived = completed(filled(car.chassis), car.car.wheelbase) if car.chassis.sketches is None else None
    props.write(chassis, chassis_feature.CHASSIS, car.chassis, derived)
    props.write(chassis, chassis_feature.REAR_END, car.rear_end, _rear_end_derived(car))
    plates = filled(car.plates)
    layout.ProtectorThickness = plates.protector.thickness if plates.protector else 0.0
    layout.MidPlateThickness = plates.mid.thickness
    props.write(car_object, CarData.RULES, car.rules)
    car_object.Waivers = waivers_text(car.rules.waivers if car.rules else None)
    car_object.Given = given_but_empty(car)
    target.recompute([layout])   # the chassis says which tubes there are once its sketches were read
    with read_in(car.car.units):
        for row in plan(car, _scene(layout)):
            made[row.key] = add(target, containers, row, made)
    return layout


def add(target: App.Document, containers: Mapping[str, Any], row: Row, made: Mapping[str, Any]):
    """One object: made, filled from its record, linked to the layout and to what its row names; ``made``: key to object."""
    cls = proxy_class(row.kind)
    host_type = "Part::FeaturePython" if issubclass(cls, PartFeature) else "App::FeaturePython"
    obj = target.addObject(host_type, "".join(word.capitalize() for word in re.split(r"\W+|_", row.key)))
    cls(obj, row.key)
    obj.Label = row.label
    if row.record is not None and cls.record is not None:
        props.write(obj, props.table(cls.record), row.record)
    if cls.has_layout:
        obj.Layout = made.get("layout")
    for name, keys in row.links.items():
        setattr(obj, name, [made[key] for key in keys] if isinstance(keys, tuple) else None if keys is None else made[keys])
    if row.number:
        obj.Number = row.number
    containers[row.container].addObject(obj)
    return obj


def _containers(target: App.Document, name: str) -> dict[str, Any]:
    """The tree that holds a car: key to App::Part."""
    root = target.addObject("App::Part", "Crankline")
    root.Label = name
    identify(root, CONTAINER, "root", 1)
    found = {}
    for key, title in CONTAINERS:
        part = target.addObject("App::Part", title)
        part.Label = title
        identify(part, CONTAINER, key, 1)
        part.setPropertyStatus("Placement", "ReadOnly")
        root.addObject(part)
        found[key] = part
    return found


def _sketches(target: App.Document, container, car: model.Car, folder: str | Path | None) -> tuple[Any, Any]:
    """The side and the plan sketch: copied from the document that the car file names, or drawn from its numbers."""
    named = car.chassis.sketches
    if named is not None:
        side, plan_sketch = copied_sketches(target, named, Path(folder or "."))
    else:
        side = target.addObject("Sketcher::SketchObject", "SideSketch")
        plan_sketch = target.addObject("Sketcher::SketchObject", "PlanSketch")
        side.Label, plan_sketch.Label = "Side sketch", "Plan sketch"
        chassis_feature.draw(side, plan_sketch, car.chassis, car.rear_end, car.car.wheelbase)
    for sketch in (side, plan_sketch):
        container.addObject(sketch)
    return side, plan_sketch


def _scene(layout) -> Scene:
    """The placed car, once the layout was computed; MakeError says why there is none."""
    for obj in (layout.Chassis, layout.Engine, layout.Transmission, layout):
        if "Invalid" in obj.State:
            raise MakeError(obj.getStatusString())
    return layout.Proxy.scene(layout)


def given_but_empty(car: model.Car) -> list[str]:
    """Sections and lists that the car file gives although they hold nothing: told from absent ones."""
    containment, rules = car.containment, car.rules
    found = []
    for name, value in (("masses", car.masses), ("protective_items", car.protective_items), ("headers", car.headers),
                        ("containment.loops", containment.loops if containment else None)):
        if value == ():
            found.append(name)
    found += ["containment"] if containment is not None else []
    found += ["rules"] if rules is not None else []
    return found


def _rear_end_derived(car: model.Car) -> model.RearEnd | None:
    """The rear end with its joint stated, where the car file leaves that to the housing."""
    if car.rear_end.pinion_joint is not None or car.chassis.sketches is not None:
        return None
    joint, _pitch = pinion(car.chassis, car.rear_end)
    return replace(car.rear_end, pinion_joint=model.Point(x=float(joint[0]), y=float(joint[1]), z=float(joint[2])))


def copied_sketches(target: App.Document, named: model.Sketches, folder: Path) -> Iterable:
    """Copies of the two sketches of an existing document, which is opened, read and closed, never saved."""
    path = folder / named.file
    if Path(named.file).name != named.file:
        raise MakeError(f"chassis.sketches.file: {named.file!r} is a path; give the name of a document beside the car file")
    if not path.is_file():
        raise MakeError(f"chassis.sketches.file: {named.file} is not beside the car file; put it there or give the chassis "
                        "as numbers")
    before = set(App.listDocuments())
    try:
        source = App.openDocument(str(path), True)
    except Exception as error:
        raise MakeError(f"chassis.sketches.file: {named.file} cannot be opened as a FreeCAD document ({' '.join(str(error).split())}); "
                        "save it again or give the chassis as numbers") from None
    opened_here = source.Name not in before
    try:
        found = []
        for role, label in (("side", named.side), ("plan", named.plan)):
            matches = [obj for obj in source.Objects
                       if obj.TypeId.startswith("Sketcher::SketchObject") and label in (obj.Label, obj.Name)]
            if len(matches) != 1:
                names = ", ".join(obj.Label for obj in source.Objects if obj.TypeId.startswith("Sketcher::SketchObject"))
                what = "is not in" if not matches else "appears twice in"
                raise MakeError(f"chassis.sketches.{role}: a sketch {label!r} {what} {named.file}; its sketches are: "
                                f"{names or 'none'}")
            place = matches[0].getGlobalPlacement()
            copy = target.copyObject(matches[0], False)
            copy.MapMode = "Deactivated"   # what it was attached to stays in its own document
            copy.Placement = place
            found.append(copy)
        return found
    finally:
        if opened_here:
            App.closeDocument(source.Name)
