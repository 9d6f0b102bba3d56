"""A document brought from one model to another is the document that the other model makes, and one undo brings it back.

``--solids N`` takes N pairs of random models; 200 were taken when this was written.
"""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from random import Random

import cars
import every_kind_of_part
import FreeCAD as App
import pytest

from crankline import model, record
from crankline.features import apply as applying
from crankline.features import base, chassis_drawing, plan, read
from crankline.features.apply import apply
from crankline.mechanics.scene import SceneError

INCH = 25.4
NAMES = ("full_bodied_automatic", "open_clutch")

BATTERY = model.Mass(name="Battery", mass=20.0, cg=model.Point(x=0.0, y=0.0, z=300.0))


def _loops(car: model.Car, change: Callable) -> model.Car:
    held = car.containment or model.Containment()
    return replace(car, containment=replace(held, loops=change(tuple(held.loops or ()))))


def _swapped(loops: tuple, rng: Random) -> tuple:
    """One loop of the other kind, under the same name: the same key, another class."""
    if not loops:
        return loops
    number = rng.randrange(len(loops))
    other = "fixed" if loops[number].kind == "split" else "split"
    return (*loops[:number], replace(loops[number], kind=other), *loops[number + 1:])


def _chassis(car: model.Car, **changes) -> model.Car:
    return replace(car, chassis=replace(car.chassis, **changes))


def _rails(car: model.Car, **changes) -> model.Car:
    return _chassis(car, rails=replace(car.chassis.rails, **changes))


EDITS: tuple[Callable[[model.Car, Random], model.Car], ...] = (
    lambda car, rng: replace(car, placement=replace(car.placement, axle_to_block=rng.choice((81.0, 82.0, 83.5)) * INCH)),
    lambda car, rng: replace(car, placement=replace(car.placement, pitch_mode="parallel", pitch=None)),
    lambda car, rng: replace(car, placement=replace(car.placement, pitch_mode="fixed", pitch=math.radians(rng.choice((1.0, 2.5))))),
    lambda car, rng: _rails(car, height=(car.chassis.rails.height or 0.0) + rng.choice((-0.25, 0.5)) * INCH),
    lambda car, rng: _rails(car, x_rear=None, x_front=rng.choice((None, 100.0 * INCH))),
    lambda car, rng: _chassis(car, firewall=None if car.chassis.firewall and rng.random() < 0.5 else model.Firewall(x=88.0 * INCH)),
    lambda car, rng: _chassis(car, rear_tire=replace(car.chassis.rear_tire, loaded_radius=car.chassis.rear_tire.loaded_radius + 6.0)),
    lambda car, rng: replace(car, car=replace(car.car, name=rng.choice(("Northwind", "Plain Jane")), wheelbase=car.car.wheelbase + 25.4)),
    lambda car, rng: replace(car, rear_end=replace(car.rear_end, pinion_pitch=math.radians(rng.choice((-1.0, 0.0, 2.0))))),
    lambda car, rng: replace(car, plates=replace(car.plates, protector=None)),
    lambda car, rng: replace(car, plates=replace(car.plates, mid=replace(car.plates.mid, thickness=rng.choice((6.35, 9.525))))),
    lambda car, rng: replace(car, mounts=replace(car.mounts, limiter_strut=None, support_tube=None)),
    lambda car, rng: replace(car, mounts=replace(car.mounts, transmission=None)),
    lambda car, rng: replace(car, headers=rng.choice((None, ()))),
    lambda car, rng: replace(car, containment=None),
    lambda car, rng: replace(car, containment=replace(car.containment, enclosure=None, tunnel=None) if car.containment else None),
    lambda car, rng: _loops(car, lambda loops: loops[1:]),
    lambda car, rng: _loops(car, lambda loops: loops[::-1]),
    lambda car, rng: _loops(car, lambda loops: _swapped(loops, rng)),
    lambda car, rng: _loops(car, lambda loops: (*loops, replace(loops[0], name="added", x=loops[0].x - 8.0 * INCH)) if loops else loops),
    lambda car, rng: replace(car, masses=(car.masses or ())[1:]),
    lambda car, rng: replace(car, masses=(*(car.masses or ()), BATTERY)),
    lambda car, rng: replace(car, protective_items=()),
    lambda car, rng: replace(car, rules=rng.choice((None, model.Rules(sets=("practice",))))),
    lambda car, rng: replace(car, driveshaft=replace(car.driveshaft, outer_diameter=3.0 * INCH)),
    lambda car, rng: replace(car, title_block=rng.choice((None, model.TitleBlock(), model.TitleBlock(shop="Night Shift", revision="B")))),
)
"""Edits that a builder makes; some cannot be told from nothing on some cars, and some make parts that cannot be laid out."""


