"""The list of what is in the kit against the model: every part once, masses that sum to those of the parts, hardware joint by joint."""
from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import replace

import cars
import FreeCAD as App
import pypdf
import pytest

from crankline.features import made_from, read
from crankline.features.hardware import hardware
from crankline.features.part_kind import Supply, Weld
from crankline.features.registry import declaration
from crankline.geometry.piece import Sheet
from crankline.measure import part_marks
from crankline.reports import numbers
from crankline.sheets import assembled_view, hole_table, kit_contents, part_drawings, part_facts, qt, set_up, shaft_order
from crankline.sheets.drawing import SheetError
from crankline.units import read_in

pytestmark = pytest.mark.one_host


@pytest.fixture(scope="module", params=("full_bodied_automatic", "open_clutch"))
def whole(request):
    document = cars.document(request.param, "contents")
    layout = read.only_layout(document)
    shot, measurer = read.snapshot(layout), cars.measurer()
    measurer.sees(shot)
    with read_in("in"):
        yield shot, part_marks.of(shot, measurer), made_from.pieces(layout), measurer
    App.closeDocument(document.Name)


@pytest.fixture(scope="module")
def demo(whole):
    shot, marked, pieces, _measurer = whole
    return shot, kit_contents.rows(shot, marked, pieces)


@pytest.mark.parametrize("whole", ["open_clutch"], indirect=True)
def test_every_made_part_has_a_drawing(whole):
    """The book refuses to overlap. Of the other demo, on sheets of inches, see test_build.py."""
    shot, marked, pieces, measurer = whole
    with read_in("mm"):
        book = part_drawings.book(shot, marked, pieces, "A3", measurer)
        drawn = Counter(text for page in book for text in page.texts())
        told = part_facts.facts(shot, marked, pieces, measurer)
        assert all(drawn[item.mark] == 1 for item in marked)
        numbers_of = part_drawings.sheet_numbers(book, marked)
        assert set(numbers_of.values()) == set(range(1, len(book) + 1)) and len(numbers_of) == len(marked)
        # A sheet is called the same in its title block, in the list of parts and on the cover.
        contents = Counter(text for page in kit_contents.book(shot, kit_contents.rows(shot, marked, pieces), drawings=numbers_of)
                           for text in page.texts())
        for sheet, page in enumerate(book, 1):
            assert f"P{sheet}/{len(book)}" in page.texts() and contents[f"P{sheet}"] == list(numbers_of.values()).count(sheet)
        # Every flat says the size that its cut file has.
        for one in told:
            for piece in one.pieces:
                if isinstance(piece, Sheet):
                    low_y, low_z, high_y, high_z = piece.flat.bounds
                    assert drawn[hole_table.number(high_y - low_y)] and drawn[hole_table.number(high_z - low_z)] and one.cut_file(piece)
        tab, = next(one for one in told if one.mark == "RT-1").joints
        assert drawn[hole_table.number(tab.leg)] >= 4
        # What a part is welded to is at the symbol of the weld, and which of the tubes that the car lists.
        assert "tube floor left, floor right, 2 places" in drawn
        for one in told:
            for joint, places in assembled_view.together(one.joints):
                assert drawn[joint.to if places == 1 else f"{joint.to}, {places} places"] >= 1, (one.mark, joint.to)


def test_drawings_say_what_a_part_meets(whole):
    """Masses are those of the parts, and what is said to be joined does touch."""
    shot, marked, pieces, measurer = whole
    told = part_facts.facts(shot, marked, pieces, measurer)
    assert [one.mark for one in told] == [item.mark for item in marked]
    made = [part for part in shot.parts if declaration(part.kind, part.key).supply is Supply.KIT]
    assert sum(one.quantity * one.mass for one in told) == pytest.approx(sum(part.mass for part in made), rel=1e-9)
    assert all(part_facts.mass_text(one.mass, one.quantity) in one.lines[0] for one in told)
    by_mark = {one.mark: one for one in told}
    lines = {mark: "\n".join(one.lines) for mark, one in by_mark.items()}
    assert "Bolted to MP-1 mid plate" in lines["RT-1"] and "Welded to main rail" in lines["RT-1"]
    assert "LOOK-ALIKE of RT-2: check the mark" in lines["RT-1"] and "RC-1 receiver" in lines["CM-1"]
    assert "upright" not in lines["CM-1"]
    # The fillets that the strength screening counts on, at the joints that there are, and at no other.
    assert {(joint.to, joint.weld) for joint in by_mark["RC-1"].joints} == {("CM-1 cross member", Weld.AROUND)}
    tab, = by_mark["RT-1"].joints
    assert tab.weld is Weld.BOTH and tab.to == "main rail" and tab.leg > 0.0
    assert {(joint.to, joint.weld) for joint in by_mark["LT-1"].joints} == {("main rail", Weld.AROUND)}
    assert {joint.to for joint in by_mark["SL-1"].joints} >= {"tube floor left", "tube floor right"}
    assert all(joint.leg is None for joint in by_mark["FL-1"].joints) and not by_mark["MP-1"].joints
    # Pieces that are welded together are located on each other: the post in the middle of a tab 3.5 in wide, feet by their angle.
    notes = {mark: [piece.note for piece in one.pieces] for mark, one in by_mark.items()}
    assert any("on the tab at X 1.750 in, Y " in note for note in notes["TM-1"])
    assert any("deg off straight down" in note for note in notes["SL-1"]) and any("in below the split" in note for note in notes["SL-1"])


