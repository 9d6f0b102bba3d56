"""A car as a document: lossless, acyclic, rebuilding only what changed, alive after saving."""
from __future__ import annotations

import dataclasses

import cars
import FreeCAD as App
import Part
import pytest
from conftest import ROOT

from crankline import carfile, catalog, model, record, units
from crankline.features import base, make, read, registry, repair
from crankline.geometry import measure

DEMOS = ("full_bodied_automatic", "open_clutch")


def demo(name: str) -> model.Car:
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


@pytest.fixture(scope="module", params=cars.EACH)
def made(request):
    """(car, document, layout) of each demo, as make leaves it: what looks at it changes nothing."""
    car = demo(request.param)
    document = make.document(car, request.param)
    yield car, document, read.only_layout(document)
    App.closeDocument(document.Name)


@pytest.fixture
def automatic():
    document = cars.document(DEMOS[0], "automatic")
    yield document, read.only_layout(document)
    App.closeDocument(document.Name)


def shapes(layout):
    return {view.key: view for view in read.snapshot(layout).parts}


def test_every_object_is_settled_and_sound(made):
    _car, document, layout = made
    states = {obj.Label: obj.State for obj in document.Objects if {"Invalid", "Touched"} & set(obj.State)}
    assert states == {}
    assert read.snapshot(layout).unsound == ()


def test_every_part_is_one_valid_solid(made):
    for view in read.snapshot(made[2]).parts:
        assert view.shape.isValid() and len(view.shape.Solids) == 1, view.key


def test_model_read_back_equals_model_written(made):
    car, _document, layout = made
    assert record.difference(read.car(layout), car) == []


def test_model_survives_saving_and_opening(made, tmp_path):
    car, document, layout = made
    before, keys = {view.key: view.digest for view in read.snapshot(layout).parts}, [obj.Key for obj in read.members(layout)]
    path = str(tmp_path / "car.FCStd")
    document.saveCopy(path)
    again = App.openDocument(path, True)
    try:
        layout = read.only_layout(again)
        assert [obj.Key for obj in read.members(layout)] == keys
        assert record.difference(read.car(layout), car) == []
        builds = base.counts["builds"]
        again.recompute()
        for obj in again.Objects:
            obj.touch()
        again.recompute()
        assert base.counts["builds"] == builds, "opening and recomputing must not build a shape again"
        assert {view.key: view.digest for view in read.snapshot(layout).parts} == before
    finally:
        App.closeDocument(again.Name)


def test_graph_has_no_cycle_and_flows_one_way(made):
    """The host accepts a cycle in silence, so it is looked for here (Kahn's algorithm)."""
    _car, document, layout = made
    ours = {obj.Name: {other.Name for other in obj.OutList} for obj in document.Objects
            if base.is_ours(obj) and obj.Kind != registry.CONTAINER}
    for links in ours.values():
        links &= set(ours)
    left = dict(ours)
    while left:
        free = [name for name, links in left.items() if not links & set(left)]
        assert free, f"cycle among {sorted(left)}"
        for name in free:
            del left[name]
    assert ours[layout.Name] == {layout.Chassis.Name, layout.Engine.Name, layout.Transmission.Name}
    for name in (layout.Chassis.Name, layout.Engine.Name, layout.Transmission.Name):
        assert ours[name] == set()


def test_one_inch_of_axle_to_block_moves_the_powertrain_by_one_inch(automatic):
    document, layout = automatic
    before = shapes(layout)
    scene = read.snapshot(layout).scene
    crank, joint = scene.engine_point(0.0), scene.front_joint
    layout.AxleToBlock = layout.AxleToBlock.Value + 25.4
    document.recompute()
    after = shapes(layout)
    scene = read.snapshot(layout).scene
    assert abs(scene.engine_point(0.0) - crank - [25.4, 0, 0]).max() < 1e-9
    assert abs(scene.front_joint - joint - [25.4, 0, 0]).max() < 1e-9
    for key, view in before.items():
        moved = after[key].shape.CenterOfMass - view.shape.CenterOfMass
        if view.moves_with == "powertrain":
            # The support tube's copes follow the uprights, which stay.
            assert (moved - App.Vector(25.4, 0, 0)).Length < (1.0 if key == "support_tube" else 1e-6), key
        elif view.moves_with == "chassis":
            assert moved.Length < 1e-9, key
    assert {before[key].moves_with for key in before} == {"powertrain", "chassis", "between"}
    assert before["rail_tab/left_front"].moves_with == "powertrain" and before["loop/front"].moves_with == "chassis"


