"""Flat patterns on sheets of stock: every one once, none over another or off its sheet, the file holding what is on it."""
from __future__ import annotations

import csv
import io
from itertools import combinations

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crankline.geometry.outline import Circle, Flat, polygon
from crankline.geometry.piece import Sheet
from crankline.sheets import dxf, nesting
from crankline.sheets.drawing import SheetError
from crankline.sheets.flat_patterns import CutFile


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(5.0, 480.0), st.floats(5.0, 480.0)), max_size=40))
def test_rectangles_lie_apart_on_their_sheets(sizes):
    places = nesting.packed(sizes, (1000.0, 500.0), 6.0, 10.0)
    assert [place.number for place in places] == list(range(len(sizes)))
    boxes = []
    for place, (width, height) in zip(places, sizes):
        across, up = (height, width) if place.turned else (width, height)
        boxes.append((place.sheet, place.x, place.y, place.x + across, place.y + up))
        assert place.x >= 10.0 and place.y >= 10.0 and place.x + across <= 990.0 + 1e-9 and place.y + up <= 490.0 + 1e-9
    for a, b in combinations(boxes, 2):
        gaps = (b[1] - a[3], a[1] - b[3], b[2] - a[4], a[2] - b[4])
        assert a[0] != b[0] or max(gaps) >= 6.0 - 1e-9
    assert nesting.packed(sizes, (500.0, 1000.0), 6.0, 10.0) == places, "whichever side of the stock is named first"


def test_a_nest_holds_its_parts_with_what_is_etched_on_them(tmp_path):
    bent = Sheet("tab", Flat(polygon([(0, 0), (60, 0), (60, 200), (0, 200)]), (Circle(20, 150, 12.0),)), 5.0,
                 bends=(((0.0, 100.0), (60.0, 100.0)),))
    plate = Sheet("plate", Flat(polygon([(-200, -100), (200, -100), (200, 120), (0, 180), (-200, 120)])), 5.0)
    files = (CutFile("TT-1.dxf", "TT-1", bent, 3, "4130N"), CutFile("MP-1.dxf", "MP-1", plate, 1, "4130N"),
             CutFile("FW-1.dxf", "FW-1", plate, 1, "6061-T6"), CutFile("TN-1.dxf", "TN-1", plate, 1, "carbon"))
    names = {path.name for path in nesting.write(files, tmp_path, (1220.0, 610.0), "mm")}
    assert names == {"nest_4130N_5mm_1.dxf", "nest_6061-T6_5mm_1.dxf", "nests.csv"}, "what is laid up is not cut from sheet"
    rows = list(csv.DictReader(io.StringIO((tmp_path / "nests.csv").read_text("utf-8-sig"))))
    assert [(row["file"], row["mark"], row["quantity"]) for row in rows] == [
        ("nest_4130N_5mm_1.dxf", "MP-1", "1"), ("nest_4130N_5mm_1.dxf", "TT-1", "3"), ("nest_6061-T6_5mm_1.dxf", "FW-1", "1")]
    area = plate.flat.area + 3 * bent.flat.area
    assert float(rows[0]["sheet_used_percent"]) == pytest.approx(100.0 * area / (1220.0 * 610.0), abs=0.051)
    space = ezdxf.readfile(tmp_path / "nest_4130N_5mm_1.dxf").modelspace()
    assert len(space.query(f"LWPOLYLINE[layer=='{dxf.OUTER}']")) == 4 and len(space.query("CIRCLE")) == 3
    bends = [line.get_points("xy") for line in space.query(f"LWPOLYLINE[layer=='{dxf.BEND}']")]
    assert len(bends) == 3, "turned along"
    assert all(a[0] == pytest.approx(b[0]) and abs(a[1] - b[1]) == pytest.approx(60.0) for a, b in bends)
    assert space.query(f"LWPOLYLINE[layer=='{dxf.MARK}']")
    first = (tmp_path / "nest_4130N_5mm_1.dxf").read_bytes()
    nesting.write(files, tmp_path, (1220.0, 610.0), "mm")
    assert (tmp_path / "nest_4130N_5mm_1.dxf").read_bytes() == first
    with pytest.raises(SheetError, match=r"MP-1\.dxf does not fit on stock of .*--stock"):
        nesting.write(files, tmp_path, (300.0, 300.0), "mm")
