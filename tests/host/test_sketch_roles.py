"""Roles on sketch elements: they survive editing, and what is missing, doubled or displaced is one plain sentence."""
from __future__ import annotations

import dataclasses

import cars
import FreeCAD as App
import Part
import pytest
import Sketcher
from conftest import ROOT

from crankline import carfile, model, record
from crankline.features import base, chassis, chassis_drawing, make, plan, read, sketch_roles, sketches
from crankline.features.apply import apply

DEMO = ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"


@pytest.fixture
def drawn():
    """(document, side sketch, plan sketch) drawn from the demo's numbers."""
    car = carfile.read(DEMO)
    document = App.newDocument("roles")
    side, plan = (document.addObject("Sketcher::SketchObject", name) for name in ("Side", "Plan"))
    chassis_drawing.draw(side, plan, car.chassis, car.rear_end, car.car.wheelbase)
    document.recompute()
    yield document, side, plan
    App.closeDocument(document.Name)


def role_index(sketch, role):
    return next(c.First for c in sketch.Constraints if c.Name == role)


def constraint_index(sketch, name):
    return next(i for i, c in enumerate(sketch.Constraints) if c.Name == name)


def test_sketches_are_fully_constrained(drawn):
    for sketch in drawn[1:]:
        assert sketch.solve() == 0 and sketch.FullyConstrained


def test_the_pinion_has_its_pitch_as_an_angle_and_a_tube_is_drawn_once(drawn):
    """Turning it leaves the joint where it is; moving the joint leaves the pitch."""
    document, side, plan = drawn
    before = chassis.published(side, plan)
    assert not {"footwell_tube", "rear_cross_member"} & {one.Name for one in plan.Constraints}
    for pitch in (3.5, 0.0, -1.0):
        side.setDatum("pinion_pitch", App.Units.Quantity(f"{pitch} deg"))
        document.recompute()
        after = chassis.published(side, plan)
        assert after["RearEndPinionPitch"] == pytest.approx(pitch, abs=1e-12) and side.FullyConstrained
        assert (after["RearEndPinionJointX"], after["RearEndPinionJointZ"]) == pytest.approx(
            (before["RearEndPinionJointX"], before["RearEndPinionJointZ"]), abs=1e-9)
    side.setDatum("pinion_v", App.Units.Quantity("340 mm"))
    document.recompute()
    assert chassis.published(side, plan)["RearEndPinionPitch"] == pytest.approx(-1.0, abs=1e-12)


def test_what_is_published_are_the_numbers_of_the_car_file(drawn):
    car, found = carfile.read(DEMO), chassis.published(*drawn[1:])
    rails, tube, joint = car.chassis.rails, car.chassis.footwell_tube, car.rear_end.pinion_joint
    assert found["RailsHeight"] == pytest.approx(rails.height, abs=1e-9)
    assert found["RailsHalfSpacing"] == pytest.approx(rails.half_spacing, abs=1e-9)
    assert (found["FootwellTubeX"], found["FootwellTubeZ"]) == pytest.approx((tube.x, tube.z), abs=1e-9)
    assert (found["RearEndPinionJointX"], found["RearEndPinionJointZ"]) == pytest.approx((joint.x, joint.z), abs=1e-9)
    assert found["RearEndPinionPitch"] == pytest.approx(2.1, abs=1e-9)
    assert found["AxleHeight"] == pytest.approx(car.chassis.rear_tire.loaded_radius, abs=1e-9)


def test_roles_survive_other_geometry_coming_going_and_saving(drawn, tmp_path):
    document, side, plan = drawn
    before = chassis.published(side, plan)
    first = side.addGeometry(Part.LineSegment(App.Vector(0, 900, 0), App.Vector(500, 900, 0)), False)
    side.addGeometry(Part.Circle(App.Vector(700, 700, 0), App.Vector(0, 0, 1), 40), False)
    document.recompute()
    side.delGeometry(role_index(side, "upper_member"))      # everything behind it gets another number
    side.delGeometry(first - 1)
    document.recompute()
    after = chassis.published(side, plan)
    gone = {"UpperForeAftZ", "UpperForeAftHalfSpacing", "UpperForeAftXRear", "UpperForeAftXFront"}
    assert set(before) - set(after) == gone
    assert {name: before[name] for name in after} == pytest.approx(after, abs=1e-6)
    path = str(tmp_path / "sketches.FCStd")
    document.saveCopy(path)
    again = App.openDocument(path, True)
    try:
        reopened = chassis.published(*(again.getObject(s.Name) for s in (side, plan)))
        assert reopened == pytest.approx(after, abs=1e-9)
    finally:
        App.closeDocument(again.Name)


