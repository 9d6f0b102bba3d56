"""The drawing model: geometry of dimensions, strips, tables and title block on paper, without host and without Qt."""
from __future__ import annotations

import math
import pathlib
import re
from dataclasses import fields
from itertools import pairwise

import bare_python
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracles import listing

import crankline
from crankline import model
from crankline.sheets import dimension, drawing, sheet_format
from crankline.sheets.dimension import Datum
from crankline.sheets.drawing import Arc, Circle, Line, Polyline, Sheet, SheetError, Text

MM = 25.4


def sheet(*items) -> Sheet:
    return Sheet("test", "Test", 420.0, 297.0, tuple(items))


# ------------------------------------------------------------------------------------------------- sizes and scales

def test_every_book_has_a_letter_of_its_own():
    """Sheets of all books of a package are told apart by their numbers."""
    stems = set(re.findall(r'job\.book\(folder, "([a-z-]+)"', (pathlib.Path(crankline.PACKAGE) / "outputs.py").read_text(encoding="utf-8")))
    assert len(stems) > 6 and stems <= set(sheet_format.BOOKS)
    assert len(set(sheet_format.BOOKS.values())) == len(sheet_format.BOOKS)
    assert sheet_format.sheet_number("part-drawings", 3) == "P3" and sheet_format.sheet_number("no book", 3) == "3"


@pytest.mark.parametrize("size, wanted", [("A4", (297, 210)), ("A3", (420, 297)), ("A2", (594, 420))])
def test_trimmed_sizes_of_iso_5457(size, wanted):
    assert sheet_format.size_of(size) == wanted


@pytest.mark.parametrize("size, wanted", [("B", (17, 11)), ("C", (22, 17))])
def test_sizes_of_asme_y14_1_in_inches(size, wanted):
    assert sheet_format.size_of(size) == pytest.approx([side * MM for side in wanted])


def test_drawing_space_of_a3_is_that_of_iso_5457():
    # ISO 5457: A3 has a drawing space of 277 x 390 mm, filing margin 20 mm on the left.
    box = sheet_format.drawing_space("A3")
    assert (box.width, box.height, box.x0) == (390.0, 277.0, 20.0)


def test_unknown_size_is_one_sentence():
    with pytest.raises(SheetError, match=r"A5.*use one of A4, A3, A2, A1, A, B, C, D"):
        sheet_format.size_of("A5")


@pytest.mark.parametrize("width, height, wanted", [(390, 100, 1), (391, 100, 2), (3300, 900, 10), (3300, 2100, 20), (100, 2001, 20)])
def test_largest_standard_scale_that_fits(width, height, wanted):
    assert sheet_format.scale_for(width, height, sheet_format.Box(0, 0, 390, 200)) == wanted


def test_no_scale_fits():
    with pytest.raises(SheetError, match="does not fit at 1:100"):
        sheet_format.scale_for(1e6, 10.0, sheet_format.Box(0, 0, 390, 200))


# ------------------------------------------------------------------------------------------------------- dimensions

@pytest.mark.parametrize("value, system, wanted", [
    (82.5 * MM, "in", "82.500 in [2095.50 mm]"), (254.0, "mm", "254.00 mm [10.000 in]"), (-1e-9, "in", "0.000 in [0.00 mm]"),
    (-12.7, "in", "-0.500 in [-12.70 mm]")])
def test_both_units_the_car_s_first(value, system, wanted):
    assert dimension.both_units(value, system) == wanted


def test_angle_text_has_no_negative_zero():
    assert dimension.angle_text(math.radians(2.0)) == "2.00°"
    assert dimension.angle_text(-1e-9) == "0.00°"


def arrow_tips(items):
    return sorted(item.points[0] for item in items if isinstance(item, Polyline) and item.fill == "black")


def test_horizontal_dimension_reaches_both_datums():
    a, b = Datum("a", 20.0, 100.0), Datum("b", 180.0, 60.0)
    items = dimension.horizontal(b, a, 40.0, "82.500 in")
    assert arrow_tips(items) == [(20.0, 40.0), (180.0, 40.0)]
    extensions = [i for i in items if isinstance(i, Line) and i.x0 == i.x1]
    assert sorted((e.x0, e.y0, e.y1) for e in extensions) == [(20.0, 99.0, 38.0), (180.0, 59.0, 38.0)]
    assert not drawing.collisions(sheet(*items))


def test_vertical_dimension_reaches_both_datums_and_reads_from_the_right():
    items = dimension.vertical(Datum("track", 10.0, 20.0), Datum("crank", 15.0, 120.0), 60.0, "10.000 in")
    assert arrow_tips(items) == [(60.0, 20.0), (60.0, 120.0)]
    text, = (i for i in items if isinstance(i, Text))
    assert text.turned and text.box[2] < 60.0 and text.box[1] > 20.0 and text.box[3] < 120.0
    assert not drawing.collisions(sheet(*items))