def test_a_placement_edit_builds_only_what_it_changes(automatic):
    document, layout = automatic
    base.counts.clear()
    layout.AxleToBlock = layout.AxleToBlock.Value + 25.4
    document.recompute()
    built = {name.split(" ", 1)[1] for name in base.counts if name.startswith("builds ")}
    parts = {view.key for view in read.snapshot(layout).parts}
    # At a fixed pitch only what reaches from powertrain to chassis or rear end changes; no plate, no tab, no loop.
    assert built == {"driveshaft", "shaft_envelope", "transmission_mount", "support_tube"}
    assert base.counts["builds"] == len(built)
    executed = {name.split(" ", 1)[1] for name in base.counts if name.startswith("executes ")}
    assert parts <= executed and not {"chassis", "engine_data", "transmission_data"} & executed


def test_a_placement_edit_measures_only_what_it_builds(automatic, monkeypatch):
    """The volume of a shape that is kept is not integrated again: that took a third of an edit."""
    document, layout = automatic
    measured = []
    volume = measure.volume
    monkeypatch.setattr(base.measure, "volume", lambda shape: measured.append(shape) or volume(shape))
    # Volumes are not kept in the file: the first edit after opening takes them all.
    layout.AxleToBlock = layout.AxleToBlock.Value - 2.54
    document.recompute()
    measured.clear()
    masses = {obj.Key: obj.MassKg for obj in document.Objects if hasattr(obj, "MassKg")}
    base.counts.clear()
    cars.forget()
    layout.AxleToBlock = layout.AxleToBlock.Value + 2.54
    document.recompute()
    # The envelope weighs nothing, and of shaft and mount the builders know; a coped tube is held against its volume while it is built.
    assert base.counts["builds"] == 4 and len(measured) == 2
    after = {obj.Key: obj.MassKg for obj in document.Objects if hasattr(obj, "MassKg")}
    assert {key for key in masses if masses[key] != after[key]} <= {"driveshaft", "support_tube", "transmission_mount"}
    assert after["driveshaft"] > masses["driveshaft"]


def test_a_mass_follows_a_material_and_a_shape_that_was_put_in_by_hand(automatic):
    document, _layout = automatic
    tube = document.getObject("CrossMember")
    before, volume = tube.MassKg, measure.volume(tube.Shape)
    tube.Material = "6061-T6"
    document.recompute()
    assert tube.MassKg == pytest.approx(catalog.material("6061-T6").density * volume) and tube.MassKg < 0.5 * before
    # Its volume is measured; that of a mount as it is built is known in closed form.
    mount, box = document.getObject("TransmissionMount"), Part.makeBox(10, 10, 10)
    density = mount.MassKg / measure.volume(mount.Shape)
    assert density == pytest.approx(catalog.material(mount.Material).density, rel=1e-9)
    for obj in (tube, mount):
        obj.Shape = box
        obj.touch()
    document.recompute()
    assert tube.MassKg == pytest.approx(catalog.material("6061-T6").density * 1000.0)
    assert mount.MassKg == pytest.approx(density * 1000.0)


def test_pitch_edit_builds_plate_and_tabs_but_no_envelope(automatic):
    document, layout = automatic
    base.counts.clear()
    layout.Pitch = 2.5
    document.recompute()
    built = {name.split(" ", 1)[1] for name in base.counts if name.startswith("builds ")}
    assert {"mid_plate", "driveshaft", "rail_tab/left_front"} <= built
    assert not built & {"engine", "transmission", "loop/front", "loop/rear", "rail/left", "protector"}


def test_name_and_class_rebuild_nothing(automatic):
    document, layout = automatic
    car_object = next(obj for obj in read.members(layout) if obj.Kind == "car")
    base.counts.clear()
    car_object.CarName = "Another name"
    document.recompute()
    assert base.counts["builds"] == 0 and base.counts["executes"] <= 1
    assert read.car(layout).car.name == "Another name"


def test_property_edit_equals_car_file_edit(automatic):
    document, layout = automatic
    layout.AxleToBlock, layout.Pitch = 82 * 25.4, 1.9
    document.recompute()
    car = demo(DEMOS[0])
    changed = dataclasses.replace(car, placement=dataclasses.replace(car.placement, axle_to_block=82 * 25.4,
                                                                     pitch=1.9 * units.DEG))
    other = cars.document(changed, "other")
    try:
        theirs, ours = shapes(read.only_layout(other)), shapes(layout)
        assert theirs.keys() == ours.keys()
        for key in ours:
            assert ours[key].digest == theirs[key].digest, key
            assert (ours[key].shape.CenterOfMass - theirs[key].shape.CenterOfMass).Length < 1e-6, key
    finally:
        App.closeDocument(other.Name)


