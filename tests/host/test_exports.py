"""What is exported of a car with a part in error, and the template of the page that may be edited."""
from __future__ import annotations

import json
from types import SimpleNamespace
from xml.etree import ElementTree

import cars
import FreeCAD as App
import pytest

from crankline import carfile, outputs
from crankline.features import read
from crankline.features.part_kind import Supply
from crankline.features.registry import declaration
from crankline.sheets import editable_page, sheet_format
from crankline.units import INCH


@pytest.fixture(scope="module")
def layout():
    document = cars.document(cars.AUTOMATIC)
    yield read.only_layout(document)
    App.closeDocument(document.Name)


def job(layout):
    return outputs.Job(layout, read.snapshot(layout), SimpleNamespace(measurer=None), {"exit": 0})


def test_parts_to_make_are_neither_bought_nor_the_customers(layout, monkeypatch, tmp_path):
    taken = []
    monkeypatch.setattr(outputs, "write_step", lambda _layout, path, wanted: taken.extend(
        obj for obj in read.members(layout) if obj.TypeId == "Part::FeaturePython" and wanted(declaration(obj.Kind, obj.Key))))
    outputs.PRODUCTS["made_step"].write(job(layout), tmp_path)
    keys = {obj.Key for obj in taken}
    assert {"mid_plate", "front_plate", "enclosure", "tunnel"} <= keys
    assert not keys & {"engine", "transmission", "driveshaft", "rail/left", "rail/right"}
    assert all(declaration(obj.Kind, obj.Key).supply is Supply.KIT for obj in taken)


def test_of_a_part_in_error_no_shape_is_written_and_the_report_is_incomplete(layout, tmp_path):
    tube = next(obj for obj in read.members(layout) if obj.Key == "enclosure")
    rear = tube.XRear.Value
    tube.XRear = tube.XFront.Value + INCH
    layout.Document.recompute()
    try:
        written = outputs.export(job(layout), ("step", "flats", "car_file", "report"), tmp_path)
    finally:
        tube.XRear = rear
        layout.Document.recompute()
    assert written.files == ("report.json",) and written.removed == ()
    sentence, refused = written.missing
    assert refused.startswith("car.yaml") and "containment.enclosure" in refused, "no car file can say this"
    assert sentence.startswith("Whole car (STEP), Flat patterns (DXF) not written: ") and "Enclosure" in sentence
    report = json.loads((tmp_path / "report.json").read_text("utf-8"))
    assert report["exit"] == outputs.INCOMPLETE and report["files"] == {}


def test_a_car_file_that_names_a_document_that_is_not_there_is_missing_and_says_so(layout, monkeypatch, tmp_path):
    def refuses(car, path):
        raise carfile.CarFileError(str(path), 3, "chassis.sketches.file", "there is no document 'a.FCStd' beside the car file")

    monkeypatch.setattr(carfile, "save", refuses)
    written = outputs.export(job(layout), ("car_file",), tmp_path)
    assert written.files == () and list(tmp_path.iterdir()) == []
    assert written.missing == ("car.yaml:3: chassis.sketches.file: there is no document 'a.FCStd' beside the car file.",)


def test_the_template_is_our_border_and_title_block():
    text = editable_page.template_text()
    root = ElementTree.fromstring(text)
    assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
    fields = [node.get(f"{{{editable_page.NAMESPACE}}}editable") for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"Shop", "Drawnby", "Approvedby", "Dwgno", "Rev", "Dateofissue"} <= set(fields)
    captions = {node.findtext("{http://www.w3.org/2000/svg}tspan") for node in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"Shop", "Dwg no.", "Rev."} <= captions and sheet_format.size_of("A3") == (420.0, 297.0)