def test_names_may_be_written_with_blanks_hyphens_and_capitals(drawn):
    _document, side, plan = drawn
    side.renameConstraint(constraint_index(side, "main_rail"), "Main rail")
    side.renameConstraint(constraint_index(side, "rear_cross_member"), "REAR-cross-member")
    assert chassis.published(side, plan)["RailsHeight"] > 0


@pytest.mark.parametrize("role", (*sketches.SIDE_REQUIRED, *sketches.CROSS_TUBES))
def test_a_missing_role_is_named_with_its_sketch(drawn, role):
    _document, side, plan = drawn
    side.renameConstraint(constraint_index(side, role), "something_else")
    with pytest.raises(sketches.RoleError, match=f"sketch Side: the role '{role}' is missing"):
        chassis.published(side, plan)


def test_a_doubled_role_is_named_with_its_sketch(drawn):
    document, side, plan = drawn
    line = side.addGeometry(Part.LineSegment(App.Vector(0, 300, 0), App.Vector(500, 300, 0)), False)
    mark = side.addConstraint(Sketcher.Constraint("Distance", line, 500.0))
    side.renameConstraint(mark, "Main-Rail")
    document.recompute()
    with pytest.raises(sketches.RoleError, match="sketch Side: the role 'main_rail' is on two elements"):
        chassis.published(side, plan)


def test_a_role_on_the_wrong_kind_of_element_is_told(drawn):
    document, side, plan = drawn
    side.renameConstraint(constraint_index(side, "main_rail"), "other")
    circle = side.addGeometry(Part.Circle(App.Vector(0, 300, 0), App.Vector(0, 0, 1), 50), False)
    mark = side.addConstraint(Sketcher.Constraint("Diameter", circle, 100.0))
    side.renameConstraint(mark, "main_rail")
    document.recompute()
    with pytest.raises(sketches.RoleError, match="'main_rail' is on a circle; it must be a line"):
        chassis.published(side, plan)


def test_an_axle_off_the_origin_names_the_offset(drawn):
    document, side, plan = drawn
    side.Placement = App.Placement(App.Vector(12.5, 0, 0), side.Placement.Rotation)
    document.recompute()
    with pytest.raises(sketches.RoleError, match=r"offset by 0\.492 in, 0\.000 in"):
        chassis.published(side, plan)


def test_a_sketch_out_of_its_plane_is_told(drawn):
    document, side, plan = drawn
    side.Placement = App.Placement()
    document.recompute()
    with pytest.raises(sketches.RoleError, match="turned out of the XZ plane"):
        chassis.published(side, plan)


def test_an_edited_sketch_drives_the_car(tmp_path):
    """The user moves the footwell tube and the pinion in the sketches; tubes, shaft and model follow."""
    document = cars.document(cars.AUTOMATIC, "edited")
    try:
        layout = read.only_layout(document)
        side = layout.Chassis.SideSketch
        side.setDatum("rear_cross_member_h", App.Units.Quantity("600 mm"))
        side.setDatum("pinion_v", App.Units.Quantity("340 mm"))
        base.counts.clear()
        document.recompute()
        car = read.car(layout)
        assert car.chassis.rear_cross_member.x == pytest.approx(600.0, abs=1e-6)
        assert car.rear_end.pinion_joint.z == pytest.approx(340.0, abs=1e-6)
        assert document.getObject("RearCrossMember").Shape.CenterOfMass.x == pytest.approx(600.0, abs=0.5)
        assert read.snapshot(layout).unsound == ()
        built = {name.split(" ", 1)[1] for name in base.counts if name.startswith("builds ")}
        assert "driveshaft" in built and "rail/left" not in built and "mid_plate" not in built
    finally:
        App.closeDocument(document.Name)


def save_sketches(path, car):
    document = App.newDocument("source")
    side, plan = (document.addObject("Sketcher::SketchObject", name) for name in ("ChassisSide", "ChassisPlan"))
    chassis_drawing.draw(side, plan, car.chassis, car.rear_end, car.car.wheelbase)
    document.recompute()
    document.saveAs(str(path))
    App.closeDocument(document.Name)


def with_sketches(car, **names):
    named = model.Sketches(**{"file": "chassis.FCStd", "side": "ChassisSide", "plan": "ChassisPlan", **names})
    return dataclasses.replace(car, chassis=dataclasses.replace(car.chassis, sketches=named))


def test_a_named_document_gives_the_chassis_and_is_left_alone(tmp_path):
    car = carfile.read(DEMO)
    path = tmp_path / "chassis.FCStd"
    save_sketches(path, car)
    before = path.read_bytes()
    # The sketches win over numbers: the file says another rail height.
    other = dataclasses.replace(car, chassis=dataclasses.replace(car.chassis, rails=dataclasses.replace(car.chassis.rails, height=50.0)))
    document = make.document(with_sketches(other), "named", tmp_path)
    try:
        layout = read.only_layout(document)
        assert read.car(layout).chassis.rails.height == pytest.approx(car.chassis.rails.height, abs=1e-9)
        assert read.snapshot(layout).unsound == ()
        assert path.read_bytes() == before and App.listDocuments().keys() == {document.Name}
    finally:
        App.closeDocument(document.Name)


