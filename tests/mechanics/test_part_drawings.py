"""Drawings of made parts: dimensions that are those of the pieces, labels that find room, bends against closed forms and straight legs."""
from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crankline.geometry.outline import Circle, Flat, Loop, Vertex, rounded
from crankline.geometry.piece import Bar, CrossHole, Section, Sheet, Solid, bent, rectangle, straight
from crankline.geometry.tube import Header
from crankline.sheets import bent_path, drawing, flat_drawing, hole_table, part_drawings, profile, tube_drawing, weld_symbol
from crankline.sheets.bent_path import Path
from crankline.sheets.drawing import Line, Polyline, SheetError, Text, bounds
from crankline.sheets.label_room import LabelRoom
from crankline.sheets.part_drawings import Frame
from crankline.sheets.part_facts import Facts
from crankline.sheets.sheet_format import Box
from crankline.units import INCH, read_in


def facts(*pieces):
    return Facts("XX-1", "Plate", 1, 1.0, pieces, ("6061-T6; mass 2 lb",), {one.name: f"XX-1-{one.name}.dxf" for one in pieces}, ())


def texts(items):
    return Counter(item.text for item in items if isinstance(item, Text))


def drawn(frame, size="A3"):
    """What makes the frame unreadable, by the one test of sheets."""
    area = part_drawings.area_of(size, frame.cell)
    return drawing.collisions(drawing.Sheet("", "", area.width, area.height, frame.items))


PLATE = [(40.0, 30.0, 10.0), (80.0, 30.0, 10.0), (40.0, 90.0, 12.0)]


@pytest.mark.parametrize("system, moved", [("mm", {"40.00": "41.00"}), ("in", {f"{40 / 25.4:.3f}": f"{41 / 25.4:.3f}"})])
@pytest.mark.parametrize("more", (0, 9))
def test_a_hole_that_is_moved_changes_its_own_dimension_and_no_other(system, moved, more):
    """Few holes are dimensioned by ordinates, more of them in a table."""
    holes = [Circle(*hole) for hole in [*PLATE, *((15.0 + 21.0 * i, 120.0, 6.0) for i in range(more))]]
    holes[0] = replace(holes[0], z=45.0)
    with read_in(system):
        before, after = (part_drawings.frame(facts(Sheet("plate", rectangle(240.0, 150.0, inner), 6.35)), "A3")
                         for inner in ([replace(holes[2], y=60.0), *holes[:2], *holes[3:]],
                                       [replace(holes[2], y=60.0), replace(holes[0], y=41.0), *holes[1:2], *holes[3:]]))
    gone, come = texts(before.items) - texts(after.items), texts(after.items) - texts(before.items)
    assert dict(gone) == dict.fromkeys(moved, 1) and dict(come) == dict.fromkeys(moved.values(), 1)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.integers(60, 900), st.integers(40, 600), st.lists(st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.sampled_from(
    (6.0, 10.3, 13.5, 30.0))), max_size=34))
def test_whatever_plate_it_is_labels_do_not_overlap_and_every_hole_is_located(wide, high, wished):
    holes = []
    for u, v, size in wished:
        hole = Circle(u * wide, v * high, size)
        if (min(hole.y, wide - hole.y, hole.z, high - hole.z) > size / 2.0 + 1.0
                and all(math.dist(hole.centroid, other.centroid) > (size + other.diameter) / 2.0 + 1.0 for other in holes)):
            holes.append(hole)
    piece = Sheet("plate", rectangle(float(wide), float(high), holes), 6.35)
    with read_in("in"):
        try:
            frame = part_drawings.frame(facts(piece), "A3")
        except SheetError as refused:
            assert "choose a larger size" in str(refused) and len(holes) > 12
            return
        assert drawn(frame) == []
        shown = texts(frame.items)
        assert shown[hole_table.number(wide)] and shown[hole_table.number(high)] and shown[hole_table.number(6.35)]
        for one in hole_table.openings(piece.flat):
            assert shown[hole_table.number(one.x)] and shown[hole_table.number(one.y)]
            # By its letter on the view and in the table.
            assert not flat_drawing.tabled(piece) or shown[one.tag] == 2


