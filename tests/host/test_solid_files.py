"""The solid of a real engine or transmission from a file: read into its frame, measured in place of the envelope, never mistaken."""
import math
from dataclasses import replace

import cars
import FreeCAD as App
import Mesh
import Part
import pytest
from shop_tables import engine

from crankline import carfile, catalog, model
from crankline.catalog import shop, solid_files
from crankline.features import read
from crankline.features.apply import apply
from crankline.geometry import solid_file
from crankline.source import SourceError

BLOCK, NOSE = (500.0, 300.0, 400.0), (60.0, 80.0)
"""Length, width and height of a box, radius and length of a cylinder at its front end, mm."""
AXIS = 150.0
"""The axis above the bottom of the box."""


def body():
    """A box from x = 0 forward and a cylinder about the axis before it, in the engine frame: two solids."""
    box = Part.makeBox(*BLOCK, App.Vector(0, -BLOCK[1] / 2, -AXIS))
    nose = Part.makeCylinder(NOSE[0], NOSE[1], App.Vector(BLOCK[0], 0, 0), App.Vector(1, 0, 0))
    return Part.Compound([box, nose])


TURN = App.Placement(App.Vector(120.0, -40.0, 75.0), App.Rotation(App.Vector(1, 2, 3), 77.0))
"""Where the body stands in its file."""


def picked(x, y, z, scale=1.0):
    there = TURN.multVec(App.Vector(x, y, z)) * scale
    return model.Point(x=there.x, y=there.y, z=there.z)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(solid_files, "_folders", {})
    placed = body()
    placed.Placement = TURN
    placed.exportStep(str(tmp_path / "body.step"))
    placed.exportBrep(str(tmp_path / "body.brep"))
    mesh = Mesh.Mesh(placed.Solids[0].tessellate(0.5))
    mesh.write(str(tmp_path / "box.stl"))
    small = App.Matrix()
    small.scale(1 / 25.4, 1 / 25.4, 1 / 25.4)
    mesh.transform(small)
    mesh.write(str(tmp_path / "box_in_inches.stl"))
    Mesh.Mesh(placed.Solids[0].tessellate(0.5)[0][:0]).write(str(tmp_path / "empty.stl"))
    (tmp_path / "words.step").write_text("no solid at all")
    Part.makePlane(10, 10).exportBrep(str(tmp_path / "open.brep"))
    solid_files.look_in(tmp_path)
    return tmp_path


def solid(folder, name, **given):
    held = model.Solid(file=name, mesh_unit=None, origin=picked(0, 0, 0), forward=picked(300, 0, 0), left=picked(50, 90, 0), digest=None)
    return replace(held, **{"digest": solid_files.digest_of(folder / name), **given})


def box_of(shape):
    box = shape.optimalBoundingBox(False)
    return [box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax]


def test_a_file_is_read_into_the_frame_of_its_three_points(folder):
    whole = BLOCK[0] * BLOCK[1] * BLOCK[2]
    corner = [0.0, -BLOCK[1] / 2, -AXIS, BLOCK[0], BLOCK[1] / 2, BLOCK[2] - AXIS]
    for name, unit, nose, solids in (("body.step", None, NOSE[1], 2), ("body.brep", None, NOSE[1], 2), ("box.stl", None, 0.0, 1),
                                     ("box_in_inches.stl", "in", 0.0, 1)):
        found = solid_file.build(solid_file.spec(solid(folder, name, mesh_unit=unit), "engine"))
        assert len(found.Solids) == solids and found.isValid(), name
        assert found.Volume == pytest.approx(whole + math.pi * NOSE[0] ** 2 * nose, rel=1e-5), name
        assert box_of(found) == pytest.approx([*corner[:3], BLOCK[0] + nose, *corner[4:]], abs=0.01), name
        assert found.Placement.isIdentity()
    # Along the axes of the file triangles of one plane are that to the last digit, and become one face.
    Mesh.Mesh(body().Solids[0].tessellate(0.5)).write(str(folder / "along.stl"))
    along = solid(folder, "along.stl", origin=model.Point(x=0.0, y=0.0, z=0.0), forward=model.Point(x=9.0, y=0.0, z=0.0),
                  left=model.Point(x=1.0, y=5.0, z=0.0))
    assert len(solid_file.build(solid_file.spec(along, "engine")).Faces) == 6
    ahead = solid_file.build(solid_file.spec(solid(folder, "body.brep"), "engine"), -25.0)
    assert box_of(ahead)[0] == pytest.approx(-25.0, abs=1e-6)