@pytest.mark.parametrize("names, wording", [
    ({"file": "nowhere.FCStd"}, "chassis.sketches.file: nowhere.FCStd is not beside the car file"),
    ({"side": "Absent"}, "chassis.sketches.side: a sketch 'Absent' is not in chassis.FCStd; its sketches are: ChassisSide, ChassisPlan")])
def test_a_named_document_that_lacks_something_is_told(tmp_path, names, wording):
    car = carfile.read(DEMO)
    save_sketches(tmp_path / "chassis.FCStd", car)
    with pytest.raises(plan.MakeError) as caught:
        make.document(with_sketches(car, **names), "named", tmp_path)
    assert wording in str(caught.value)
    assert App.listDocuments() == {}


def test_model_read_from_sketches_alone(tmp_path):
    """Numbers that the sketches give may be left out of the car file."""
    car = carfile.read(DEMO)
    save_sketches(tmp_path / "chassis.FCStd", car)
    bare = with_sketches(car)
    bare = dataclasses.replace(bare, chassis=dataclasses.replace(
        bare.chassis, rails=dataclasses.replace(bare.chassis.rails, height=None, half_spacing=None)))
    document = make.document(bare, "bare", tmp_path)
    try:
        read_back = read.car(read.only_layout(document))
        assert read_back.chassis.rails.height == pytest.approx(car.chassis.rails.height, abs=1e-9)
        assert record.equal(read_back.placement, car.placement)
    finally:
        App.closeDocument(document.Name)


# --- sketches that the user drew -----------------------------------------------------------------------------------------


def by_hand(document, half=330.0, axle=405.0):
    """A side and a plan sketch as somebody draws them: plain lines and circles, a dimension here and there, no names."""
    side, plan = (document.addObject("Sketcher::SketchObject", name) for name in ("MySide", "MyPlan"))
    side.Placement = App.Placement(App.Vector(), App.Rotation(App.Vector(1, 0, 0), 90))
    for line in ((-600, 0, 3200, 0), (-400, 110, 3000, 110), (60, 345, 265, 336), (0, 900, 500, 900)):
        side.addGeometry(Part.LineSegment(App.Vector(*line[:2], 0), App.Vector(*line[2:], 0)), False)
    side.addGeometry(Part.Circle(App.Vector(0, axle, 0), App.Vector(0, 0, 1), 40.0), False)
    side.addGeometry(Part.Circle(App.Vector(600, 140, 0), App.Vector(0, 0, 1), 20.6), False)
    side.addConstraint(Sketcher.Constraint("Diameter", 5, 41.2))
    for y in (half, -half):
        plan.addGeometry(Part.LineSegment(App.Vector(-400, y, 0), App.Vector(3000, y, 0)), False)
    document.recompute()
    return side, plan


ROLES_BY_HAND = {"side": {"track": 0, "main_rail": 1, "pinion": 2, "rear_axle": 4, "rear_cross_member": 5},
                 "plan": {"rail_left": 0, "rail_right": 1}}


def test_a_car_is_bound_to_sketches_that_the_user_drew():
    """They stay where they are, and are read; what was drawn for the car goes; one undo step."""
    document = cars.document(cars.AUTOMATIC, "bound")
    document.UndoMode = 1
    try:
        layout = read.only_layout(document)
        before, old = read.car(layout), layout.Chassis.SideSketch.Name
        side, plan = by_hand(document)
        steps = document.UndoCount
        less = dataclasses.replace(before.mounts, cross_member=dataclasses.replace(before.mounts.cross_member, reference="chassis_x",
                                                                                   offset=1520.0))
        apply(layout, dataclasses.replace(before, mounts=less))
        sketch_roles.bind(layout, side, plan, ROLES_BY_HAND)
        assert document.UndoCount == steps + 2 and document.UndoNames[0] == "Chassis Sketches"
        car = read.car(layout)
        assert (layout.Chassis.SideSketch, layout.Chassis.PlanSketch) == (side, plan) and document.getObject(old) is None
        assert (car.chassis.rails.height, car.chassis.rails.half_spacing) == pytest.approx((110.0, 330.0), abs=1e-9)
        assert (car.rear_end.pinion_joint.x, car.rear_end.pinion_joint.z) == pytest.approx((265.0, 336.0), abs=1e-9)
        assert car.chassis.footwell_tube is None and car.chassis.upper_fore_aft is None and car.chassis.firewall is None
        assert car.chassis.rear_cross_member.x == pytest.approx(600.0) and car.chassis.rear_cross_member.section.outer_diameter == 41.2
        keys = {obj.Key for obj in read.members(layout)}
        assert "firewall" not in keys and not [key for key in keys if key.startswith("footwell_tube")]
        assert {name: sketch_roles.held(sketch, name) for name, sketch in (("side", side), ("plan", plan))} == ROLES_BY_HAND
        document.undo()
        assert layout.Chassis.SideSketch.Name == old and sketch_roles.held(side, "side") == {}
        assert record.difference(read.car(layout), dataclasses.replace(before, mounts=less)) == []
    finally:
        App.closeDocument(document.Name)


