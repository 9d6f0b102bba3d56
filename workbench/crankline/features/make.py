"""A whole car as a document: used alike by headless runs, the window and tests."""
from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import FreeCAD as App

from .. import model
from ..mechanics.chassis import completed
from ..record import filled
from . import chassis as chassis_feature
from . import props
from .base import PartFeature, identify
from .data import CarData, waivers_text
from .registry import CONTAINER, proxy_class

CONTAINERS = (("chassis", "Chassis"), ("data", "Data"), ("powertrain", "Powertrain"), ("mounts", "Mounts"),
              ("driveline", "Driveline"))


class MakeError(ValueError):
    """A car that cannot be made into a document. One sentence."""


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
    """Add a car to a document without recomputing it; returns its layout object. Several cars in one document are legal."""
    maker = Maker(target, car)
    maker.sketches(folder)
    return maker.everything()


class Maker:
    """Makes the objects of one car, upstream first."""

    def __init__(self, target: App.Document, car: model.Car):
        self.document, self.car, self.layout = target, car, None
        self.root = target.addObject("App::Part", "Crankline")
        self.root.Label = car.car.name
        identify(self.root, CONTAINER, "root", 1)
        self.containers = {}
        for key, label in CONTAINERS:
            part = target.addObject("App::Part", label)
            part.Label = label
            identify(part, CONTAINER, key, 1)
            part.setPropertyStatus("Placement", "ReadOnly")
            self.root.addObject(part)
            self.containers[key] = part
        self.side = self.plan = None

    def sketches(self, folder: str | Path | None) -> None:
        """The two sketches: copied from the document that the car file names, or drawn from its numbers."""
        named = self.car.chassis.sketches
        if named is not None:
            self.side, self.plan = copied_sketches(self.document, named, Path(folder or "."))
        else:
            self.side = self.document.addObject("Sketcher::SketchObject", "SideSketch")
            self.plan = self.document.addObject("Sketcher::SketchObject", "PlanSketch")
            self.side.Label, self.plan.Label = "Side sketch", "Plan sketch"
            chassis_feature.draw(self.side, self.plan, self.car.chassis, self.car.rear_end, self.car.car.wheelbase)
        for sketch in (self.side, self.plan):
            self.containers["chassis"].addObject(sketch)

    def add(self, container: str, kind: str, key: str, label: str, record: Any = None, **links: Any):
        """One object: made, filled from its record, linked to the layout and to what ``links`` names."""
        cls = proxy_class(kind)
        host_type = "Part::FeaturePython" if issubclass(cls, PartFeature) else "App::FeaturePython"
        obj = self.document.addObject(host_type, "".join(word.capitalize() for word in re.split(r"\W+|_", key)))
        cls(obj, key)
        obj.Label = label
        if record is not None and cls.record is not None:
            props.write(obj, props.table(cls.record), record)
        if cls.has_layout:
            obj.Layout = self.layout
        for name, value in links.items():
            setattr(obj, name, value)
        self.containers[container].addObject(obj)
        return obj

    def scene(self):
        """The placed car, once the layout was computed; MakeError says why there is none."""
        for obj in (self.layout.Chassis, self.layout.Engine, self.layout.Transmission, self.layout):
            if "Invalid" in obj.State:
                raise MakeError(obj.getStatusString())
        return self.layout.Proxy.scene(self.layout)

    def everything(self):
        """All objects of the car, upstream first; returns the layout."""
        car, filled_plates = self.car, filled(self.car.plates)
        chassis = self.add("chassis", "chassis", "chassis", "Chassis data", SideSketch=self.side, PlanSketch=self.plan)
        derived = completed(filled(car.chassis), car.car.wheelbase) if car.chassis.sketches is None else None
        props.write(chassis, chassis_feature.CHASSIS, car.chassis, derived)
        props.write(chassis, chassis_feature.REAR_END, car.rear_end, _rear_end_derived(car))
        engine = self.add("data", "engine_data", "engine_data", "Engine data", car.engine)
        transmission = self.add("data", "transmission_data", "transmission_data", "Transmission data", car.transmission)
        self.layout = self.add("data", "layout", "layout", "Layout", car.placement, Chassis=chassis, Engine=engine,
                               Transmission=transmission)
        self.layout.ProtectorThickness = filled_plates.protector.thickness if filled_plates.protector else 0.0
        self.layout.MidPlateThickness = filled_plates.mid.thickness
        car_object = self.add("data", "car", "car", "Car", car.car)
        props.write(car_object, CarData.RULES, car.rules)
        car_object.Waivers = waivers_text(car.rules.waivers if car.rules else None)
        car_object.Given = given_but_empty(car)
        for number, mass in enumerate(car.masses or (), 1):
            self.add("data", "mass", f"mass/{number:02d}", mass.name, mass)
        for number, item in enumerate(car.protective_items or (), 1):
            self.add("data", "protective_item", f"protective_item/{number:02d}", item.item, item)
        from . import parts
        parts.add(self)
        return self.layout


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
    from ..mechanics.scene import pinion
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
        raise MakeError(f"chassis.sketches.file: {named.file} cannot be opened as a FreeCAD document ({' '.join(str(error).split())}); save it "
                        "again or give the chassis as numbers") from None
    opened_here = source.Name not in before
    try:
        found = []
        for role, label in (("side", named.side), ("plan", named.plan)):
            matches = [obj for obj in source.Objects
                       if obj.TypeId.startswith("Sketcher::SketchObject") and label in (obj.Label, obj.Name)]
            if len(matches) != 1:
                names = ", ".join(obj.Label for obj in source.Objects if obj.TypeId.startswith("Sketcher::SketchObject"))
                what = "is not in" if not matches else "stands twice in"
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
