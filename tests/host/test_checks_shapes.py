"""What the checks read off real shapes: against closed forms, against what was drawn, and on whole documents."""
from __future__ import annotations

import datetime
import json
import math
from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from conftest import ROOT
from oracles import fits_schema

from crankline import carfile, checks, reports
from crankline.checks.finding import State
from crankline.features import read
from crankline.geometry import enclosure, fixed_loop, split_loop
from crankline.measure import host_measurer, loop_ring
from crankline.mechanics import scene
from crankline.record import filled
from crankline.rules.quantity import NotEvaluated
from crankline.snapshot import Unsound

INCH = 25.4
DATE = datetime.date(2026, 5, 1)
DEMOS = ("full_bodied_automatic", "open_clutch")
BUILDERS = {"fixed": fixed_loop, "split": split_loop}


def demo(name):
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


def stand(shape, point):
    """The shape at a point of the car, as a document places it."""
    placed = shape.copy()
    placed.Placement = App.Placement(App.Vector(*point), App.Rotation()).multiply(placed.Placement)
    return placed


def loop_shape(loop, place):
    """A loop of a record, standing in the car."""
    loop = filled(loop)
    builder = BUILDERS[loop.kind]
    return stand(builder.build(builder.spec(loop, place)), place.loop_center(loop))


CARS = {name: demo(name) for name in DEMOS}
LOOPS = [(name, loop) for name, car in CARS.items() for loop in car.containment.loops]
STRAP = dict(form="strap", strap_thickness=0.25 * INCH, strap_width=2.0 * INCH)


@pytest.fixture
def measurer():
    return host_measurer.HostMeasurer()


def check(measurer, place, shape):
    """(ring, closed angle in deg) as the rules measure them."""
    ring = measurer.ring(shape, place.shaft_at)
    center = place.shaft_at(0.5 * (ring.x_rear + ring.x_front))
    aside = math.hypot(center[1] - ring.center[1], center[2] - ring.center[2])
    return ring, math.degrees(measurer.closed_angle(shape, center, ring.reach + aside))


@pytest.mark.parametrize("name, loop", LOOPS, ids=[f"{name}-{loop.name}" for name, loop in LOOPS])
def test_a_tube_loop_shows_its_section_station_and_closure(measurer, name, loop):
    place = scene.of(CARS[name])
    ring, angle = check(measurer, place, loop_shape(loop, place))
    assert ring.form == "tube"
    assert ring.outer_diameter == pytest.approx(loop.section.outer_diameter, abs=1e-9)
    assert ring.wall == pytest.approx(loop.section.wall, abs=1e-9)
    assert (ring.x_rear, ring.x_front) == pytest.approx((loop.x - ring.outer_diameter / 2, loop.x + ring.outer_diameter / 2), abs=1e-6)
    np.testing.assert_allclose(ring.center, place.loop_center(loop), atol=1e-6)
    assert angle == pytest.approx(360.0, abs=1e-9)


@pytest.mark.parametrize("name, loop", LOOPS, ids=[f"{name}-{loop.name}" for name, loop in LOOPS])
def test_a_strap_loop_shows_its_section(measurer, name, loop):
    place = scene.of(CARS[name])
    ring, angle = check(measurer, place, loop_shape(replace(loop, section=None, **STRAP), place))
    assert (ring.form, ring.outer_diameter) == ("strap", None)
    assert (ring.thickness, ring.width) == pytest.approx((0.25 * INCH, 2.0 * INCH), abs=1e-6)
    assert (ring.x_rear, ring.x_front) == pytest.approx((loop.x - INCH, loop.x + INCH), abs=1e-6)
    assert angle == pytest.approx(360.0, abs=1e-9)


@pytest.mark.parametrize("degrees", [2.0, 30.0])
def test_an_open_loop_is_not_closed_though_it_stands_on_legs(measurer, degrees):
    car = CARS["full_bodied_automatic"]
    place = scene.of(car)
    loop = replace(car.containment.loops[0], open_angle=math.radians(degrees), center_y=0.0,
                   center_z=float(place.shaft_at(car.containment.loops[0].x)[2]))
    _ring, angle = check(measurer, place, loop_shape(loop, place))
    assert angle == pytest.approx(360.0 - degrees, abs=0.05)