def test_letters_of_holes_are_by_size_and_skip_what_reads_as_a_figure():
    holes = [Circle(10.0 + 20.0 * i, 20.0, 2.0 + 0.5 * (i // 2)) for i in range(20)]
    found = hole_table.openings(rectangle(500.0, 40.0, holes).translated(-100.0, 7.0))
    assert [one.tag for one in found[:4]] == ["A1", "A2", "B1", "B2"] and not {"I", "O", "Q"} & {one.tag[0] for one in found}
    assert found[0].x == pytest.approx(10.0) and found[0].y == pytest.approx(20.0) and found[0].count == 2
    slot = Flat(rectangle(500.0, 40.0).outer, (rectangle(30.0, 10.0).outer.translated(40.0, 5.0),))
    one, = hole_table.openings(slot)
    with read_in("mm"):
        assert (one.x, one.y, one.size) == (55.0, 10.0, "30.00 × 10.00")


def table(flat):
    """Rows of the corner table without its head."""
    shown = [item.text for block in profile.tables(flat, 400.0) for item in block.items if isinstance(item, Text)]
    rows = [tuple(shown[i:i + 4]) for i in range(0, len(shown), 4)]
    assert rows[0] == profile.HEAD
    return rows[1:]


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.floats(0.4, 1.0), st.sampled_from((0.0, 4.0, 9.0))), min_size=5, max_size=14))
def test_the_corner_table_leads_back_to_the_outline(wished):
    """Corners and radii as they are told, rounded again, make the same outline."""
    points = [(300.0 * r * math.cos(math.tau * i / len(wished)), 200.0 * r * math.sin(math.tau * i / len(wished)))
              for i, (r, _radius) in enumerate(wished)]
    loop = rounded(points, [radius for _r, radius in wished])
    told, rounds = profile.corners(loop)
    assert not rounds and len(told) == len(points)
    again = rounded([(one.x, one.y) for one in told], [one.radius for one in told])
    assert again.area == pytest.approx(loop.area, rel=1e-9) and again.bounds == pytest.approx(loop.bounds, abs=1e-6)
    for one in told:
        assert loop.distance(*one.at) < 1e-6


def test_an_outline_is_told_by_corners_arcs_and_points_on_a_curve():
    ear = Loop((Vertex(-10.0, -12.0), Vertex(10.0, -12.0), Vertex(10.0, 0.0, 1.0), Vertex(-10.0, 0.0)))
    with read_in("mm"):
        assert table(Flat(ear)) == [("1", "0.00", "0.00", ""), ("2", "20.00", "0.00", ""), ("3", "20.00", "12.00", ""),
                                    ("4", "0.00", "12.00", ""), ("3 to 4", "10.00", "12.00", "R 10.00")]
    # A long arc in twenty parts is one curve: its ends and five points on it.
    turns = [math.pi * (0.25 + 0.5 * i / 20) for i in range(21)]
    bulge = math.tan(math.pi / 40 / 4)
    cap = Loop((*(Vertex(100.0 * math.cos(turn), 100.0 * math.sin(turn), bulge) for turn in turns[:-1]),
                Vertex(100.0 * math.cos(turns[-1]), 100.0 * math.sin(turns[-1]))))
    told, rounds = profile.corners(cap)
    assert len(told) == 2 + 5 and not rounds and all(math.hypot(one.x, one.y) == pytest.approx(100.0) for one in told)
    assert profile.box_radius(rectangle(20.0, 10.0).outer) == 0.0
    assert profile.box_radius(rounded([(0, 0), (20, 0), (20, 10), (0, 10)], 2.0)) == pytest.approx(2.0)
    assert profile.box_radius(rounded([(0, 0), (20, 0), (20, 10), (0, 10)], [2.0, 2.0, 2.0, 3.0])) is None
    assert profile.box_radius(rounded([(0, 0), (20, 0), (22, 10), (0, 10)], 2.0)) is None


@pytest.mark.parametrize("change, moved", [
    ((60.0, 51.0), {"50.00": "51.00"}), ((61.0, 50.0), {"60.00": "61.00"})])
def test_a_corner_that_is_moved_changes_its_own_row_and_no_other(change, moved):
    def shown(x, y):
        outer = rounded([(0.0, 0.0), (150.0, 0.0), (140.0, 80.0), (x, y), (5.0, 90.0)], [0.0, 0.0, 0.0, 5.0, 0.0])
        return texts(part_drawings.frame(facts(Sheet("plate", Flat(outer), 6.35)), "A3").items)

    with read_in("mm"):
        before, after = shown(60.0, 50.0), shown(*change)
    assert dict(before - after) == dict.fromkeys(moved, 1) and dict(after - before) == dict.fromkeys(moved.values(), 1)


