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
from crankline.checks.quantities.frame import _hung
from crankline.features import drawn_tubes, read, sketches
from crankline.features.apply import apply
from crankline.geometry import bent_tube, frame_tube, measure, tube, tunnel
from crankline.measure.body import Body
from crankline.measure.host_measurer import HostMeasurer
from crankline.measure.kept import Kept
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed
from crankline.progress import drained
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


def test_both_ends_of_a_bent_tube_are_coped(monkeypatch):
    """To tubes as thick as itself across its ends: each cope takes the half of a fish mouth, whose mean depth over a thin ring is 2 r / pi
    less than r of what stands inside the other tube (here by quadrature, which knows no solid)."""
    headers = tube.Header((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 30.0), tube.Header((300.0, 200.0, 0.0), (0.0, 0.0, 1.0), 40.0)
    made = bent_tube.coped(CORNER, 90.0, 30.0, 2.0, headers[:1], headers[1:])
    area = math.pi * (15.0 ** 2 - 13.0 ** 2)
    expected = area * bent_tube.developed_length(CORNER, 90.0)
    for end, inner, header in ((CORNER[0], CORNER[1], headers[0]), (CORNER[2], CORNER[1], headers[1])):
        expected += tube.quadrature(tube.Spec(end, inner, 30.0, 2.0, (header,))) - area * math.dist(end, inner)
    assert made.isValid() and len(made.Solids) == 1 and measure.volume(made) == pytest.approx(expected, rel=1e-4)
    # Three pieces of the center line, each with an outside and an inside, and the two copes: no face is cut in two where legs are sewn on.
    assert len(made.Faces) == 8

    def fails(*_numbers):
        raise ValueError("no")
    monkeypatch.setattr(bent_tube, "_sewn", fails)
    cut = bent_tube.coped(CORNER, 90.0, 30.0, 2.0, headers[:1], headers[1:])
    assert cut.isValid() and measure.volume(cut) == pytest.approx(measure.volume(made), rel=1e-4)


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


SIXTY = math.radians(60.0)


def bent(turn=SIXTY, radius=120.0, first=500.0, last=400.0, start=(600.0, 90.0), off=0.0):
    """A leg ahead from a start, an arc to the left, another leg; ``off``: how far the last leg is turned out of the tangent."""
    end = (start[0] + first, start[1])
    center = (end[0], end[1] + radius)
    far = (center[0] + radius * math.sin(turn), center[1] - radius * math.cos(turn))
    tip = (far[0] + last * math.cos(turn + off), far[1] + last * math.sin(turn + off))
    arc = Part.ArcOfCircle(Part.Circle(App.Vector(*center, 0.0), App.Vector(0, 0, 1), radius), -math.pi / 2, turn - math.pi / 2)
    return (Part.LineSegment(App.Vector(*start, 0.0), App.Vector(*end, 0.0)), arc,
            Part.LineSegment(App.Vector(*far, 0.0), App.Vector(*tip, 0.0))), (start, (end[0] + radius * math.tan(turn / 2), end[1]), tip)


def sketched(document, *elements):
    """A sketch with elements: (role or nothing, geometry)."""
    sketch = document.addObject("Sketcher::SketchObject", "Drawn")
    for role, geometry in elements:
        draw(sketch, role, geometry) if role else sketch.addGeometry(geometry, False)
    return sketch


@pytest.fixture(scope="module")
def empty():
    made = App.newDocument("Tubes")
    yield made
    App.closeDocument(made.Name)


@pytest.mark.parametrize("named", [0, 1, 2])
@pytest.mark.parametrize("in_plan", [True, False])
def test_a_chain_of_lines_and_arcs_is_one_bent_tube(empty, named, in_plan):
    """Its corner is where the legs meet, its radius the arc's; whichever of its elements carries the role, and whichever way they run."""
    pieces, corners = bent()
    shown = sketched(empty, *(("tube hoop" if number == named else "", piece) for number, piece in enumerate(pieces)),
                     ("", Part.LineSegment(App.Vector(0, 0, 0), App.Vector(600.0, 90.0, 0))), ("", Part.Point(App.Vector())))
    level = sketched(empty, ("tube_hoop", Part.LineSegment(App.Vector(corners[-1][0], 250.0, 0), App.Vector(600.0, 250.0, 0))))
    found = drawn_tubes.read(*((level, shown) if in_plan else (shown, level)))["tube_hoop"]
    wanted = [(x, value, 250.0) if in_plan else (x, 250.0, value) for x, value in corners]
    np.testing.assert_allclose(found.points, wanted, atol=1e-9)
    assert found.bend_radius == pytest.approx(120.0)
    length = 500.0 + 400.0 + math.radians(60.0) * 120.0
    assert bent_tube.developed_length(found.points, found.bend_radius) == pytest.approx(length, rel=1e-12)


def test_two_bends_without_a_straight_piece_between_and_at_an_end(empty):
    """An offset bend of two arcs, the second of which ends the tube: length of the arcs, and the points can be built."""
    def arc(x, y, start, stop):
        return Part.ArcOfCircle(Part.Circle(App.Vector(x, y, 0.0), App.Vector(0, 0, 1), 100.0), math.radians(start), math.radians(stop))
    s, c = 100.0 * math.sin(math.radians(40.0)), 100.0 * math.cos(math.radians(40.0))
    shown = sketched(empty, ("tube s", Part.LineSegment(App.Vector(0, 0, 0), App.Vector(300, 0, 0))), ("", arc(300.0, 100.0, -90.0, -50.0)),
                     ("", arc(300.0 + 2 * s, 100.0 - 2 * c, 90.0, 130.0)))
    level = sketched(empty, ("tube s", Part.LineSegment(App.Vector(0, 50, 0), App.Vector(300 + 2 * s, 50, 0))))
    found = drawn_tubes.read(shown, level)["tube_s"]
    bent_tube.check(found.points, found.bend_radius, 30.0, "x")
    assert len(found.points) == 4
    assert bent_tube.developed_length(found.points, found.bend_radius) == pytest.approx(300.0 + 200.0 * math.radians(40.0), rel=1e-9)
    made = bent_tube.swept(found.points, found.bend_radius, 30.0, 2.0)
    assert measure.volume(made) == pytest.approx(math.pi * (15.0 ** 2 - 13.0 ** 2) * (300.0 + 200.0 * math.radians(40.0)), rel=1e-6)


LEVEL = ("tube h", Part.LineSegment(App.Vector(600.0, 250.0, 0), App.Vector(1403.923, 250.0, 0)))


@pytest.mark.parametrize("pieces, other, told", [
    (bent(off=math.radians(5.0))[0], LEVEL, "turns by 5.0 deg without a bend between elements 2 and 3"),
    (bent()[0], ("tube h", Part.LineSegment(App.Vector(600.0, 250.0, 0), App.Vector(1403.923, 300.0, 0))), "a line along the car"),
    (bent()[0], ("tube h", Part.LineSegment(App.Vector(600.0, 250.0, 0), App.Vector(1300.0, 250.0, 0))), "draw both ends at the same"),
    (bent()[0], ("tube h", Part.Circle(App.Vector(600.0, 250.0, 0), App.Vector(0, 0, 1), 15.0)), "a line along the car"),
    (bent()[0][:2], LEVEL, "draw both ends at the same stations"),
    ((*bent()[0], bent(last=200.0)[0][2]), LEVEL, "both go on with the tube"),
    ((bent(turn=math.radians(172.0))[0]), LEVEL, "turns by 172 deg; at most 170 deg"),
    ((Part.Ellipse(App.Vector(), 50.0, 20.0),), LEVEL, "is on a Ellipse; use a line, a circle, or lines and arcs")])
def test_what_is_no_bent_tube_is_told(empty, pieces, other, told):
    shown = sketched(empty, *((("tube h" if number == 0 else ""), piece) for number, piece in enumerate(pieces)))
    with pytest.raises(sketches.RoleError, match=told):
        drawn_tubes.read(sketched(empty, other), shown)


def test_both_views_bent_and_bends_of_two_radii_are_told(empty):
    pieces, _corners = bent()
    one, other = (sketched(empty, ("tube h", pieces[0]), *(("", piece) for piece in pieces[1:])) for _ in range(2))
    with pytest.raises(sketches.RoleError, match="a line along the car"):
        drawn_tubes.read(one, other)
    (x, y, _z), turn = pieces[2].EndPoint, SIXTY
    center = App.Vector(x - 80.0 * math.sin(turn), y + 80.0 * math.cos(turn), 0.0)
    one.addGeometry(Part.ArcOfCircle(Part.Circle(center, App.Vector(0, 0, 1), 80.0), turn - math.pi / 2, turn), False)
    with pytest.raises(sketches.RoleError, match="bent with one radius"):
        drawn_tubes.read(one, other)


def draw(sketch, role, geometry):
    index = sketch.addGeometry(geometry, False)
    if isinstance(geometry, Part.Circle):
        mark = sketch.addConstraint(Sketcher.Constraint("Diameter", index, 2.0 * geometry.Radius))
    elif isinstance(geometry, Part.ArcOfCircle):
        mark = sketch.addConstraint(Sketcher.Constraint("Radius", index, geometry.Radius))
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


def test_a_bent_tube_of_the_sketches_is_built_and_what_has_no_section_is_told(document):
    """After its elements were changed the solid follows; a drawn tube that the car has no section of is told, and is not there."""
    layout = read.only_layout(document)
    side, plan = layout.Chassis.SideSketch, layout.Chassis.PlanSketch
    for sketch in (side, plan):
        for one in [one for one in sketch.Constraints if one.Name and sketches.role_name(one.Name) == "tube_floor_left"][::-1]:
            sketch.delGeometry(one.First)
    pieces, corners = bent(start=(700.0, 130.0), turn=math.radians(20.0), last=300.0)
    for number, piece in enumerate(pieces):
        draw(plan, "tube floor left", piece) if number == 1 else plan.addGeometry(piece, False)
    draw(side, "tube floor left", Part.LineSegment(App.Vector(700.0, 111.76, 0), App.Vector(corners[-1][0], 111.76, 0)))
    document.recompute()
    assert layout.Chassis.isValid(), layout.Chassis.getStatusString()
    tube_ = next(obj for obj in read.members(layout) if obj.Key == "tube/floor_left")
    assert tube_.isValid() and float(tube_.BendRadius.Value) == pytest.approx(120.0)
    assert float(tube_.DevelopedLength.Value) == pytest.approx(800.0 + math.radians(20.0) * 120.0)
    assert read.car(layout).chassis.tubes[0].bend_radius is None, "nobody gave it, so the car file does not"
    assert not [item for item in read.snapshot(layout).unsound if item.kind == "undrawn"]
    for sketch in (side, plan):
        draw(sketch, "tube seat", Part.LineSegment(App.Vector(700.0, 50.0, 0), App.Vector(900.0, 50.0, 0)))
    document.recompute()
    told, = (item for item in read.snapshot(layout).unsound if item.kind == "undrawn")
    assert told.key == "chassis" and "tube_seat" in told.message and "add a chassis tube of that name" in told.message


def test_of_two_tubes_that_hang_equally_near_the_first_by_its_key_does():
    """Left and right of a car stand alike but for the last digits of their numbers, which are not to say what is told."""
    rail = Part.makeBox(10.0, 400.0, 10.0, App.Vector(0, -200, 0))
    sides = {"left": App.Vector(0, 20, 110.0 + 1e-10), "right": App.Vector(0, -30, 110.0)}
    hanging = {key: Body(key, Part.makeBox(10.0, 10.0, 10.0, place), key) for key, place in sides.items()}
    told = drained(_hung(hanging, [Body("rail", rail, "rail")], Kept()))
    assert [(item.subjects, round(item.value, 6)) for item in told] == [(("left",), 100.0), (("right",), 40.0)]