def test_a_wide_loop_and_a_bar(measurer):
    """A loop wider than high is straight at its top; a solid bar counts as a tube without a bore."""
    car = CARS["full_bodied_automatic"]
    place = scene.of(car)
    loop = replace(car.containment.loops[2], inner_width=10.0 * INCH, inner_height=7.0 * INCH)
    ring, angle = check(measurer, place, loop_shape(loop, place))
    assert (ring.outer_diameter, ring.wall) == pytest.approx((loop.section.outer_diameter, loop.section.wall), abs=1e-9)
    assert angle == pytest.approx(360.0, abs=1e-9)
    bar = stand(Part.makeTorus(100.0, 11.0, App.Vector(), App.Vector(1, 0, 0)), place.shaft_at(1000.0))
    ring, angle = check(measurer, place, bar)
    assert (ring.form, ring.outer_diameter, ring.wall) == ("tube", pytest.approx(22.0), pytest.approx(11.0))
    assert angle == pytest.approx(360.0, abs=1e-9)


def test_a_ring_without_bends_is_cut_and_says_how_well(measurer):
    """A ring of spline faces, as an import or an edit leaves it."""
    place = scene.of(CARS["full_bodied_automatic"])
    solid = Part.makeTorus(100.0, 11.0, App.Vector(), App.Vector(1, 0, 0)).toNurbs()
    ring, angle = check(measurer, place, stand(solid, place.shaft_at(1000.0)))
    assert ring.form == "tube" and ring.accuracy == loop_ring.SAMPLED
    assert ring.outer_diameter == pytest.approx(22.0, abs=loop_ring.SAMPLED)
    assert angle == pytest.approx(360.0, abs=1e-9)


def test_a_ring_that_is_cut_is_measured_anew_where_the_shaft_has_moved(measurer):
    """The ring stays, the shaft moves by 10 mm: from its new axis the ring is off its middle by as much."""
    place = scene.of(CARS["full_bodied_automatic"])
    shape = stand(Part.makeTorus(100.0, 11.0, App.Vector(), App.Vector(1, 0, 0)).toNurbs(), place.shaft_at(1000.0))

    def moved(x):
        return place.shaft_at(x) + np.array([0.0, 0.0, 10.0])

    for axis_at in (place.shaft_at, moved, place.shaft_at):
        ring = measurer.ring(shape, axis_at)
        assert ring is measurer.ring(shape, axis_at)
        np.testing.assert_allclose(ring.center, axis_at(1000.0), atol=1e-6)
    bent = loop_shape(CARS["full_bodied_automatic"].containment.loops[0], place)
    assert measurer.ring(bent, place.shaft_at) is measurer.ring(bent, moved)


def test_something_that_is_no_ring_is_not_evaluated(measurer):
    place = scene.of(CARS["full_bodied_automatic"])
    with pytest.raises(NotEvaluated, match="no ring"):
        measurer.ring(stand(Part.makeBox(10, 10, 10), (1000.0, 0.0, 0.0)), place.shaft_at)
    with pytest.raises(NotEvaluated):
        measurer.tube(Part.makeBox(10, 10, 10))
    with pytest.raises(NotEvaluated, match="no shape that can be measured"):
        measurer.ring(Part.Compound([]), place.shaft_at)


def test_a_loop_beside_the_shaft_does_not_close_around_it(measurer):
    car = CARS["full_bodied_automatic"]
    place = scene.of(car)
    _ring, angle = check(measurer, place, loop_shape(replace(car.containment.loops[2], center_y=12.0 * INCH), place))
    assert angle < 180.0


@pytest.mark.parametrize("name", cars.EACH)
def test_an_enclosure_is_measured_along_its_own_axis(measurer, name):
    """Its extent along the car would be diameter x sin(slope) too long: 0.2 in at 2 deg."""
    car = CARS[name]
    place, given, loops = scene.of(car), filled(car.containment.enclosure), filled(car).containment.loops
    shape = enclosure.build(enclosure.spec(given, place, loops))
    shape.Placement = App.Placement(App.Matrix(*enclosure.frame(given, place, loops).matrix.flatten()))
    tube = measurer.tube(shape)
    rear, front = enclosure.axis_points(given, place, loops)
    assert tube.length == pytest.approx(float(np.linalg.norm(front - rear)), abs=1e-6)
    assert (tube.outer_diameter, tube.wall) == pytest.approx((given.outer_diameter, given.wall), abs=1e-9)
    np.testing.assert_allclose([tube.rear, tube.front], [rear, front], atol=1e-6)
    box = shape.optimalBoundingBox(False)
    assert box.XLength > tube.length + 1.0


