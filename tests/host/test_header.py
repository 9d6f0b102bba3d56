"""Headers: boxes of the car file that go with the engine, keep clear of the chassis, and are no body that is made."""
from __future__ import annotations

from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from conftest import ROOT

from crankline import carfile, document_files, model, record
from crankline.checks import evaluate
from crankline.features import read
from crankline.measure import removal
from crankline.measure.distance import Body
from crankline.progress import drained
from crankline.rules import rule_sets

INCH = 25.4
SIZES = {"x_rear": 2 * INCH, "x_front": 19 * INCH, "z_low": -4 * INCH, "z_high": 9 * INCH}
# Out of alphabetical order: a document keeps the order of the car file.
HEADERS = (model.Header(name="right", y_right=-12 * INCH, y_left=-7 * INCH, **SIZES),
           model.Header(name="left", y_right=7 * INCH, y_left=12 * INCH, **SIZES))


@pytest.fixture
def made():
    car = replace(carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"), headers=HEADERS)
    document = cars.document(car, "headers")
    yield car, document, read.only_layout(document)
    App.closeDocument(document.Name)


def judged(snapshot, rule, rule_set="clearance"):
    wanted = [item for item in rule_sets.select([rule_set]).rules if item.id == rule]
    return evaluate.evaluate(wanted, snapshot, cars.measurer())


def test_the_document_holds_the_headers_of_the_car_file(made, tmp_path):
    car, document, layout = made
    assert record.difference(read.car(layout), car) == []
    assert read.snapshot(layout).unsound == ()
    carfile.save(read.car(layout), tmp_path / "back.yaml")
    assert record.difference(carfile.read(tmp_path / "back.yaml").headers, HEADERS) == []
    path = str(tmp_path / "headers.FCStd")
    document.saveCopy(path)
    again = App.openDocument(path, True)
    try:
        assert record.difference(read.car(read.only_layout(again)), car) == []
    finally:
        App.closeDocument(again.Name)


def test_an_empty_list_is_told_from_an_absent_one():
    car = carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml")
    for headers in ((), None):
        document = cars.document(replace(car, headers=headers), "headers")
        assert read.car(read.only_layout(document)).headers == headers
        App.closeDocument(document.Name)


def test_a_header_is_a_box_that_goes_with_the_engine(made):
    _car, document, layout = made
    volume = 17 * 5 * 13 * INCH**3

    def corners():
        snapshot = read.snapshot(layout)
        part = snapshot.part("header/left")
        assert part.shape.isValid() and len(part.shape.Solids) == 1 and part.shape.Volume == pytest.approx(volume, rel=1e-12)
        expected = sorted(tuple(np.round(snapshot.scene.engine_point(x, y, z), 6)) for x in (SIZES["x_rear"], SIZES["x_front"])
                          for y in (7 * INCH, 12 * INCH) for z in (SIZES["z_low"], SIZES["z_high"]))
        assert np.allclose(sorted(tuple(np.round(tuple(vertex.Point), 6)) for vertex in part.shape.Vertexes), expected, atol=2e-6)
        return expected
    before = corners()
    layout.Pitch, layout.AxleToBlock = 3.0, 85 * INCH
    document.recompute()
    assert not np.allclose(before, corners(), atol=1.0)


def test_it_is_no_part_that_is_made_and_in_no_interference(made, tmp_path):
    layout = made[2]
    snapshot = read.snapshot(layout)
    part = snapshot.part("header/left")
    assert part.reference and part.mass is None
    document_files.write_step(layout, tmp_path / "car.step")
    document_files.write_step(layout, tmp_path / "again.step")     # the host counts parts on from file to file
    assert (tmp_path / "again.step").read_bytes() == (tmp_path / "car.step").read_bytes()
    # Equal parts make equal files: the header has a fixed date where the host writes the clock.
    assert b"'2000-01-01T00:00:00'" in (tmp_path / "car.step").read_bytes()[:document_files.STEP_HEAD]
    exported = Part.Shape()
    exported.read(str(tmp_path / "car.step"))
    assert len(exported.Solids) == len([view for view in snapshot.parts if not view.reference]) == len(snapshot.parts) - 3
    rail = snapshot.part("rail/left")
    through = replace(part, shape=rail.shape.copy(), digest="through")
    assert [item.state for item in judged(replace(snapshot, parts=(rail, through)), "CLR-INTERFERENCE")] == ["passed"]
    told, = judged(replace(snapshot, parts=(rail, through)), "CLR-HEADER")
    assert told.state == "open" and told.measured < 0.0


def test_a_box_inside_out_is_one_sentence(made):
    _car, document, layout = made
    box = next(obj for obj in document.Objects if getattr(obj, "Key", "") == "header/left")
    box.YLeft = 6 * INCH
    document.recompute()
    assert "headers[left].y_right: 7 in is not less than y_left 6 in" in box.getStatusString()
    assert [note.kind for note in read.snapshot(layout).unsound] == ["invalid"]


def test_a_collector_beside_the_bell_comes_off_before_the_transmission(made):
    """It reaches under the transmission, so the way down is blocked by what is bolted on. What else stands there is left out."""
    car, _document, layout = made
    snapshot = read.snapshot(layout)
    bodies = {part.key: (part.kind, Body(part.key, part.shape, f"{part.kind} {part.digest}"))
              for part in (snapshot.part("transmission"), snapshot.part("engine"), snapshot.part("transmission_mount"))}
    under = snapshot.part("transmission").shape.BoundBox
    collector = Part.makeBox(under.XLength, 100.0, 50.0, App.Vector(under.XMin, under.YMin, under.ZMin - 80.0))
    bodies["header/left"] = ("header", Body("header/left", collector, "collector"))
    found = drained(removal.way_out("transmission", bodies, snapshot.scene, car, ways=("straight_down",)))
    assert found.path.blocked is None and "header/left" in found.off
    fixed = drained(removal.way_out("transmission", bodies, snapshot.scene, car, ways=("straight_down",), off=("transmission_mount",)))
    assert fixed.path.blocked.part == "header/left"
    assert not any(body.key.startswith("header") for body in removal.setup("engine", bodies, snapshot.scene, car).staying)