@settings(deadline=None, max_examples=60)
@given(length=st.floats(0.2, 200.0))
def test_a_dimension_of_any_length_keeps_its_text_free(length):
    a = Datum("a", 200.0, 150.0)
    for items in (dimension.horizontal(a, Datum("b", 200.0 + length, 150.0), 140.0, "12.345 in"),
                  dimension.vertical(a, Datum("b", 200.0, 150.0 + length), 215.0, "12.345 in")):
        assert not drawing.collisions(Sheet("t", "t", 600.0, 600.0, tuple(items)))
        assert len(arrow_tips(items)) == 2


@settings(deadline=None, max_examples=60)
@given(angle=st.floats(0.001, 1.4), radius=st.floats(20.0, 150.0))
def test_an_angle_touches_both_directions(angle, radius):
    items = dimension.angle(Datum("apex", 100.0, 100.0), 0.0, angle, radius, "")
    tips = arrow_tips(items)
    wanted = sorted([(100.0 + radius, 100.0), (100.0 + radius * math.cos(angle), 100.0 + radius * math.sin(angle))])
    assert [math.dist(a, b) for a, b in zip(tips, wanted)] == pytest.approx([0.0, 0.0], abs=1e-9)


# ----------------------------------------------------------------------------------------------------------- strips

@settings(deadline=None, max_examples=200)
@given(wanted=st.lists(st.floats(0.0, 300.0), min_size=1, max_size=20), taken=st.lists(st.floats(10.0, 290.0), max_size=3))
def test_labels_in_a_strip_never_overlap_and_keep_their_order(wanted, taken):
    blocked = [(x - 0.5, x + 0.5) for x in taken]
    try:
        places = sheet_format.spread(wanted, [6.0] * len(wanted), 0.0, 300.0, blocked, 1.0)
    except SheetError:
        assert len(wanted) > 10 and blocked
        return
    ordered = sorted(places)
    assert all(b - a >= 6.0 - 1e-9 for a, b in pairwise(ordered))
    assert ordered[0] >= 3.0 - 1e-9 and ordered[-1] <= 297.0 + 1e-9
    assert all(x + 3.0 <= low + 1e-9 or x - 3.0 >= high - 1e-9 for x in places for low, high in blocked)
    by_wish = [place for _, place in sorted(zip(wanted, places), key=lambda pair: pair[0])]
    assert by_wish == sorted(by_wish) or len(set(wanted)) < len(wanted)


def test_labels_that_have_room_stay_where_they_want():
    assert sheet_format.spread([50.0, 150.0, 100.0], [6.0] * 3, 0.0, 200.0) == pytest.approx([50.0, 150.0, 100.0])


def test_labels_that_do_not_fit_are_refused():
    with pytest.raises(SheetError, match="no room"):
        sheet_format.spread([10.0] * 10, [6.0] * 10, 0.0, 50.0)


# ----------------------------------------------------------------------------------------------- texts and collisions

def test_collisions_are_found():
    one, two = Text(50.0, 50.0, "one text", 3.5), Text(55.0, 51.0, "other text", 3.5)
    assert "overlap" in drawing.collisions(sheet(one, two))[0]
    for crossing in (Line(40.0, 51.0, 90.0, 51.5), Circle(55.0, 51.0, 4.0), Arc(55.0, 51.0, 4.0, 0.0, math.pi),
                     Polyline(((40.0, 40.0), (60.0, 60.0)))):
        assert "crosses" in drawing.collisions(sheet(one, crossing))[0]
    assert "leaves" in drawing.collisions(sheet(Text(415.0, 50.0, "too far right")))[0]
    assert not drawing.collisions(sheet(one, Line(40.0, 48.0, 90.0, 48.0), Circle(55.0, 51.0, 60.0)))


def test_turned_text_takes_the_turned_box():
    level, turned = Text(100.0, 100.0, "10.000 in"), Text(100.0, 100.0, "10.000 in", turned=True)
    assert turned.box[3] - turned.box[1] == pytest.approx(level.box[2] - level.box[0])
    assert turned.box[2] - turned.box[0] == pytest.approx(level.box[3] - level.box[1])
    assert turned.box[0] < 100.0 - 2.5 and turned.box[1] == 100.0


def test_cut_and_wrapped_texts_fit():
    long = "Axle to front face of mid plate at the base of the block"
    assert drawing.text_width(drawing.fitted(long, 2.2, 40.0), 2.2) <= 40.0
    lines = drawing.wrapped(long, 2.2, 40.0)
    assert " ".join(lines) == long and all(drawing.text_width(line, 2.2) <= 40.0 for line in lines)


