"""Further tubes of the chassis: their geometry against closed forms, their way through car file, document and sketches, and what loops
stand on."""
from __future__ import annotations

import math
from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
import Sketcher

from crankline import model, record
from crankline.checks.evaluate import evaluate
from crankline.features import read
from crankline.features.apply import apply
from crankline.geometry import bent_tube, frame_tube, measure, tube, tunnel
from crankline.measure.host_measurer import HostMeasurer
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed
from crankline.rules import rule_sets
from crankline.units import INCH

MEASURER = HostMeasurer()
SECTION = model.Section(outer_diameter=30.0, wall=2.0)
CORNER = ((0.0, 0.0, 0.0), (300.0, 0.0, 0.0), (300.0, 200.0, 0.0))


def test_a_bent_tube_has_the_length_and_the_volume_of_its_center_line():
    """A quarter bend of radius R saves 2 R - pi R / 2 against its corner; Pappus: volume = section times length of the centerline."""
    length = 500.0 - (2.0 - math.pi / 2) * 90.0
    assert bent_tube.developed_length(CORNER, 90.0) == pytest.approx(length, rel=1e-12)
    made = bent_tube.swept(CORNER, 90.0, 30.0, 2.0)
    assert made.isValid() and measure.volume(made) == pytest.approx(math.pi * (15.0 ** 2 - 13.0 ** 2) * length, rel=1e-9)


