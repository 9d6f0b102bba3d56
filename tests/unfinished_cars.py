"""Cars that are not finished: every section taken out of a demo by itself, and a demo put together section by section in the order of
work."""
from __future__ import annotations

import pathlib
from dataclasses import replace
from functools import cache

from crankline import carfile, model, sections
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed
from crankline.record import filled

DEMOS = pathlib.Path(__file__).resolve().parents[1] / "demo_assemblies"
NAMES = ("full_bodied_automatic", "open_clutch")
ORDER = tuple(path for path in sections.order_of_work() if not sections.section_of(path).needed)

@cache
def demo(name: str) -> model.Car:
    return carfile.read(DEMOS / f"{name}.yaml")


def taken_out(car: model.Car, path: str) -> model.Car:
    for _item in range(len(sections.items(car, path)) if sections.section_of(path).many else 1):
        car = sections.without(car, path, 0 if sections.section_of(path).many else None)
    return car


def begun(car: model.Car) -> model.Car:
    """Chassis, rear end, engine, transmission and placement alone."""
    for path in ORDER:
        car = taken_out(car, path)
    rear: model.RearEnd = sections.get(car, "rear_end")
    return sections.put(car, "rear_end", replace(rear, suspension=None))


def placed(car: model.Car):
    """The scene, with the chassis as a document has it: as long as the wheelbase says."""
    return scenes.of(replace(car, chassis=completed(filled(car.chassis), car.car.wheelbase)))


def less():
    for name in NAMES:
        yield f"{name} without {sections.SUSPENSION}", replace(demo(name), rear_end=replace(demo(name).rear_end, suspension=None))
        for path in ORDER:
            if sections.get(demo(name), path):
                yield f"{name} without {path}", taken_out(demo(name), path)


def more():
    for name in NAMES:
        whole = demo(name)
        car = begun(whole)
        yield f"{name} begun", car
        for path in ORDER:
            if path == "chassis.sketches" or not sections.get(whole, path):
                continue
            held = sections.get(whole, path)
            for number, record in enumerate(held if sections.section_of(path).many else (held,)):
                car = sections.put(car, path, record, number if sections.section_of(path).many else None)
            yield f"{name} as far as {path}", car


CARS = dict((*less(), *more()))