def test_masses_of_the_list_sum_to_those_of_the_parts(demo):
    shot, rows = demo
    made = [part for part in shot.parts if declaration(part.kind, part.key).supply is Supply.KIT]
    listed = [row for row in rows if row.source == kit_contents.MADE]
    assert sum(row.quantity for row in listed) == len(made)
    assert sum(row.quantity * row.mass for row in listed) == pytest.approx(sum(part.mass for part in made), rel=1e-9)


def test_hardware_is_summed_over_every_joint(demo):
    shot, rows = demo
    counted = Counter()
    for line in hardware(shot.car):
        counted[line.row] += line.count
    listed = Counter()
    for row in rows:
        if row.source == kit_contents.BOUGHT:
            listed[row.name] += row.quantity
    assert listed == counted and min(listed.values()) > 0
    assert all(row.size.endswith(" in long") for row in rows if row.name.startswith("hex bolt"))
    for word, told in (("dowel", " out of the block"), ("converter pad spacer", " in thick")):
        assert all(row.size.endswith(told) for row in rows if row.name.startswith(word))


def test_the_list_is_read_by_a_spreadsheet_and_printed_with_nothing_cut_off(demo, tmp_path):
    shot, rows = demo
    lines = list(csv.DictReader(io.StringIO(kit_contents.listed(rows))))
    assert [line["mark"] for line in lines] == [row.mark for row in rows] and "mass_each_lb" in lines[0]
    pages = kit_contents.book(shot, rows)
    assert not [text for page in pages for text in page.texts() if text.endswith("...")]
    path = qt.render_book(pages, tmp_path / "kit.pdf")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(str(path)).pages)
    assert all(row.mark in text for row in rows) and "looks like RT-2" in text


@pytest.mark.parametrize("length, system, words", [(12.7, "mm", "1/2 in"), (25.4 * 1.75, "in", "1 3/4 in"), (25.0, "in", "25 mm"),
                                                   (0.37 * 25.4, "in", "0.370 in"), (0.37 * 25.4, "mm", "9.40 mm")])
def test_lengths_of_hardware_are_written_as_the_trade_does(length, system, words):
    with read_in(system):
        assert kit_contents.hardware_length(length) == words


def test_the_set_up_sheet_is_printed_with_the_numbers_of_the_scene(demo, tmp_path):
    shot, _rows = demo
    pages = set_up.sheets(shot)
    path = qt.render_book(pages, tmp_path / "set-up.pdf")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(str(path)).pages)
    assert "Axle to rear face of block" in text and "What being off by the tolerance does" in text and "CAUTION" in text
    assert f"({shot.placed.placement.axle_to_block / 25.4:.3f} in)" in text
    assert not [line for page in pages for line in page.texts() if line.endswith("...")]


def test_the_driveshaft_order_says_what_the_report_says(demo):
    shot, _rows = demo
    told = numbers.of(shot)[0]["driveshaft_order"]
    lines = shaft_order.sheet(shot).texts()
    assert f"{told['joint_distance_mm'] / 25.4:.3f} in" in lines and f"{told['speed_max_rpm']:.0f} rpm" in lines
    assert f"{told['torque_nm']['with_shock'] / (0.45359237 * 9.80665 * 0.3048):.0f} lbf.ft" in lines      # pound force times foot
    assert "Serial number" in lines and "CAUTION" in lines and not [line for line in lines if line.endswith("...")]
    # The sketch says between which points.
    slip = told["slip"]
    assert {f"joint to joint {told['joint_distance_mm'] / 25.4:.3f} in", f"seal to joint {slip['seal_to_joint_mm'] / 25.4:.3f} in",
            f"exposed {slip['exposed_mm'] / 25.4:.3f} in"} <= set(lines)


def test_a_car_without_a_driveshaft_has_no_order(demo):
    shot, _rows = demo
    with pytest.raises(SheetError, match="no driveshaft yet"):
        shaft_order.sheet(replace(shot, car=replace(shot.car, driveshaft=None)))