def test_both_ends_of_a_bent_tube_are_coped():
    """To tubes as thick as itself across its ends: each cope takes the half of a fish mouth, whose mean depth over a thin ring is 2 r / pi
    less than r of what stands inside the other tube (here by quadrature, which knows no solid)."""
    headers = tube.Header((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 30.0), tube.Header((300.0, 200.0, 0.0), (0.0, 0.0, 1.0), 40.0)
    made = bent_tube.coped(CORNER, 90.0, 30.0, 2.0, headers[:1], headers[1:])
    area = math.pi * (15.0 ** 2 - 13.0 ** 2)
    expected = area * bent_tube.developed_length(CORNER, 90.0)
    for end, inner, header in ((CORNER[0], CORNER[1], headers[0]), (CORNER[2], CORNER[1], headers[1])):
        expected += tube.quadrature(tube.Spec(end, inner, 30.0, 2.0, (header,))) - area * math.dist(end, inner)
    assert made.isValid() and len(made.Solids) == 1 and measure.volume(made) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("points, radius, told", [
    (CORNER[:1], 90.0, "at least two points"),
    ((CORNER[0], (0.5, 0.0, 0.0)), 90.0, "points 1 and 2"),
    (CORNER, 250.0, "smaller bend_radius"),
    (CORNER, 10.0, "half of the outside diameter"),
    (((0.0, 0.0, 0.0), (300.0, 0.0, 0.0), (0.0, 1.0, 0.0)), 90.0, "at most 170 deg"),
])
def test_what_cannot_be_bent_is_one_sentence(points, radius, told):
    with pytest.raises(ValueError, match=told):
        bent_tube.check(points, radius, 30.0, "chassis.tubes[x]")


def test_an_end_is_coped_to_what_it_meets_and_lies_beside_nothing():
    car = cars.demo(cars.AUTOMATIC)
    scene = scenes.of(replace(car, chassis=completed(record.filled(car.chassis), car.car.wheelbase)))
    member = car.mounts.cross_member
    floor = frame_tube.spec(car.chassis.tubes[0], scene, member, ())
    assert [header.diameter for header in floor.first] == [1.625 * INCH] and [header.diameter for header in floor.last] == [1.25 * INCH]
    # A quarter inch short of a square meeting is still a meeting; a foot away is none, and nothing is cut.
    free = replace(car.chassis.tubes[0], points=((700.0, 100.0, 400.0), (900.0, 100.0, 400.0)))
    assert frame_tube.spec(free, scene, member, ()).first == () == frame_tube.spec(free, scene, member, ()).last
    # Of two listed tubes that meet, the later one is cut.
    post = model.Tube(name="post", section=SECTION, points=((800.0, 100.0, 400.0), (800.0, 100.0, 600.0)))
    assert frame_tube.spec(post, scene, member, (free,)).first and not frame_tube.spec(free, scene, member, ()).first


@pytest.fixture(scope="module")
def document():
    made = cars.document(cars.AUTOMATIC)
    yield made
    App.closeDocument(made.Name)


def secured(layout):
    snapshot = read.snapshot(layout)
    rules = [rule for rule in rule_sets.select(snapshot.car.rules.sets).rules if rule.id in ("NHRA-LOOP-MOUNTED", "CON-LOOP-WELDED")]
    return {(item.rule, item.subjects[0]): item for item in evaluate(rules, snapshot, MEASURER) if item.subjects}


def test_loops_are_mounted_on_tubes_or_the_finding_is_open(document):
    """As the demo's car file is, then without its tubes: the same feet then end in the air at the height of the rails."""
    layout = read.only_layout(document)
    car = read.car(layout)
    assert record.difference(car, cars.demo(cars.AUTOMATIC)) == []
    found = secured(layout)
    assert {found["NHRA-LOOP-MOUNTED", f"loop/{name}"].state.value for name in ("front", "second", "rear")} == {"passed"}
    assert "left foot on tube/floor_left" in found["NHRA-LOOP-MOUNTED", "loop/front"].how
    absent: tuple = ()
    apply(layout, replace(car, chassis=replace(car.chassis, tubes=absent)))
    bare = secured(layout)
    for name in ("front", "second"):
        item = bare["NHRA-LOOP-MOUNTED", f"loop/{name}"]
        assert (item.state.value, item.measured) == ("open", 0.0) and "left foot on no chassis tube" in item.how
    # One tube alone holds one foot of two.
    apply(layout, replace(car, chassis=replace(car.chassis, tubes=car.chassis.tubes[:1])))
    assert secured(layout)["NHRA-LOOP-MOUNTED", "loop/front"].measured == 1.0
    # A welded loop away from the cross member stands on the floor tubes, which slope there, and hangs without them.
    loops = tuple(replace(loop, x=30.0 * INCH) if loop.name == "rear" else loop for loop in car.containment.loops)
    apply(layout, replace(car, containment=replace(car.containment, loops=loops)))
    item = secured(layout)["CON-LOOP-WELDED", "loop/rear"]
    assert (item.state.value, item.measured) == ("passed", 4.0) and "1 at tube/floor_left" in item.how
    apply(layout, replace(car, chassis=replace(car.chassis, tubes=absent), containment=replace(car.containment, loops=loops)))
    item = secured(layout)["CON-LOOP-WELDED", "loop/rear"]
    assert (item.state.value, item.measured) == ("open", 2.0)
    apply(layout, car)
    assert record.difference(read.car(layout), car) == []


def test_two_loops_side_by_side_make_a_tunnel_of_finite_numbers():
    car = cars.demo(cars.AUTOMATIC)
    first = car.containment.loops[0]
    held = replace(car.containment, loops=(first, replace(first, name="twin")), enclosure=None)
    made = tunnel.spec(car.containment.tunnel, record.filled(held), scenes.of(car))
    assert np.isfinite([*made.rear, *made.front, made.radius, made.x_rear, made.x_front]).all()


def draw(sketch, role, geometry):
    index = sketch.addGeometry(geometry, False)
    if isinstance(geometry, Part.Circle):
        mark = sketch.addConstraint(Sketcher.Constraint("Diameter", index, 2.0 * geometry.Radius))
    else:
        mark = sketch.addConstraint(Sketcher.Constraint("Distance", index, geometry.length()))
        sketch.setDriving(mark, False)
    sketch.renameConstraint(mark, role)
    return index


def test_a_tube_follows_its_elements_in_the_sketches(document):
    layout = read.only_layout(document)
    side, plan = layout.Chassis.SideSketch, layout.Chassis.PlanSketch
    tube_ = next(obj for obj in read.members(layout) if obj.Key == "tube/floor_left")
    given = read.car(layout)

    def line(*ends):
        return Part.LineSegment(*(App.Vector(*end, 0.0) for end in ends))

    seen = draw(side, "tube floor left", line((600.0, 150.0), (1500.0, 100.0)))
    document.recompute()
    assert not layout.Chassis.isValid() and "draw the tube in both" in layout.Chassis.getStatusString()
    draw(plan, "Tube-Floor-Left", line((600.0, 110.0), (1500.0, 130.0)))
    document.recompute()
    assert tube_.isValid() and np.allclose(tube_.Points, ((600.0, 110.0, 150.0), (1500.0, 130.0, 100.0)))
    assert read.car(layout).chassis.tubes[0].points == ((600.0, 110.0, 150.0), (1500.0, 130.0, 100.0)), "it was given, so it is written"
    # Left out of the car file it stays left out.
    side.delGeometry(seen)
    draw(side, "tube_floor_left", Part.Circle(App.Vector(600.0, 150.0, 0.0), App.Vector(0, 0, 1), 10.0))
    document.recompute()
    assert not layout.Chassis.isValid() and "same stations" in layout.Chassis.getStatusString()
    assert given.chassis.tubes[1] == read.car(layout).chassis.tubes[1]