def test_what_is_no_body_is_refused_with_a_sentence(folder, monkeypatch):
    for name, words in (("words.step", "cannot be read as a solid"), ("open.brep", "no closed solid"), ("empty.stl", "not closed")):
        with pytest.raises(solid_files.SolidFileError, match=words) as caught:
            solid_file.build(solid_file.spec(solid(folder, name), "engine"))
        assert name in str(caught.value) and "\n" not in str(caught.value)
    with pytest.raises(ValueError, match=r"engine\.solid: origin, forward and left lie on one line"):
        solid_file.spec(solid(folder, "body.step", left=picked(100, 0, 0)), "engine")
    far = solid(folder, "body.step", origin=picked(9000, 0, 0), forward=picked(9300, 0, 0), left=picked(9000, 90, 0))
    with pytest.raises(solid_files.SolidFileError, match="reaches more than"):
        solid_file.build(solid_file.spec(far, "engine"))
    monkeypatch.setattr(solid_file, "MOST_TRIANGLES", 11)
    with pytest.raises(solid_files.SolidFileError, match="has 12 triangles; at most 11 are allowed"):
        solid_file.build(solid_file.spec(solid(folder, "box.stl"), "engine"))
    with pytest.raises(solid_files.SolidFileError, match="is not the one that was used"):
        solid_file.build(solid_file.spec(solid(folder, "body.step", digest="0" * 32), "engine"))
    with pytest.raises(solid_files.SolidFileError, match="missing"):
        solid_file.build(replace(solid_file.spec(solid(folder, "body.step"), "engine"), file="gone.step"))


def test_a_car_shows_and_measures_the_real_body_and_tells_a_file_that_is_gone(folder, tmp_path):
    document = cars.document(cars.AUTOMATIC)
    layout = read.only_layout(document)
    try:
        plain = read.car(layout)
        engine = next(obj for obj in read.members(layout) if obj.Key == "engine")
        envelope = engine.ShapeDigest
        real = replace(plain, engine=replace(plain.engine, solid=solid(folder, "body.step"), overrides=("solid",)))
        assert "engine" in apply(layout, real).changed or engine.ShapeDigest != envelope
        assert read.car(layout) == real and "Invalid" not in engine.State
        assert engine.Shape.Volume == pytest.approx(body().Volume, rel=1e-6)
        # In the car the body stands where the engine frame does.
        nose = engine.Placement.multVec(App.Vector(BLOCK[0] + NOSE[1], 0, 0))
        assert App.Vector(*layout.Proxy.scene(layout).engine_point(BLOCK[0] + NOSE[1])).distanceToPoint(nose) < 1e-6
        kinds = {(note.key, note.kind) for note in read.snapshot(layout).unsound}
        assert kinds == {("engine_data", "catalogue")}
        # A file that is gone, or another one of its name, is told.
        (folder / "body.step").rename(folder / "kept.step")
        gone, = read._unsound_solids(layout)
        assert (gone.key, gone.kind) == ("engine", "solid") and "'body.step'" in gone.message and "missing" in gone.message
        (folder / "body.step").write_bytes((folder / "kept.step").read_bytes() + b"\n")
        other, = read._unsound_solids(layout)
        assert "is not the one that was used" in other.message
        (folder / "kept.step").replace(folder / "body.step")
        # As a car file, and back to the envelope.
        carfile.save(real, tmp_path / "car.yaml")
        assert carfile.read(tmp_path / "car.yaml").engine.solid == real.engine.solid
        apply(layout, plain)
        assert engine.ShapeDigest == envelope
    finally:
        App.closeDocument(document.Name)


ROW = """
    solid: {file: body.step, origin: {x: 1 mm, y: 0 mm, z: 0 mm}, forward: {x: 9 mm, y: 0 mm, z: 0 mm}, left: {x: 1 mm, y: 5 mm, z: 0 mm}}
"""


def test_a_row_of_a_shop_brings_its_solid(folder):
    table = folder / "engines.yaml"
    try:
        table.write_text(engine().rstrip() + ROW)
        shop.use([folder])
        held = catalog.engine("shop_iron")
        assert held.solid.digest == solid_files.digest_of(folder / "body.step")
        before = held.row_digest
        (folder / "body.step").write_bytes((folder / "body.brep").read_bytes())
        shop.use([folder])
        assert catalog.row_digest("engines", "shop_iron") != before, "another file, another row"
        for name, words in (("other.step", "no file 'other.step' beside"), ("../body.step", "without folders"), ("words.txt", "ends in")):
            table.write_text((engine().rstrip() + ROW).replace("body.step", name))
            with pytest.raises(SourceError, match=words):
                shop.use([folder])
    finally:
        shop.use(())