def test_what_cannot_be_read_binds_nothing():
    document = cars.document(cars.AUTOMATIC, "refused")
    try:
        layout = read.only_layout(document)
        side, plan = by_hand(document, axle=405.0)
        for role in ("track", "pinion"):
            roles = {**ROLES_BY_HAND, "side": {name: at for name, at in ROLES_BY_HAND["side"].items() if name != role}}
            with pytest.raises(sketches.RoleError, match=f"sketch MySide: the role '{role}' is missing"):
                sketch_roles.bind(layout, side, plan, roles)
            assert layout.Chassis.SideSketch.Name != side.Name and sketch_roles.held(side, "side") == {}
        with pytest.raises(ValueError, match="the same sketch is given twice"):
            sketch_roles.bind(layout, side, side, ROLES_BY_HAND)
    finally:
        App.closeDocument(document.Name)


def test_a_click_gives_or_takes_a_role(drawn):
    document, _side, _plan = drawn
    side, _above = by_hand(document)
    given = sketch_roles.toggled(side, "side", {}, "main_rail", 1)
    assert [role.name for role in sketch_roles.missing("side", given)] == ["rear_axle", "track", "pinion"]
    assert sketch_roles.toggled(side, "side", given, "track", 1) == {"track": 1}        # an element has one role
    assert sketch_roles.toggled(side, "side", given, "main_rail", 0) == {"main_rail": 0}
    assert sketch_roles.toggled(side, "side", given, "main_rail", 1) == {}
    with pytest.raises(sketches.RoleError, match="Main rail must be a line; this element is a circle"):
        sketch_roles.toggled(side, "side", {}, "main_rail", 4)
    assert [sketch_roles.element_at(side, f"Edge{number}") for number in range(1, 7)] == sorted(
        sketch_roles.element_at(side, f"Edge{number}") for number in range(1, 7))
    assert {sketch_roles.element_at(side, f"Edge{number}") for number in range(1, 7)} == set(range(6))
    assert sketch_roles.element_at(side, "Vertex1") is None and sketch_roles.element_at(side, "Edge99") is None


def test_tubes_of_the_car_have_roles_too_on_lines_circles_and_arcs(drawn):
    """Given by a click on an arc, read back, kept by whoever settles the others, and taken off again."""
    document, _side, plan = drawn
    names = [one.name for one in sketch_roles.roles_of("plan", ["Floor left"])]
    assert names[:-1] == [one.name for one in sketch_roles.ROLES["plan"]] and names[-1] == "tube_floor_left"
    arc = plan.addGeometry(Part.ArcOfCircle(Part.Circle(App.Vector(900, 0, 0), App.Vector(0, 0, 1), 100.0), 0.3, 1.1), False)
    document.recompute()
    edge = next(number for number, one in enumerate(plan.Shape.Edges, 1) if abs(one.Length - 80.0) < 1e-6)
    assert sketch_roles.element_at(plan, f"Edge{edge}") == arc
    before = sketch_roles.held(plan, "plan")
    given = sketch_roles.toggled(plan, "plan", before, "tube_floor_left", arc)
    sketch_roles.settle(plan, "plan", given)
    assert sketch_roles.held(plan, "plan") == given == {**before, "tube_floor_left": arc}
    assert abs((sketch_roles.place(plan, arc) - App.Vector(900, 0, 0)).Length - 100.0) < 1e-6
    with pytest.raises(sketches.RoleError, match="must be a line or a circle; this element is a ArcOfCircle"):
        sketch_roles.toggled(plan, "side", {}, "rear_axle", arc)
    sketch_roles.settle(plan, "plan", before)
    assert sketch_roles.held(plan, "plan") == before


def test_a_role_is_taken_from_what_was_drawn_here_too(drawn):
    _document, side, plan = drawn
    roles = {**sketch_roles.held(side, "side")}
    line = side.addGeometry(Part.LineSegment(App.Vector(-400, 130, 0), App.Vector(3000, 130, 0)), False)
    sketch_roles.settle(side, "side", {**roles, "main_rail": line})
    assert sketch_roles.held(side, "side") == {**roles, "main_rail": line}
    assert chassis.published(side, plan)["RailsHeight"] == pytest.approx(130.0) and side.solve() == 0
    assert chassis_drawing.drawn_in(side) and not chassis_drawing.drawn_in(plan)