def test_a_machined_piece_is_drawn_by_its_sections():
    piece = Solid("bracket", "machined", sections=(Section("section along its middle", rectangle(80.0, 12.0)),
                                                   Section("section at its end", Flat(rounded([(0, 0), (50, 0), (40, 30)], 3.0)))))
    with read_in("mm"):
        frame = part_drawings.frame(facts(piece), "A3")
        assert drawn(frame) == []
        shown = texts(frame.items)
        assert shown["80.00"] == shown["12.00"] == 1 and shown["R 3.00"] == 3 and not any("cut file" in text for text in shown)


def test_a_label_finds_the_free_side_and_none_where_there_is_none():
    box = Box(0.0, 0.0, 30.0, 30.0)
    wall = [Line(14.0 + i, 0.0, 14.0 + i, 30.0) for i in range(16)]
    room = LabelRoom(box, wall)
    placed, *_leader = room.label(Text(0.0, 0.0, "A1", 2.5), (13.0, 15.0))
    assert isinstance(placed, Text) and placed.box[2] < 14.0
    with pytest.raises(SheetError, match="no room"):
        LabelRoom(Box(0.0, 0.0, 3.0, 3.0)).label(Text(0.0, 0.0, "A1", 2.5), (1.5, 1.5))


@pytest.mark.parametrize("points", [
    [(0.0, -300.0, 50.0), (0.0, -200.0, 50.0), (0.0, -100.0, 200.0), (0.0, 120.0, 200.0), (0.0, 300.0, 40.0)],
    [(0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (260.0, 180.0, 30.0), (500.0, 200.0, 200.0), (500.0, 420.0, 260.0)]])
def test_what_a_bender_is_told_leads_to_the_end_of_the_tube(points):
    """Straights, bends and rotations are laid one after the other: the way from end to end is that of the points."""
    piece = bent("tube", points, 45.0, 31.75, 1.65)
    path = tube_drawing.path_of(piece)
    run = bent_path.runs(path)
    first, last = run[0].points[0], run[-1].points[-1]
    assert math.dist(first, last) == pytest.approx(math.dist(points[0], points[-1]), abs=1e-6)
    way, legs = run[-1].directions[-1] @ run[0].directions[0], [np.subtract(b, a) for a, b in ((points[0], points[1]), points[-2:])]
    assert way == pytest.approx(legs[0] @ legs[1] / np.linalg.norm(legs[0]) / np.linalg.norm(legs[1]), abs=1e-9)
    assert path.length == pytest.approx(piece.center_length) and path.plane is (len({p[0] for p in points}) == 1)
    if path.plane:
        vertex = bent_path.beside(path, 0.0, 0.3)[-1]
        assert math.hypot(vertex.y, vertex.z) == pytest.approx(math.dist(points[0], points[-1]), abs=1e-6)
    starts = path.marks()
    assert starts[0][0] == pytest.approx(piece.straights[0])
    assert starts[-1][1] == pytest.approx(path.length - piece.straights[-1])


def test_a_bent_strip_is_as_large_as_the_closed_form():
    half = bent_path.strip(Path((10.0, 10.0), (math.pi,), (), 100.0), 20.0)
    x0, y0, x1, y1 = half.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((120.0, 220.0))
    # Area of a strip along its centerline (Pappus): width by length.
    assert half.area == pytest.approx(20.0 * (20.0 + math.pi * 100.0))
    angle = Sheet("tab", rectangle(50.0, 61.0), 4.0, bends=(((0.0, 36.0), (50.0, 36.0)),), bend_angles=(math.pi / 2.0,), bend_radius=4.0)
    # Outside of a leg: to the tangent of the bend, and radius and thickness on.
    x0, y0, x1, y1 = flat_drawing.folded(angle).bounds
    share = math.pi / 4.0 * 6.0
    assert (x1 - x0, y1 - y0) == pytest.approx((61.0 - 36.0 - share + 8.0, 36.0 - share + 8.0))
    assert flat_drawing.folded(replace(angle, bend_angles=())) is None


def test_tubes_tell_cut_length_clocking_and_holes():
    header = Header((600.0, 0.0, 0.0), (0.0, 1.0, 1.0), 44.45)
    piece = straight("tube", 31.75, 1.65, (0.0, 0.0, 0.0), (600.0, 0.0, 0.0), (), (header,), holes=(CrossHole(25.4, 9.9),))
    with read_in("in"):
        shown = texts(tube_drawing.view(piece, 5).items)
        # At the shared line, 45 degrees off it, the cope bites deepest in the middle: the tips stand on the header's sides.
        assert shown["1.000"] and shown["⌀0.390 through"] and shown["last 45.0°"] == 0
        shown = texts(tube_drawing.view(piece, 2).items)
        assert shown["last 135.0°"] + shown["last 45.0°"] == 1
        bar = tube_drawing.view(Bar("leg", 50.8, 6.35, 254.0), 2)
        assert set(texts(bar.items)) == {"10.000 (10)", "2.000", "0.250"}


def test_frames_share_sheets_without_lying_on_each_other():
    cells = "quarter", "full", "tall", "quarter", "wide", "quarter", "tall", "quarter"
    frames = [Frame(f"{cell}-{i}", cell, ()) for i, cell in enumerate(cells)]
    pages = part_drawings.paged(frames)
    for placed in pages:
        taken = [(column + i, row + j) for one, column, row in placed for i in range(part_drawings.CELLS[one.cell][0])
                 for j in range(part_drawings.CELLS[one.cell][1])]
        assert len(taken) == len(set(taken)) and set(taken) <= {(0, 0), (0, 1), (1, 0), (1, 1)}
    assert sum(map(len, pages)) == len(frames)
    assert pages[0][0][0].mark == "quarter-0"


@pytest.mark.parametrize("tip, near", [((0.0, 30.0), "left"), ((200.0, 5.0), "right")])
@pytest.mark.parametrize("around, both", [(True, False), (False, True)])
def test_a_weld_symbol_reads_as_its_standard_says(tip, near, around, both):
    """AWS A2.4: the fillet's upright leg on the left whichever end the arrow leaves, the size left of it, the arrow side below the line."""
    wide = weld_symbol.width("0.125", "main rail")
    box = Box(60.0, 40.0, 60.0 + wide, 40.0 + weld_symbol.HIGH)
    items = weld_symbol.symbol(box, tip, "0.125", "main rail", around, both)
    sheet = drawing.Sheet("", "", 300.0, 100.0, tuple(items))
    assert drawing.collisions(sheet) == []
    level = 40.0 + weld_symbol.HIGH / 2.0
    triangles = [item for item in items if isinstance(item, Polyline) and item.kind == "outline"]
    assert len(triangles) == 1 + both and min(min(y for _x, y in one.points) for one in triangles) < level
    sizes = [item for item in items if isinstance(item, Text) and item.text == "0.125"]
    for one in triangles:
        (x, _y), (upright, _low), (point, _end) = one.points
        assert upright == x < point and all(size.box[2] < x for size in sizes)
    rings = [item for item in items if isinstance(item, drawing.Circle)]
    assert [ring.x for ring in rings] == [box.x0 if near == "left" else box.x1] * around
    assert all(box.x0 - 1.2 <= bounds(item)[0] for item in items if isinstance(item, Text)) and len(sizes) == 1 + both


def test_a_symbol_goes_where_its_arrow_runs_through_no_text():
    label = Text(101.5, 61.5, "A1", 1.5)        # in the way of the place that is tried first
    room, seen = LabelRoom(Box(0.0, 0.0, 200.0, 120.0), [label]), []

    def drawn(box):
        seen.append(box)
        return [Line(box.x0 if box.x0 >= 100.0 else box.x1, (box.y0 + box.y1) / 2.0, 100.0, 60.0)]

    line, = room.group(20.0, 8.0, (100.0, 60.0), drawn, "the symbol")
    assert len(seen) > 1 and drawing.collisions(drawing.Sheet("", "", 200.0, 120.0, (label, line))) == []
    # Its nearer end is what points, and the whole of it is on that side.
    assert all(box.x0 >= 100.0 or box.x1 <= 100.0 for box in seen)
    with pytest.raises(SheetError, match="the symbol finds no room"):
        LabelRoom(Box(0.0, 0.0, 25.0, 30.0)).group(20.0, 8.0, (12.0, 15.0), drawn, "the symbol")


def test_lengths_are_read_as_in_the_shop():
    with read_in("in"):
        assert tube_drawing.sawn_length(12.5 * INCH) == "12.500 (12 1/2)" and hole_table.number(-0.0001) == "0.000"
    with read_in("mm"):
        assert tube_drawing.sawn_length(317.54) == "317.5" and hole_table.number(317.5) == "317.50"
