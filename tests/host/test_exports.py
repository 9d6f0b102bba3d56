"""What is exported of a car with a part in error, and the template of the page that may be edited."""
from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from xml.etree import ElementTree

import cars
import FreeCAD as App
import pypdf
import pytest

from crankline import carfile, checks, compat, model, outputs, record, reports, sheets
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
    shot, measurer = read.snapshot(layout), cars.measurer()
    measurer.sees(shot)
    return outputs.Job(layout, shot, SimpleNamespace(measurer=measurer), {"exit": 0})


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
        written = outputs.export(job(layout), ("step", "instructions", "flats", "car_file", "report"), tmp_path)
    finally:
        tube.XRear = rear
        layout.Document.recompute()
    assert written.files == ("report.json",) and written.removed == ()
    sentence, refused = written.missing
    assert refused.startswith("car.yaml") and "containment.enclosure" in refused, "no car file can say this"
    assert sentence.startswith("Whole car (STEP), Instruction sheet, Flat patterns (DXF) not written: ") and "Enclosure" in sentence
    report = json.loads((tmp_path / "report.json").read_text("utf-8"))
    assert report["exit"] == outputs.INCOMPLETE and report["files"] == {}


def test_a_car_file_that_names_a_document_that_is_not_there_is_missing_and_says_so(layout, monkeypatch, tmp_path):
    def refuses(car, path):
        raise carfile.CarFileError(str(path), 3, "chassis.sketches.file", "there is no document 'a.FCStd' beside the car file")

    monkeypatch.setattr(carfile, "save", refuses)
    written = outputs.export(job(layout), ("car_file",), tmp_path)
    assert written.files == () and list(tmp_path.iterdir()) == []
    assert written.missing == ("car.yaml:3: chassis.sketches.file: there is no document 'a.FCStd' beside the car file.",)


def test_sheets_take_the_size_and_the_form_that_are_asked_for(layout, tmp_path):
    books = ("set_up", "shaft_order", "contents")
    asked = job(layout)
    assert asked.marked is asked.marked and asked.pieces is asked.pieces, "computed once, whoever asks"
    plain = outputs.export(asked, books, tmp_path)
    assert {"set-up.pdf", "driveshaft-order.pdf", "kit-contents.pdf"} <= set(plain.files)
    assert len(pypdf.PdfReader(tmp_path / "set-up.pdf").pages) == 2
    width, height = (float(side) / 72.0 for side in pypdf.PdfReader(tmp_path / "set-up.pdf").pages[0].mediabox[2:])
    assert (width, height) == pytest.approx((11.0, 8.5), abs=1e-3), "a car of inches on a sheet of inches"
    svg = outputs.export(replace(asked, size="A4", form="svg"), ("set_up",), tmp_path)
    assert svg.files == ("set-up-1.svg", "set-up-2.svg")
    box = ElementTree.parse(tmp_path / "set-up-1.svg").getroot().get("viewBox")
    assert [float(side) for side in box.split()] == [0.0, 0.0, 2970.0, 2100.0]
    assert outputs.export(replace(asked, size="A2", form="png"), ("set_up",), tmp_path).files == ("set-up.png",), "one page"
    whole = replace(asked.shot, car=replace(asked.shot.car, title_block=record.sparse(model.TitleBlock, sheet_size="B")))
    assert sheets.sizes_for(whole) == ("B", "C", "D") and sheets.sizes_for(whole, "A2") == ("A2", "A1")
    assert sheets.sizes_for(asked.shot, drawing=True) == ("B", "C", "D")


@pytest.mark.one_host
def test_what_is_written_twice_is_equal_to_the_byte_whatever_was_written_between(tmp_path):
    """Drawings, instructions and cover of a small car, before and after those of another one in the same process, each from its own copy
    of the document. Of another process, and of lists and cut files, see test_build.py."""
    whole, least = cars.demo(cars.AUTOMATIC), carfile.read(cars.FOLDER / "minimal.yaml")
    small = replace(least, plates=model.Plates(mid=whole.plates.mid), mounts=model.Mounts(rail_tabs=whole.mounts.rail_tabs),
                    rules=replace(least.rules, sets=("document_health",)))
    other = replace(small, placement=replace(small.placement, axle_to_block=small.placement.axle_to_block + INCH))
    asked = ("sheets", "general", "instructions", "part_drawings", "cover")

    def written(car, number, asked):
        document = cars.document(car)
        try:
            plain = job(read.only_layout(document))
            outcome = checks.run(plain.shot, event_date=date(2026, 12, 1), measurer=plain.outcome.measurer)
            checked = replace(plain, outcome=outcome, report=reports.report(outcome, plain.shot, compat.host()))
            found = outputs.export(checked, asked, tmp_path / str(number))
            assert not found.missing
            return {name: (tmp_path / str(number) / name).read_bytes() for name in found.files}
        finally:
            App.closeDocument(document.Name)

    first, between, again = (written(*one) for one in ((small, 0, asked), (other, 1, ("general", "part_drawings")), (small, 2, asked)))
    books = {f"{book}.pdf" for book in ("side-view", "general-drawings", "instructions", "part-drawings", "cover")}
    assert first.keys() == again.keys() == books and [name for name in books if first[name] != again[name]] == []
    assert between and all(between[name] != first[name] for name in between)


def test_marks_are_in_the_tree_until_their_part_is_another_one(layout, tmp_path):
    parts = {obj.Key: obj for obj in read.members(layout)}
    tab, rail, mid = parts["tie_tab/left"], parts["rail/left"], parts["mid_plate"]
    mid.Label2 = "ask the laser shop first"
    outputs.export(job(layout), ("contents",), tmp_path)
    assert (tab.Label2, tab.Mark) == ("TT-1", "TT-1") and "Mark" not in rail.PropertiesList and rail.Label2 == ""
    assert (mid.Label2, mid.Mark) == ("ask the laser shop first", "MP-1"), "what somebody wrote stays"
    assert read.settled(layout.Document), "showing it changes nothing that is computed"
    held = mid.CornerRadius.Value
    mid.CornerRadius = held + 1.0
    layout.Document.recompute()
    assert (mid.Mark, mid.Label2) == ("", "ask the laser shop first")
    mid.CornerRadius, mid.Label2 = held, ""
    layout.Document.recompute()
    outputs.export(job(layout), ("contents",), tmp_path)
    assert (mid.Mark, mid.Label2) == ("MP-1", "MP-1")


def test_the_template_is_our_border_and_title_block():
    text = editable_page.template_text()
    root = ElementTree.fromstring(text)
    assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
    fields = [node.get(f"{{{editable_page.NAMESPACE}}}editable") for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"Shop", "Drawnby", "Approvedby", "Dwgno", "Rev", "Dateofissue"} <= set(fields)
    captions = {node.findtext("{http://www.w3.org/2000/svg}tspan") for node in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"Shop", "Dwg no.", "Rev."} <= captions and sheet_format.size_of("A3") == (420.0, 297.0)