def random_car(rng: Random) -> model.Car:
    """A demo car, or one of those that have every part, after a few edits."""
    car = rng.choice((*(cars.demo(name) for name in NAMES), *every_kind_of_part.cars().values()))
    for edit in rng.sample(EDITS, rng.randint(1, 5)):
        car = edit(car, rng)
    return car


def state(layout) -> dict:
    """Everything that a car's document says of its objects: key to kind, label, digest, placement, error."""
    found = {}
    for obj in read.members(layout):
        shape = (obj.ShapeDigest, tuple(obj.Placement.Matrix.A)) if hasattr(obj, "ShapeDigest") else None
        found[obj.Key] = (obj.Kind, obj.Label, shape, obj.getStatusString() if "Invalid" in obj.State else "")
    return found


def assert_same(one: dict, other: dict, where) -> None:
    assert one.keys() == other.keys(), where
    for key, (kind, label, shape, error) in one.items():
        assert (kind, error) == (other[key][0], other[key][3]), (where, key)
        assert label.rstrip("0123456789") == other[key][1].rstrip("0123456789"), (where, key)
        if shape is not None and not error:
            assert shape[0] == other[key][2][0], (where, key)
            assert shape[1] == pytest.approx(other[key][2][1], abs=1e-9), (where, key)


def test_any_model_from_any_other_and_back(solids, seed):
    rng = Random(f"apply {seed(5)}")
    for number in range(solids(2)):
        first, second = random_car(rng), random_car(rng)
        with cars.remembering():
            try:
                fresh = App.openDocument(str(cars.saved(second)), True)
                document = cars.document(first)
            except (SceneError, plan.MakeError):
                continue
            try:
                layout, wanted = read.only_layout(document), state(read.only_layout(fresh))
                document.UndoMode = 1
                before, names = state(layout), {obj.Name for obj in document.Objects}
                apply(layout, second)
                assert record.difference(read.car(layout), second) == [], number
                assert_same(state(layout), wanted, number)
                states = {obj.Label: obj.State for obj in read.members(layout)}
                # The host leaves what hangs on a part in error, and every branch above it, as touched.
                assert any("Invalid" in one for one in states.values()) or not [one for one in states if "Touched" in states[one]], number
                document.undo()
                document.recompute()
                assert record.difference(read.car(layout), first) == [], number
                assert_same(state(layout), before, number)
                assert {obj.Name for obj in document.Objects} == names, number
            finally:
                App.closeDocument(document.Name)
                App.closeDocument(fresh.Name)


@pytest.fixture(scope="module")
def automatic():
    document = cars.document(NAMES[0], "apply")
    yield document, read.only_layout(document)
    App.closeDocument(document.Name)


def test_the_same_model_touches_nothing(automatic):
    document, layout = automatic
    executes = base.counts["executes"]
    assert apply(layout, read.car(layout)) == applying.Changes()
    assert base.counts["executes"] == executes and document.UndoCount == 0


