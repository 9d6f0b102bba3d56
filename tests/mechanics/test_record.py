"""Records: descriptions, absent against default, equality, difference."""
import dataclasses
import math
import typing

import pytest

from crankline import model, record

RECORDS = [value for value in vars(model).values() if dataclasses.is_dataclass(value)]


def reached(kind, seen=None):
    seen = seen if seen is not None else set()
    seen.add(kind)
    for entry in record.entries(kind).values():
        if entry.record is not None and entry.record not in seen:
            reached(entry.record, seen)
    return seen


@pytest.mark.parametrize("kind", RECORDS, ids=lambda kind: kind.__name__)
def test_every_description_makes_sense(kind):
    assert kind.__doc__
    assert dataclasses.fields(kind) and kind.__dataclass_params__.frozen
    keys = [entry.key for entry in record.entries(kind).values()]
    assert len(set(keys)) == len(keys) and all(key.isidentifier() and key == key.lower() for key in keys)
    annotated = typing.get_type_hints(kind)
    types = {"ratio": float, "count": int, "flag": bool, "choice": str, "text": str, "texts": tuple[str, ...],
             "holes": tuple[model.Hole, ...], "points": tuple[tuple[float, float, float], ...]}
    for name, entry in record.entries(kind).items():
        assert entry.doc and "\n" not in entry.doc
        assert entry.low <= entry.high
        nested = {"record": entry.record, "records": tuple[entry.record, ...]}
        wanted = nested.get(entry.kind) or (float if entry.kind in record.DIMENSIONS else types[entry.kind])
        assert annotated[name] == wanted, name
        if entry.kind == "choice":
            assert entry.choices and (entry.default is None or entry.default in entry.choices)
        if entry.default is not None and isinstance(entry.default, (int, float)) and not isinstance(entry.default, bool):
            assert entry.low <= entry.default <= entry.high
        assert not (entry.required and entry.default is not None), f"{name} is required and has a default"
        if entry.form:
            assert entry.form == "date" and "YYYY-MM-DD" in entry.doc


def test_every_record_belongs_to_the_car():
    assert set(RECORDS) == reached(model.Car)


def test_lengths_have_limits():
    for path, entry, _ in record.leaves(model.Car):
        if entry.kind == "length":
            assert -math.inf < entry.low and entry.high < math.inf, path


def test_keys_and_fields():
    assert record.by_key(model.CarRecord)["class"] == "class_"
    assert record.entries(model.CarRecord)["class_"].key == "class"


def test_absent_and_default_are_told_apart():
    plate = model.SurfacePlate()
    assert plate.height is None and record.filled(plate).height == 0.0
    assert record.filled(plate) == model.SurfacePlate(height=0.0, rake=0.0)
    assert not record.equal(plate, record.filled(plate))
    assert record.filled(record.filled(plate)) == record.filled(plate)


def test_nested_records_are_filled():
    rails = model.Rails(section=model.Section(outer_diameter=40.0, wall=2.0))
    chassis = model.Chassis(rear_tire=model.RearTire(loaded_radius=400.0), rails=rails, uprights=model.Uprights(half_spacing=300.0))
    full = record.filled(chassis)
    assert full.rear_tire.growth_radius == 0.0 and full.rails.kind == "single" and full.rails.half_spacing is None
    assert full.uprights.section == model.Section(outer_diameter=31.75, wall=0.065 * 25.4)
    assert full.sketches is None and full.surface_plate is None
    held = model.Containment(loops=(model.Loop(name="a", kind="split", x=1.0),))
    assert record.filled(held).loops[0].form == "tube"


def test_required_fields_are_required():
    with pytest.raises(TypeError):
        model.Section(outer_diameter=1.0)
    with pytest.raises(TypeError):
        model.Point(1.0, 2.0, 3.0)


def test_equality_is_by_twelve_digits_and_type():
    a = model.Point(x=1.0, y=2.0, z=3.0)
    assert record.equal(a, model.Point(x=1.0 + 1e-14, y=2.0, z=3.0 - 1e-14))
    assert not record.equal(a, model.Point(x=1.0 + 1e-9, y=2.0, z=3.0))
    assert not record.equal(a, model.SidePoint(x=1.0, z=3.0))
    assert not record.equal((a,), (a, a)) and record.equal((a, "b"), (a, "b"))
    assert not record.equal(1, 1.0) and not record.equal(True, 1) and not record.equal(None, 0.0)


def test_differences_name_their_paths():
    a = model.Link(axle=model.SidePoint(x=1.0, z=2.0), chassis=model.SidePoint(x=3.0, z=4.0))
    b = dataclasses.replace(a, chassis=model.SidePoint(x=3.0, z=5.0))
    assert record.difference(a, a) == []
    assert record.difference(a, b) == ["chassis.z: 4.0 != 5.0"]
    assert record.difference((a,), (b,)) == ["[0].chassis.z: 4.0 != 5.0"]
    assert len(record.difference((a,), (a, a), "links")) == 1


def test_leaves_and_look():
    leaves = {path: optional for path, _, optional in record.leaves(model.Chassis)}
    assert leaves[("rear_tire", "loaded_radius")] is False
    assert leaves[("rails", "section", "wall")] is False
    assert leaves[("uprights", "section", "wall")] is True and leaves[("firewall", "x")] is True
    plates = model.Plates(mid=model.MidPlate(thickness=6.0, center_opening=100.0, half_width=300.0, above_crank=300.0, below_crank=150.0))
    assert record.look(plates, ("mid", "thickness")) == 6.0
    assert record.look(plates, ("front", "thickness")) is None