def test_the_layout_shows_where_the_rear_axle_turns(automatic):
    """Instant centre of the demo's four-link from the lines of its links, inches: z = 9.75 + (x - 0.5) 0.25 / 19 and 20.75 - x 4.25 /
    18."""
    document, layout = automatic
    lower, upper = 0.25 / 19.0, -4.25 / 18.0
    x = (20.75 - 9.75 + 0.5 * lower) / (lower - upper)
    assert layout.SwingArm.Value / 25.4 == pytest.approx(x) and layout.InstantCentre.x / 25.4 == pytest.approx(x)
    assert layout.InstantCentre.z / 25.4 == pytest.approx(20.75 + upper * x) and layout.InstantCentre.y == 0.0
    layout.Chassis.RearEndSuspensionKind = "rigid"
    document.recompute()
    assert layout.isValid() and layout.SwingArm.Value == 0.0 and layout.InstantCentre.Length == 0.0


def test_a_record_is_read_anew_whoever_changes_a_property(automatic, monkeypatch):
    """A user, an expression, undo, redo and an aborted transaction; and not at all where nothing was changed."""
    document, layout = automatic
    document.UndoMode = 1
    obj = next(obj for obj in read.members(layout) if obj.Key == "cross_member")
    reads, own = [], base.props.read
    monkeypatch.setattr(base.props, "read", lambda one, *more: reads.append(one.Name) or own(one, *more))

    def offset():
        found = obj.Proxy.read(obj).offset
        assert found == own(obj, obj.Proxy.rows(), obj.Proxy.record).offset
        return found

    before = offset()
    reads.clear()
    assert offset() == before and reads == []
    document.openTransaction("edit")
    obj.Offset = before - 10.0
    assert offset() == before - 10.0
    document.commitTransaction()
    document.undo()
    assert offset() == before
    document.redo()
    assert offset() == before - 10.0
    document.openTransaction("aborted")
    obj.Offset = before - 20.0
    assert offset() == before - 20.0
    document.abortTransaction()
    assert offset() == before - 10.0
    obj.setExpression("Offset", f"{before - 5.0} mm")
    document.recompute()
    assert offset() == pytest.approx(before - 5.0, rel=1e-9)
    obj.Unset = [*obj.Unset, "Offset=0"]
    assert obj.Name in reads and obj.Proxy.read(obj) == own(obj, obj.Proxy.rows(), obj.Proxy.record)


def test_undo_takes_an_edit_back_without_building(automatic):
    document, layout = automatic
    document.UndoMode = 1
    document.openTransaction("edit")
    layout.Pitch = 3.0
    document.recompute()
    document.commitTransaction()
    assert layout.SolvedPitch.Value == pytest.approx(3.0)
    document.undo()
    base.counts.clear()
    document.recompute()
    assert layout.SolvedPitch.Value == pytest.approx(2.0) and base.counts["builds"] == 0
    assert read.snapshot(layout).unsound == ()


@pytest.mark.parametrize("name, value, wording", [
    ("AxleToBlock", -5.0, "AxleToBlock is -0.19685 in"), ("AxleToBlock", float("nan"), "AxleToBlock is nan"),
    ("Pitch", 60.0, "Pitch is 60 deg"), ("CrankHeight", 1e6, "CrankHeight is 39370.07874 in")])
def test_a_property_out_of_range_is_a_sentence_and_nothing_passes_as_fresh(automatic, name, value, wording):
    document, layout = automatic
    setattr(layout, name, value)
    document.recompute()
    assert wording in layout.getStatusString()
    try:
        unsound = read.snapshot(layout).unsound
    except read.ReadError as error:
        assert wording in str(error)
    else:
        assert any(note.blocking for note in unsound)


def test_a_rear_joint_ahead_of_the_front_joint_is_a_sentence(automatic):
    document, layout = automatic
    layout.AxleToBlock = 30 * 25.4
    document.recompute()
    assert "not ahead of the rear joint" in layout.getStatusString()


def test_a_placement_set_by_hand_is_overwritten(automatic):
    document, _layout = automatic
    plate = document.getObject("MidPlate")
    before = App.Placement(plate.Placement)
    plate.Placement = App.Placement(App.Vector(1, 2, 3), App.Rotation())
    plate.touch()
    document.recompute()
    assert (plate.Placement.Base - before.Base).Length < 1e-9