def test_only_what_differs_is_touched(automatic):
    _document, layout = automatic
    car = read.car(layout)
    loop = car.containment.loops[0]
    builds = dict(base.counts)
    other = replace(car, containment=replace(car.containment, loops=(replace(loop, x=loop.x + 25.4), *car.containment.loops[1:])))
    assert apply(layout, other).changed == (f"loop/{loop.name}",)
    built = {name for name in base.counts if name.startswith("builds ") and base.counts[name] != builds.get(name, 0)}
    assert {name.split()[1].partition("/")[0] for name in built} <= {"loop", "enclosure", "enclosure_mount", "tunnel"}
    assert apply(layout, car).changed == (f"loop/{loop.name}",)


def test_a_car_that_cannot_be_placed_leaves_no_trace(automatic):
    document, layout = automatic
    car, before = read.car(layout), state(layout)
    wrong = replace(car, placement=replace(car.placement, axle_to_block=10.0), masses=())
    with pytest.raises((plan.MakeError, SceneError)):
        apply(layout, wrong)
    document.recompute()
    assert record.difference(read.car(layout), car) == [] and state(layout) == before
    lost = replace(car, mounts=replace(car.mounts, cross_member=None))
    with pytest.raises(plan.MakeError, match=r"mounts\.transmission needs a transmission cross member"):
        apply(layout, lost)
    document.recompute()
    assert record.difference(read.car(layout), car) == [] and state(layout) == before


def test_a_tube_is_taken_out_and_put_back(automatic):
    """Where the car has none, its sketch need not draw one; where it has, the sketch must."""
    _document, layout = automatic
    car = read.car(layout)
    without = replace(car, chassis=replace(car.chassis, footwell_tube=None),
                      mounts=replace(car.mounts, cross_member=replace(car.mounts.cross_member, reference="chassis_x", offset=1500.0)))
    assert "footwell_tube/left" in apply(layout, without).removed
    assert record.difference(read.car(layout), without) == [] and "Invalid" not in layout.State
    assert "footwell_tube/left" in apply(layout, car).added
    assert record.difference(read.car(layout), car) == []


def test_a_label_of_the_users_own_stays(automatic):
    _document, layout = automatic
    car = read.car(layout)
    mass = next(obj for obj in read.members(layout) if obj.Key == "mass/01")
    renamed = replace(car, masses=(replace(car.masses[0], name="Left battery"), *car.masses[1:]))
    apply(layout, renamed)
    assert mass.Label == "Left battery"
    mass.Label = "Mine"
    apply(layout, car)
    assert mass.Label == "Mine"
    mass.Label = car.masses[0].name


def test_what_the_user_drew_stays_and_is_not_moved():
    """A line and a dimension of his own in our sketch stay when a number changes; an element that he drew himself is not moved."""
    import Part
    import Sketcher
    document = cars.document(NAMES[0], "drawn")
    try:
        layout = read.only_layout(document)
        car, side = read.car(layout), layout.Chassis.SideSketch
        own = side.addGeometry(Part.LineSegment(App.Vector(0, 900, 0), App.Vector(500, 900, 0)), False)
        side.renameConstraint(side.addConstraint(Sketcher.Constraint("Distance", own, 500.0)), "my seat back")
        document.recompute()
        rails = car.chassis.rails
        apply(layout, replace(car, chassis=replace(car.chassis, rails=replace(rails, height=rails.height + 12.7))))
        assert any(one.Name == "my seat back" for one in side.Constraints)
        assert read.car(layout).chassis.rails.height == pytest.approx(rails.height + 12.7, abs=1e-9)
        for one in [one.Name for one in side.Constraints if one.Name.startswith("main_rail_")]:
            side.delConstraint(next(number for number, held in enumerate(side.Constraints) if held.Name == one))
        document.recompute()
        before = state(layout)
        with pytest.raises(chassis_drawing.DrawnByHand, match="'main_rail' was drawn by hand"):
            apply(layout, car)
        document.recompute()
        assert state(layout) == before
        apply(layout, replace(read.car(layout), placement=replace(car.placement, lateral=12.7)))
        assert layout.Lateral.Value == pytest.approx(12.7)
    finally:
        App.closeDocument(document.Name)