def test_title_block_holds_every_field_of_iso_7200_and_nothing_overlaps():
    space = sheet_format.drawing_space("A3")
    by = model.TitleBlock(shop="Night Shift Chassis", drawn_by="A. Drafter", approved_by="B. Builder", issued="2020-02-29", revision="C",
                          drawing_number="NS-104-2", sheet_size="A3")
    title = sheet_format.Title("Side view", "Demo", "1A2B3C4D", "1:10", "in [mm], deg", by, sheet=2, sheets=7)
    drawn = Sheet("t", "t", 420.0, 297.0, tuple(sheet_format.border("A3") + sheet_format.title_block(title, space)
                                                + sheet_format.cautions(space.x1 - 180.0, space.y0 + 38.0, 178.0)))
    assert not drawing.collisions(drawn)
    texts = drawn.texts()
    for caption in ("Shop", "Title", "Dwg no.", "Rev.", "Car data", "Date of issue", "Sheet", "Drawn by", "Approved by", "Document type"):
        assert caption in texts
    named = {getattr(by, field.name) for field in fields(by) if field.name != "sheet_size"}
    assert {"Side view", "1A2B3C4D", "2/7", "1:10", *named} <= set(texts)
    caution = " ".join(texts)
    for word in ("sanctioning body", "inspector", "qualified welder", "static ride height"):
        assert word in caution


def test_long_names_are_written_in_two_lines_of_the_title_block():
    space = sheet_format.drawing_space("A3")
    shop, car = "Invented chassis works of the far side", "A car whose name somebody typed into the form in full (invented)"
    title = sheet_format.Title("Part drawings", car, "00000000", "1:10", "mm, deg", model.TitleBlock(shop=shop), book="part-drawings")
    items = sheet_format.title_block(title, space)
    told: list[Text] = [item for item in items if isinstance(item, Text)]
    for name in (shop, car):
        own = [one for one in told if one.text and one.text in name and len(one.text) > 9]
        assert " ".join(one.text for one in sorted(own, key=lambda one: -one.y)) == name
        assert len(own) == 2 and all(one.height == 2.5 for one in own)
    assert drawing.collisions(Sheet("t", "t", 420.0, 297.0, tuple(items))) == []


def test_third_angle_symbol_shows_the_small_end_toward_the_circles():
    items = sheet_format.third_angle(100.0, 100.0)
    circles = [i for i in items if isinstance(i, Circle)]
    cone, = (i for i in items if isinstance(i, Polyline))
    assert len({c.x for c in circles}) == 1 and circles[0].x < min(x for x, _ in cone.points)
    ends = {x: max(y for px, y in cone.points if px == x) - 100.0 for x, _ in cone.points}
    near, far = sorted(ends)
    assert [ends[near], ends[far]] == sorted(c.radius for c in circles)


def test_table_cuts_its_texts_and_reports_its_lower_edge():
    items, low = sheet_format.table(20.0, 200.0, (20.0, 30.0), "Heading", ("A", "B"), [("x" * 60, "1.000"), ("y", "2.000")], 5.0, 2.2, (1,))
    assert low == pytest.approx(200.0 - 5.2 - 15.0)
    assert not drawing.collisions(sheet(*items))


def test_listing_is_sorted_and_rounded():
    a, b = Line(0.0, 1.00001, 2.0, 3.0), Circle(1.0, -1e-9, 2.0)
    assert listing([a, b]) == listing([b, a])
    assert listing([b])[0] == ("Circle", 1.0, 0.0, 2.0, "visible", "")
    assert listing([a]) == listing([Line(0, 1, 2, 3)])


def test_the_drawing_model_needs_neither_host_nor_qt():
    code = ("import sys; import crankline.sheets.drawing, crankline.sheets.sheet_format, crankline.sheets.dimension; "
            "import crankline.sheets.side_items; "
            "assert not {'FreeCAD', 'Part', 'PySide', 'PySide2', 'PySide6', 'ezdxf'} & set(sys.modules), sorted(sys.modules)")
    assert bare_python.refusal(code) == ""


def test_settling_a_pdf_moves_no_byte():
    from crankline.sheets.pdf_bytes import reproducible
    data = (b'/CreationDate (D:20261125005711+00\'00\')\n/MediaBox [0 0 1191.000000 842.000000]\n/MediaBox [0 0 842 595]\n'
            b'<0001> <0009> [<0041> <0009> <0054> ]\nxmp:CreateDate="2026-11-25T00:57:11+00:00" '
            b'DocumentID="uuid:64386430-7666-382d-6530-64362d343536"\n'
            b"/ID [ <643864> <643864> ]\n")
    found = reproducible(data, [(420.0, 297.0), (297.0, 210.0)])
    assert len(found) == len(data) and b"2026" not in found and b"643864" not in found
    assert b"[0 0 1190.551181 841.889764]" in found and b"<0001> <0009> [<0041> <0020> <0054> ]" in found
    later = data.replace(b"2026", b"2027").replace(b"64386430", b"74386430").replace(b"<643864>", b"<743864>")
    assert reproducible(later, [(420.0, 297.0), (297.0, 210.0)]) == found