def test_a_shape_edited_by_hand_is_kept_and_told(automatic):
    document, layout = automatic
    assert read.snapshot(layout).unsound == (), "what is told of the shape that was there is not told of the one put in its place"
    tube = document.getObject("RearCrossMember")
    place = App.Placement(tube.Placement)
    tube.Shape = Part.makeBox(10, 10, 10)
    tube.Placement = place
    document.recompute()
    assert tube.Shape.Volume == pytest.approx(1000.0)
    assert [(note.key, note.kind) for note in read.snapshot(layout).unsound] == [("rear_cross_member", "edited")]


def test_a_container_that_was_moved_is_told(automatic):
    document, layout = automatic
    document.getObject("Mounts").Placement = App.Placement(App.Vector(0, 0, 5), App.Rotation())
    document.recompute()
    assert ("mounts", "moved", True) in [(n.key, n.kind, n.blocking) for n in read.snapshot(layout).unsound]


def test_an_axle_beside_its_tyre_radius_is_told(automatic):
    document, layout = automatic
    layout.Chassis.RearTireLoadedRadius = layout.Chassis.RearTireLoadedRadius.Value + 1.5
    document.recompute()
    note, = read.snapshot(layout).unsound
    assert (note.kind, note.blocking) == ("axle", False) and "16.000 in" in note.message and "16.059 in" in note.message
    layout.Chassis.RearTireLoadedRadius = layout.Chassis.RearTireLoadedRadius.Value - 0.6
    document.recompute()
    assert read.snapshot(layout).unsound == ()


def test_a_changed_catalogue_row_is_told(automatic):
    _document, layout = automatic
    layout.Engine.RowDigest = "0" * 32
    _document.recompute()
    assert [(note.key, note.kind) for note in read.snapshot(layout).unsound] == [("engine_data", "catalogue")]


def test_two_cars_in_one_document_keep_apart(automatic, tmp_path):
    document, layout = automatic
    other = make.add_car(document, demo(DEMOS[1]))
    document.recompute()
    assert len(read.layouts(document)) == 2
    assert record.difference(read.car(layout), demo(DEMOS[0])) == []
    assert record.difference(read.car(other), demo(DEMOS[1])) == []
    with pytest.raises(read.ReadError, match="2 cars"):
        read.only_layout(document)
    document.saveCopy(str(tmp_path / "two.FCStd"))
    again = App.openDocument(str(tmp_path / "two.FCStd"), True)
    try:
        for before, after in zip(read.layouts(document), read.layouts(again)):
            assert [obj.Key for obj in read.members(after)] == [obj.Key for obj in read.members(before)]
    finally:
        App.closeDocument(again.Name)


def test_a_copied_part_gets_a_key_of_its_own(automatic):
    document, layout = automatic
    loop = next(obj for obj in read.members(layout) if obj.Key == "loop/front")
    copy = document.copyObject(loop, False)
    document.recompute()
    assert copy.Key == "loop/front_2" and copy.Proxy is not None
    keys = [obj.Key for obj in read.members(layout)]
    assert len(keys) == len(set(keys))


def test_dead_proxies_are_told_and_repaired(automatic):
    document, layout = automatic
    car, digests = read.car(layout), {v.key: v.digest for v in read.snapshot(layout).parts}
    for obj in document.Objects:
        if base.is_ours(obj) and obj.Kind != registry.CONTAINER:
            obj.Proxy = None
    with pytest.raises(read.ReadError, match="Repair Document"):
        read.snapshot(layout)
    assert len(repair.repair(document)) == len(read.members(layout))
    assert repair.lifeless(document) == []
    assert record.difference(read.car(layout), car) == []
    assert {v.key: v.digest for v in read.snapshot(layout).parts} == digests
    assert read.snapshot(layout).unsound == ()


@pytest.mark.parametrize("key", ["tunnel", "support_tube", "loop/front", "mass/01", "car"])
def test_a_car_is_read_although_a_part_lost_its_program(automatic, key):
    """Its properties are still there: the loss is a finding, and only what needs the part goes unevaluated."""
    document, layout = automatic
    before = read.car(layout)
    next(obj for obj in document.Objects if getattr(obj, "Key", "") == key).Proxy = None
    assert record.difference(read.car(layout), before) == []
    assert (key, "proxy") in {(note.key, note.kind) for note in read.snapshot(layout).unsound}


def test_rebuild_clears_every_digest_and_builds_every_shape(automatic):
    document, layout = automatic
    base.counts.clear()
    read.rebuild(layout)
    document.recompute()
    assert base.counts["builds"] == len(read.snapshot(layout).parts)


