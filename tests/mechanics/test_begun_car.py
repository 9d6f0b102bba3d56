"""A car that is begun by hand: it is whole enough to be placed, written, read back, and to tell what it lacks."""
from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from crankline import carfile, catalog, model, record, sections
from crankline.features.first_values import first
from crankline.features.plan import described, expected
from crankline.features.start import FIRST, Start, car_of
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed

INCH = 25.4


def begun(**changes) -> Start:
    given = {"name": "First of ours", "body": "full", "wheelbase": 110 * INCH, "tire_radius": 16 * INCH, "rail_half_spacing": 13 * INCH,
             "rail_height": 4.4 * INCH, "pinion_joint": model.SidePoint(x=10.5 * INCH, z=13.2 * INCH), "axle_ratio": 4.1,
             "engine": catalog.names("engines")[0], "transmission": catalog.names("transmissions")[0], "axle_to_block": 82.5 * INCH,
             "crank_height": 10 * INCH}
    return replace(FIRST, **{**given, **changes})


def placed(car: model.Car):
    return scenes.of(replace(car, chassis=completed(record.filled(car.chassis), car.car.wheelbase)))


def test_every_engine_with_every_transmission_is_begun():
    for engine, transmission in itertools.product(catalog.names("engines"), catalog.names("transmissions")):
        car = car_of(begun(engine=engine, transmission=transmission))
        assert (car.engine.use, car.transmission.use) == (engine, transmission)
        scene = placed(car)
        assert float(scene.engine_point(0.0, 0.0, -scene.engine.base_drop)[0]) == pytest.approx(82.5 * INCH, abs=1e-9)
        assert sections.lacking(car) == sections.FINISHED and "rail/left" in expected(car, scene)
        for part in described(car, scene).values():
            assert part.spec(scene) is not None


def test_it_is_a_car_file_and_back(tmp_path):
    car = car_of(begun())
    path = tmp_path / "begun.yaml"
    carfile.save(car, path)
    again = carfile.read(path)
    assert record.difference(record.filled(again), record.filled(car)) == []


def test_everything_that_it_lacks_can_be_added_as_it_begins():
    """Section after section, in the order of the list, each with its first values: every car on the way can be laid out."""
    car, added = car_of(begun(engine="demo_tall_deck_aluminium")), []
    for path in sections.sections():
        if sections.get(car, path) is not None or path in ("chassis.sketches", "masses", "protective_items"):
            continue
        later = [path]
        if path == "mounts.transmission":
            later = ["mounts.cross_member", path]   # the sentence of the layout says so
        if path == "containment.loops":
            later = [path, path]                    # an enclosure wants two
        for one in later:
            if sections.section_of(one).many or sections.get(car, one) is None:
                held = len(sections.items(car, one)) if sections.section_of(one).many else None
                begins = first(one, car, placed(car))
                blank = [name for name, entry in record.entries(type(begins)).items() if entry.required and getattr(begins, name) is None]
                assert blank == [], f"{one} begins without {blank}: give defaults in model.py, or values in features/first_values.py"
                car = sections.put(car, one, begins, held)
                added.append(one)
        scene = placed(car)
        for key, part in described(car, scene).items():
            assert part.spec(scene) is not None, (path, key)
    assert {"plates.front", "containment.loops", "containment.enclosure", "containment.tunnel", "headers", "chassis.firewall"} <= set(added)


def test_the_next_loop_has_a_name_and_a_place_of_its_own():
    car = car_of(begun())
    for _ in range(3):
        number = len(sections.items(car, "containment.loops"))
        car = sections.put(car, "containment.loops", first("containment.loops", car, placed(car)), number)
    names, places = sections.items(car, "containment.loops"), [loop.x for loop in car.containment.loops]
    assert names == ("front", "next", "next2") and places == sorted(places, reverse=True) and len(set(places)) == 3
    joint = float(placed(car).front_joint[0])
    assert 0.0 < joint - places[0] < 6.0 * INCH    # NHRA General Regulations 2008, 2.4: within 6 in of the joint