def test_boxes_do_not_depend_on_the_mesh_that_a_view_has_left(measurer):
    """A torus of R 100, r 10 is 220 wide; its plain box grows with the mesh (host notes)."""
    solid = Part.makeTorus(100.0, 10.0)
    before = measurer.solid(solid)
    solid.tessellate(2.0)
    assert measurer.solid(solid) == before
    assert before["bbox"] == pytest.approx([-110, -110, -10, 110, 110, 10], abs=1e-3)
    assert before["volume"] == pytest.approx(2 * math.pi**2 * 100 * 100, rel=1e-9)


# --- whole documents --------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def demos():
    """Snapshots of the demos by name."""
    documents = {name: cars.document(name, name) for name in DEMOS}
    yield {name: read.snapshot(read.only_layout(document)) for name, document in documents.items()}
    for document in documents.values():
        App.closeDocument(document.Name)


@pytest.fixture(scope="module")
def known():
    """One measurer for tests that look at the same shapes again."""
    return host_measurer.HostMeasurer()


def judged_by(snapshot, *sets):
    """The snapshot of a car that names other rule sets."""
    return replace(snapshot, car=replace(snapshot.car, rules=replace(snapshot.car.rules, sets=sets)))


@pytest.mark.parametrize("name", cars.EACH)
def test_a_demo_document_is_checked_on_its_shapes(demos, known, name):
    snapshot = demos[name]
    outcome = checks.run(snapshot, event_date=DATE, measurer=known)
    assert outcome.exit_code == 0
    assert not [item for item in outcome.findings if item.state == State.NOT_EVALUATED]
    assert {item.severity for item in outcome.findings if item.unresolved} <= {"advice"}
    report = reports.report(outcome, snapshot, {"program": App.Version()[0]})
    fits_schema(json.loads(json.dumps(report, allow_nan=False)))
    assert all(part["volume_mm3"] > 0.0 for part in report["parts"])
    moved = {part["key"] for part in report["welded_parts_that_move"]}
    assert {"rail_tab/left_front", "rail_tab/right_rear"} <= moved and not any(key.startswith(("loop", "rail/")) for key in moved)
    place = next(item for item in outcome.findings if item.rule == "NHRA-LOOP-PLACE")
    scene_, loop = snapshot.scene, CARS[name].containment.loops[0]
    along = (scene_.front_joint[0] - loop.x) / scene_.driveline.shaft_axis[0]
    assert place.subjects == ("loop/front",) and place.measured == pytest.approx(along / INCH, abs=1e-6)
    assert place.digests == {"loop/front": snapshot.part("loop/front").digest}


@pytest.mark.parametrize("key", ["all", "loop/front"])
@pytest.mark.parametrize("bare", [Part.Compound([]), Part.makeLine(App.Vector(0, 0, 0), App.Vector(1, 0, 0))], ids=["empty", "line"])
def test_a_part_without_faces_takes_out_only_what_is_measured_on_it(demos, known, key, bare):
    now = demos[cars.AUTOMATIC]
    parts = tuple(replace(part, shape=bare) if key in ("all", part.key) else part for part in now.parts)
    now = replace(now, parts=parts, unsound=tuple(Unsound(part.key, "edited", "by hand", False) for part in parts if part.shape is bare))
    outcome = checks.run(now, event_date=DATE, measurer=known)
    report = reports.report(outcome, now, {"program": App.Version()[0]})
    fits_schema(json.loads(json.dumps(report, allow_nan=False)))
    out = [item for item in outcome.findings if item.state == State.NOT_EVALUATED]
    assert outcome.exit_code == 4 and any("has no shape that can be measured" in item.reason for item in out)
    if key != "all":
        assert any(item.subjects == (key,) for item in out)
        assert {item.state for item in outcome.findings if item.rule.startswith(("PRA-", "STR-"))} <= {State.PASSED, State.NOT_APPLICABLE,
                                                                                                      State.OPEN}


