"""Sections of a car: taken out, put back, and found from the parts that they make."""
from __future__ import annotations

import pathlib
from dataclasses import replace

import pytest

from crankline import carfile, model, record, sections
from crankline.features.edited import Place, place_of
from crankline.features.registry import DATA, declared, proxy_class

DEMOS = pathlib.Path(__file__).parent.parent.parent / "demo_assemblies"


@pytest.fixture(scope="module")
def car() -> model.Car:
    return carfile.read(DEMOS / "full_bodied_automatic.yaml")


def test_every_leaf_of_the_model_is_in_one_section():
    """The fields of all sections together are the fields of a car: none is in no section, and none in two."""
    def covered(path, kind):
        return {f"{path}.{name}" for name in record.entries(kind)}

    found = [covered(path, one.record) for path, one in sections.sections().items()]
    assert len(set().union(*found)) == sum(map(len, found))

    def lists_and_leaves(kind, prefix):
        for name, entry in record.entries(kind).items():
            path = f"{prefix}{name}"
            if path in sections.sections():
                yield from covered(path, entry.record)
            else:
                assert entry.kind == "record", path
                yield from lists_and_leaves(entry.record, f"{path}.")

    assert set(lists_and_leaves(model.Car, "")) == set().union(*found)


def test_a_section_put_back_is_the_car_again(car):
    for path, one in sections.sections().items():
        for item in range(len(sections.items(car, path))) if one.many else (None,):
            held = sections.get(car, path, item)
            if held is None:
                continue
            assert sections.put(car, path, held, item) == car
            if not one.needed:
                left = sections.without(car, path, item)
                assert (len(sections.items(left, path)) == len(sections.items(car, path)) - 1) if one.many \
                    else sections.get(left, path) is None


def test_a_section_that_no_car_is_without_stays(car):
    with pytest.raises(ValueError, match="placement: a car is not whole without its placement"):
        sections.without(car, "placement")


def test_an_absent_branch_comes_into_being_with_its_first_part(car):
    enclosure = sections.get(car, "containment.enclosure")
    bare = replace(car, containment=None)
    assert sections.without(bare, "containment.enclosure") == bare
    assert sections.put(bare, "containment.enclosure", enclosure).containment == model.Containment(
        loops=None, enclosure=enclosure, tunnel=None)


def test_two_loops_of_one_name_are_refused(car):
    loop = sections.get(car, "containment.loops", 0)
    with pytest.raises(ValueError, match="there is one named 'front' already"):
        sections.put(car, "containment.loops", loop, len(car.containment.loops))
    name = sections.free_name(car, "containment.loops", "front")
    more = sections.put(car, "containment.loops", replace(loop, name=name), len(car.containment.loops))
    assert sections.items(more, "containment.loops")[-1] == "front2"
    with pytest.raises(ValueError, match="it holds a MidPlate"):
        sections.put(car, "plates.mid", loop)


def test_every_part_is_edited_in_a_section(car):
    """A part with a record of its own is edited where that record stands; every other in a section that there is."""
    for role, part in declared().items():
        section = sections.section_of(part.section)
        own = proxy_class(part.kind).record
        assert own is None or section.record is own, role


@pytest.mark.parametrize("kind, key, place", [
    ("split_loop", "loop/front", Place("containment.loops", 0)), ("fixed_loop", "loop/rear", Place("containment.loops", 2)),
    ("fixed_loop", "loop/gone", None), ("mass", "mass/02", Place("masses", 1)),
    ("rail_tab", "rail_tab/left_front", Place("mounts.rail_tabs")), ("layout", "layout", Place("placement")),
    ("engine_data", "engine_data", Place("engine")), ("chassis", "chassis", Place("chassis.rails")),
    ("chassis_tube", "footwell_tube/left", Place("chassis.footwell_tube")), ("car", "car", Place("car"))])
def test_an_object_is_found_in_its_car(car, kind, key, place):
    assert place_of(kind, key, car) == place


def test_every_kind_of_object_is_edited_somewhere(car):
    item = model.ProtectiveItem(item="bell", specification="SFI 6.1", issued=None, expires=None)
    car = replace(car, protective_items=(item,))
    assert [kind for kind in DATA if place_of(kind, f"{kind}/01", car) is None] == []
