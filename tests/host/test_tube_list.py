"""Tube list and cope templates of a demo: lengths against closed forms, sticks that hold what is cut from them, and templates at size."""
from __future__ import annotations

import csv
import io
import math

import cars
import FreeCAD as App
import pypdf
import pytest

from crankline.features import made_from, read
from crankline.geometry import enclosure
from crankline.measure import part_marks
from crankline.sheets import cope_templates, qt, tube_list
from crankline.units import INCH, read_in

pytestmark = pytest.mark.one_host


@pytest.fixture(scope="module")
def demo():
    document = cars.document("full_bodied_automatic", "tubes")
    layout = read.only_layout(document)
    shot, measurer = read.snapshot(layout), cars.measurer()
    measurer.sees(shot)
    with read_in("in"):
        rows = tube_list.sawn(shot, part_marks.of(shot, measurer), made_from.pieces(layout))
        yield shot, rows, cope_templates.book(shot, rows)
    App.closeDocument(document.Name)


def test_lengths_and_quantities(demo):
    shot, rows, _book = demo
    found = {(row.mark, row.piece.name): row for row in rows}
    half = found["SL-1", "upper half, lower half"]
    # Half a ring of 7.5 in inside, 7/8 in tube, less half a kerf at each end.
    assert half.quantity == 2 and half.length == pytest.approx(math.pi * (7.5 + 0.875) / 2.0 * INCH - 0.5, abs=0.01)
    assert found["EN-1", "tube"].length == pytest.approx(enclosure.measure(shot.part("enclosure").shape).length, abs=1e-6)
    legs = found["FL-1", "leg 1, leg 2"]
    assert legs.quantity == 2 and not any(end.square for end in legs.ends) and legs.length < legs.piece.center_length
    assert found["ST-1", "tube"].ends[0].deepest > 10.0


def test_sticks_hold_what_is_cut_from_them(demo):
    _shot, rows, _book = demo
    found = tube_list.sticks(rows)
    assert sum(len(stick) for cut in found.values() for stick in cut) == sum(row.quantity for row in rows)
    for cut in found.values():
        for stick in cut:
            assert sum(row.length for row in stick) + tube_list.KERF * (len(stick) - 1) <= tube_list.STOCK
    # First fit: nothing that stands on a later stick would have had room on an earlier one.
    crowded = tube_list.sticks(rows, stock=20.0 * INCH)
    for cut in crowded.values():
        for number, stick in enumerate(cut[:-1]):
            room = 20.0 * INCH - sum(row.length + tube_list.KERF for row in stick)
            assert all(row.length > room for row in cut[number + 1])


def test_the_list_is_read_by_a_spreadsheet_in_the_units_of_the_car(demo):
    _shot, rows, _book = demo
    lines = list(csv.DictReader(io.StringIO(tube_list.listed(rows))))
    listed = [line for line in lines if line["mark"] and line["mark"] != "stock" and line["quantity"].isdigit()]
    assert len(listed) == len(rows) and {line["material"] for line in listed} == {"4130N"}
    bent = next(line for line in listed if line["mark"] == "CM-1")
    assert bent["bends"].startswith("center-line radius ") and bent["bends"].count("rotate 180.0 deg") == 2
    with read_in("mm"):
        assert "cut_length_mm" in tube_list.listed(rows) and " mm deep" in tube_list.listed(rows)


def test_templates_are_printed_at_size(demo, tmp_path):
    """Every coped end has one, as wide as the tube is around; pages are A4, nothing overlaps, the check bar is four inches."""
    _shot, rows, book = demo
    ends = [(row, end) for row in rows if row.ends for end in row.ends if not end.square]
    made = list(cope_templates.templates(rows))
    assert len(made) == len(ends)
    for one, (row, end) in zip(made, ends):
        assert one.width == pytest.approx(math.pi * row.piece.outer_diameter)
        heights = [along for _across, along in one.curve]
        assert max(heights) - min(heights) == pytest.approx(end.deepest) and min(heights) == pytest.approx(cope_templates.BAND)
        assert one.curve[0][1] == pytest.approx(one.curve[-1][1])
    path = qt.render_book(book, tmp_path / "book.pdf")
    pages = pypdf.PdfReader(str(path)).pages
    assert len(pages) == len(book)
    assert [float(side) / 72.0 * INCH for side in pages[0].mediabox[2:]] == pytest.approx([297.0, 210.0], abs=0.01)
    text = "".join(page.extract_text() for page in pages)
    assert text.count("must measure 4 in") == text.count("qualified welder") == len(book) and "ST-1 tube, first end" in text
    bars = [item for item in book[0].items if getattr(item, "x0", None) is not None and item.x0 == item.x1
            and abs(abs(item.y1 - item.y0) - 4.0 * INCH) < 1e-9]
    assert len(bars) == 1