def test_rebuild_leaves_another_car_of_the_document_alone(automatic):
    document, layout = automatic
    other = make.add_car(document, demo(DEMOS[1]))
    document.recompute()
    tube = next(obj for obj in read.members(other) if obj.Kind == "support_tube")
    tube.Shape = Part.makeBox(10, 10, 10)
    for chosen, count in ((layout, 1), (other, 0)):
        base.counts.clear()
        read.rebuild(chosen)
        document.recompute()
        assert base.counts["builds"] == len(read.snapshot(chosen).parts)
        edited = [note.key for note in read.snapshot(other).unsound if note.kind == "edited"]
        assert edited == ["support_tube"] * count


def test_every_object_has_kind_key_and_schema(made):
    for obj in read.members(made[2]) + read.containers(made[2]):
        assert obj.Kind and obj.Key and obj.SchemaVersion >= 1


def test_every_kind_has_a_class_and_restores_by_it():
    for kind in registry.CLASSES:
        assert registry.proxy_class(kind).kind == kind


def test_documents_saved_without_the_add_on_come_back(automatic, tmp_path, freecadcmd):
    """Opened and saved by a host that lacks the add-on: classes are gone for good, properties stay, repair revives."""
    document, layout = automatic
    car = read.car(layout)
    path, again = tmp_path / "with.FCStd", tmp_path / "without.FCStd"
    document.saveCopy(str(path))
    freecadcmd(f"""
import FreeCAD as App
import Part
document = App.openDocument({str(path)!r})
assert document.getObject("MidPlate").Proxy is None
document.saveAs({str(again)!r})
""", addons=())
    lost = App.openDocument(str(again), True)
    try:
        assert lost.getObject("MidPlate").Proxy is None
        assert repair.repair(lost)
        assert record.difference(read.car(read.only_layout(lost)), car) == []
        assert read.snapshot(read.only_layout(lost)).unsound == ()
    finally:
        App.closeDocument(lost.Name)


def test_a_part_that_is_missing_or_left_its_car_is_told(automatic):
    document, layout = automatic
    document.removeObject(document.getObject("RailTabLeftFront").Name)
    document.getObject("RailTabRightRear").Layout = None
    document.recompute()
    told = {(note.key, note.kind) for note in read.snapshot(layout).unsound}
    assert {("rail_tab/left_front", "missing"), ("rail_tab/right_rear", "missing"), ("rail_tab/right_rear", "link")} <= told


def test_a_part_too_many_is_told(automatic):
    document, layout = automatic
    document.copyObject(document.getObject("MidPlate"), False)
    document.recompute()
    assert ("mid_plate_2", "extra") in {(note.key, note.kind) for note in read.snapshot(layout).unsound}


def test_an_object_of_a_newer_schema_is_told(automatic):
    document, layout = automatic
    plate = document.getObject("MidPlate")
    known, before = plate.SchemaVersion, plate.ShapeDigest
    plate.SchemaVersion = 99
    plate.touch()
    document.recompute()
    for ask in (read.snapshot, read.car, lambda _layout: read.only_layout(document)):
        with pytest.raises(read.ReadError, match=rf"by a newer Crankline \(mid_plate of schema 99; this one knows {known}"):
            ask(layout)
    assert not plate.isValid() and plate.ShapeDigest == before, "nothing of it was computed"
    plate.SchemaVersion, plate.Kind = known, "wing"
    with pytest.raises(read.ReadError, match=r"kind 'wing' of a newer Crankline, whose car is of schema \d+; this one knows"):
        read.only_layout(document)


def test_the_root_of_the_trouble_is_named_first(automatic):
    document, layout = automatic
    side = layout.Chassis.SideSketch
    index = next(i for i, c in enumerate(side.Constraints) if c.Name == "main_rail")
    side.renameConstraint(index, "forgotten")
    document.recompute()
    try:
        told = read.root_cause(read.snapshot(layout).unsound)
    except read.ReadError as error:
        told = str(error)
    assert "the role 'main_rail' is missing" in told


@pytest.mark.parametrize("name", DEMOS)
def test_a_car_whose_uprights_have_no_station_is_made_and_told(name):
    car = demo(name)
    bare = dataclasses.replace(car, chassis=dataclasses.replace(
        car.chassis, firewall=None, uprights=dataclasses.replace(car.chassis.uprights, x=None)))
    document = cars.document(bare, "bare")
    try:
        layout = read.only_layout(document)
        assert record.difference(read.car(layout), bare) == []
        assert [(note.key, note.kind) for note in read.snapshot(layout).unsound] == [("upright", "undrawn")]
        assert document.getObject("SupportTube").Shape.isValid()
    finally:
        App.closeDocument(document.Name)