def test_findings_tell_contact_penetration_and_containment_apart(demos):
    """Two boxes side by side, one 3 mm into the other, one wholly inside, one in the other's bore: what the finding says, its depth,
    and the two points on the two surfaces. The same against the driver's box."""
    from crankline.checks import evaluate
    from crankline.rules import rule_sets
    now = demos[cars.AUTOMATIC]
    asked = {rule.id: rule for rule in rule_sets.select(["clearance"]).rules}
    block = Part.makeBox(100, 100, 100, App.Vector(1000, 0, 0))
    hollow = block.cut(Part.makeBox(60, 60, 100, App.Vector(1020, 20, 0)))

    def judged(rule, one, other):
        pair = (replace(now.part("tunnel"), shape=one, digest=""), replace(now.part("enclosure"), shape=other, digest=""))
        return evaluate.evaluate([asked[rule]], replace(now, parts=pair), host_measurer.HostMeasurer())

    for other, in_one, words, depth in ((Part.makeBox(50, 50, 50, App.Vector(1100, 0, 0)), block, "", 0.0),
                                        (Part.makeBox(50, 50, 50, App.Vector(1097, 0, 0)), block, "overlaps", 3.0),
                                        # its nearest corner
                                        (Part.makeBox(20, 20, 20, App.Vector(1040, 40, 40)), block, "is completely inside", 40.0),
                                        (Part.makeBox(20, 20, 20, App.Vector(1040, 40, 40)), hollow, "", 0.0)):
        item, = judged("CLR-INTERFERENCE", in_one, other)
        assert (item.state == State.OPEN) is (depth > 0.0) and item.measured * INCH == pytest.approx(depth, abs=1e-6)
        if depth:
            assert words in item.how and set(item.subjects) == {"tunnel", "enclosure"} and len(item.points) == 2
            first, second = (shape for _key, shape in sorted((("tunnel", in_one), ("enclosure", other))))
            for point, shape in zip(item.points, (first, second)):
                skin = Part.Compound(shape.Faces)
                assert skin.distToShape(Part.Vertex(App.Vector(*point)))[0] < 1e-6
    driver = now.car.car.driver_envelope
    low = App.Vector(driver.x_rear, driver.y_right, driver.z_low)
    far = Part.makeBox(10, 10, 10, App.Vector(0, 0, -5000))
    for shift, kind in (((100, 100, 100), "inside"), ((-5, 100, 100), "penetration"), ((-20, 100, 100), "contact"),
                        ((-25, 100, 100), "apart")):
        item = next(one for one in judged("CLR-DRIVER", Part.makeBox(20, 20, 20, low + App.Vector(*shift)), far) if one.subjects
                    == ("tunnel",))
        assert f"driver's envelope, {kind}," in item.how
        assert (item.state == State.OPEN) is (kind in ("inside", "penetration"))


def test_shapes_and_not_parameters_are_measured(demos, known):
    """The front loop's shape is put 10 in further back by hand in the snapshot: the rule follows the shape."""
    snapshot = judged_by(demos[cars.AUTOMATIC], "invented_demo")
    back = App.Vector(-10 * INCH, 0, 0)
    parts = tuple(replace(part, shape=part.shape.translated(back)) if part.key in ("loop/front", "loop/second") else part
                  for part in snapshot.parts)
    outcome = checks.run(replace(snapshot, parts=parts), event_date=DATE, measurer=known)
    found = next(item for item in outcome.findings if item.rule == "NHRA-LOOP-PLACE")
    assert found.state == State.OPEN and found.measured > 10.0 and outcome.exit_code == 1
    short = tuple(replace(part,
                          shape=part.shape.common(Part.makeBox(250, 500, 500, part.shape.BoundBox.Center - App.Vector(125, 250, 250))))
                  if part.key == "enclosure" else part for part in snapshot.parts)
    outcome = checks.run(replace(snapshot, parts=short), event_date=DATE, measurer=known)
    found = next(item for item in outcome.findings if item.rule == "DEMO-ENCLOSURE")
    assert found.state == State.OPEN and found.measured < 12.0
