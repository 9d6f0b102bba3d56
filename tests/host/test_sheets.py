"""Sheets of the two demo cars, read back: the PDF with pypdf, the cut files with ezdxf, silhouettes against closed forms."""
from __future__ import annotations

import csv
import io
import math
import pathlib
import re
import sys
import xml.etree.ElementTree as ElementTree
from collections import Counter
from dataclasses import replace

import cars
import ezdxf
import ezdxf.math
import FreeCAD as App
import pypdf
import pytest

from crankline import sheets
from crankline.checks.finding import Finding, State
from crankline.features import made_from, read
from crankline.geometry.outline import Circle as Hole
from crankline.geometry.outline import Flat, Loop, Vertex, polygon
from crankline.measure import part_marks
from crankline.mechanics import scene as scenes
from crankline.rules.rule import Severity
from crankline.sheets import drawing, dxf, flat_patterns, qt, side_items, stroke_letters
from crankline.sheets.drawing import Circle, Line, SheetError, Text
from crankline.sheets.side_view import identification, side_view

ROOT = pathlib.Path(__file__).parent.parent.parent
CARS = ("full_bodied_automatic", "open_clutch")
MM = 25.4


@pytest.fixture(scope="module", params=cars.EACH)
def car(request):
    """Snapshot and pieces of a demo car."""
    document = cars.document(request.param, "Sheets")
    layout = read.only_layout(document)
    yield read.snapshot(layout), made_from.pieces(layout)
    App.closeDocument(document.Name)


@pytest.fixture(scope="module")
def drawn(car):
    return side_view(car[0])


def expected(name: str) -> tuple[str, str, str]:
    """The three placement numbers as the demo car files (and the demo's text) give them."""
    return {"Demo A": ("83.500 in [2120.90 mm]", "10.000 in [254.00 mm]", "2.00°"),
            "Demo B": ("80.500 in [2044.70 mm]", "10.000 in [254.00 mm]", "2.10°")}[name[:6]]


# ------------------------------------------------------------------------------------------------------ the side view

def test_no_letter_is_smaller_than_a_tenth_of_an_inch(drawn):
    """2.5 mm: the least of ISO 3098 that stays readable on a copy."""
    assert min(item.height for item in drawn.items if isinstance(item, Text)) >= 2.5


def test_nothing_overlaps_and_every_part_is_drawn(car, drawn):
    assert drawing.collisions(drawn) == []
    assert not any("NOT DRAWN" in text or text.endswith("...") for text in drawn.texts())


@pytest.mark.parametrize("size", ["A2", "C"])
def test_other_sizes(car, size):
    assert drawing.collisions(side_view(car[0], size=size)) == []


def test_a_sheet_that_is_too_small_is_refused_in_one_sentence(car):
    with pytest.raises(SheetError, match=r"^[^\n]*A4[^\n]*$|use a larger sheet"):
        side_view(car[0], size="A4")


def test_placement_dimensions_are_drawn_at_their_value(car, drawn):
    snapshot, _ = car
    scale = next(int(text[2:]) for text in drawn.texts() if re.fullmatch(r"1:\d+", text))
    lines = [i for i in drawn.items if isinstance(i, Line) and i.kind == "dimension"]
    wanted = snapshot.scene.placement.axle_to_block / scale
    assert any(i.y0 == i.y1 and abs(abs(i.x1 - i.x0) - wanted) < 1e-9 for i in lines)
    wanted = snapshot.scene.placement.crank_height / scale
    track = next(i.y0 for i in drawn.items if isinstance(i, Line) and i.kind == "border" and i.y0 == i.y1 and i.x1 - i.x0 > 200.0)
    assert any(i.y0 == i.y1 and abs(i.y0 - track - wanted) < 1e-9 for i in lines)
    circle = next(i for i in drawn.items if isinstance(i, Circle) and i.kind == "phantom")
    assert circle.radius == pytest.approx(snapshot.scene.chassis.rear_tire.loaded_radius
                                          / scale) and circle.y - circle.radius == pytest.approx(track)


def test_engine_moves_with_axle_to_block_and_the_chassis_stays(car):
    snapshot, _ = car
    moved = replace(snapshot.car, placement=replace(snapshot.car.placement, axle_to_block=snapshot.car.placement.axle_to_block - MM,
                                                    pitch_mode="fixed", pitch=snapshot.scene.pitch))
    before = {item.name: item for item in side_items.items_of(snapshot)}
    after = {item.name: item for item in side_items.items_of(replace(snapshot, car=moved, scene=scenes.of(moved)))}
    for name in ("Mid plate, front face", "Front joint", "Engine", "Transmission"):
        assert after[name].x - before[name].x == pytest.approx(-MM, abs=1e-6)
    for name in ("Rear joint", "Footwell tube", "Main rail", "Rear cross member", *(n for n in before if n.startswith("Loop"))):
        assert after[name].x_text == before[name].x_text
    assert identification(replace(snapshot, car=moved)) != identification(snapshot)


def test_table_repeats_the_demo_s_published_figures(car):
    # demo-cars: joint and placement numbers of the two invented cars; the rest in closed form.
    snapshot, _ = car
    rows = {row[0]: row for row in side_items.placement_rows(snapshot)}
    scene = snapshot.scene
    protector = scene.stack.protector
    station = scene.placement.axle_to_block - protector * math.cos(scene.pitch)
    assert rows["Axle to mid plate front face, at base"][2] == f"{station:.2f} mm"
    assert rows["Pinion pitch, positive nose down"][1] == "2.10°"
    assert rows["Rear joint height"][1] == {"Demo A": "13.163 in", "Demo B": "13.450 in"}[snapshot.car.car.name[:6]]


def test_findings_stand_on_the_sheet(car):
    snapshot, _ = car
    standing = Finding("1", "r", "s", "Front joint angle", Severity.WARNING, State.OPEN, {}, (), measured=3.256, comparison="<=",
                       limit=3.0, unit="deg")
    quiet = replace(standing, id="2", title="Nothing wrong", state=State.PASSED)
    many = [replace(standing, id=str(i), title=f"Finding {i}") for i in range(40)]
    texts = side_view(snapshot, [standing, quiet]).texts()
    assert "Front joint angle: measured 3.26 deg, required <= 3.00 deg" in " ".join(" ".join(texts).split())
    assert not any("Nothing wrong" in text for text in texts)
    assert "None open." in side_view(snapshot, [quiet]).texts()
    full = side_view(snapshot, many)
    assert any("and 31 more" in text for text in full.texts()) and drawing.collisions(full) == []


def test_items_are_called_by_the_marks_of_their_parts(car):
    snapshot, _ = car
    marks = {"mid_plate": "MP-7", "rail_tab/left_front": "RT-3", "rail_tab/right_rear": "RT-1",
             **{f"loop/{name}": f"SL-{number}" for number, name in enumerate(("front", "rear"), 1)}}
    items = side_items.items_of(snapshot)
    called = dict(zip((item.name.split(",")[0] for item in items), side_items.named(items, marks)))
    assert (called["Mid plate"], called["Rail tabs"], called["Loop front"], called["Loop rear"]) == ("MP-7", "RT-1, RT-3", "SL-1", "SL-2")
    numbers = [name for name in side_items.named(items, marks) if name.isdigit()]
    assert numbers == [str(number) for number in range(1, len(numbers) + 1)] and called["Rear axle"] == "1"
    page = Counter(side_view(snapshot, marks=marks).texts())
    assert page["MP-7"] == 2 and page["RT-1, RT-3"] == 2, "in the view and in the list"


def test_no_scene_is_one_sentence(car):
    with pytest.raises(SheetError, match="no placed powertrain"):
        side_view(replace(car[0], scene=None))


def test_a_missing_shape_is_said_on_the_sheet(car):
    snapshot, _ = car
    parts = tuple(replace(p, shape=None) if p.key == "engine" else p for p in snapshot.parts)
    assert any("NOT DRAWN: engine" in text for text in side_view(replace(snapshot, parts=parts)).texts())


# -------------------------------------------------------------------------------------------------------- renderers

def test_pdf_has_the_numbers_as_text_and_the_exact_size(car, drawn, tmp_path):
    snapshot, _ = car
    path = qt.render(drawn, tmp_path / "side-view.pdf")
    reader = pypdf.PdfReader(str(path))
    sheet, = reader.pages
    assert [float(v) * MM / 72.0 for v in sheet.mediabox[2:]] == pytest.approx([420.0, 297.0], abs=0.001)
    text = sheet.extract_text()
    for wanted in (*expected(snapshot.car.car.name), "AXLE TO BLOCK", "CRANK HEIGHT", "PITCH", "qualified welder", snapshot.car.car.name,
                   identification(snapshot)):
        assert wanted in text, f"{wanted!r} is not in {text!r}"


def test_equal_sheets_are_equal_files(drawn, tmp_path):
    for suffix in (".pdf", ".svg", ".png"):
        one, two = (qt.render(drawn, tmp_path / f"{name}{suffix}") for name in ("one", "two"))
        assert one.read_bytes() == two.read_bytes()


def test_svg_and_png(drawn, tmp_path):
    root = ElementTree.parse(qt.render(drawn, tmp_path / "s.svg")).getroot()
    assert root.attrib["viewBox"].split() == ["0", "0", "4200", "2970"]
    texts = [" ".join("".join(node.itertext()).split()) for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert any("AXLE TO BLOCK" in text for text in texts)
    from PySide import QtGui
    image = QtGui.QImage(str(qt.render(drawn, tmp_path / "s.png")))
    assert (image.width(), image.height()) == (round(420 / MM * 150), round(297 / MM * 150))
    dark = sum(image.pixelColor(x, y).lightness() < 128 for x in range(0, image.width(), 5) for y in range(0, image.height(), 5))
    assert 0.005 < dark / (image.width() * image.height() / 25) < 0.2


def test_bold_letters_are_bolder_in_a_picture_too(tmp_path):
    from PySide import QtGui
    ink = []
    for bold in (False, True):
        page = drawing.Sheet("t", "t", 30.0, 20.0, (Text(2.0, 8.0, "MP-1", 5.0, bold=bold),
                                                    Text(28.0, 2.0, "MP-1", 5.0, turned=True, bold=bold)))
        image = QtGui.QImage(str(qt.render(page, tmp_path / "t.png")))
        ink.append(sum(255 - image.pixelColor(x, y).lightness() for x in range(image.width()) for y in range(image.height())))
    assert ink[1] > 1.2 * ink[0]


def test_a_book_has_a_page_for_every_sheet(drawn, tmp_path):
    small = drawing.Sheet("two", "Two", 279.4, 215.9, (Text(20.0, 20.0, "page two"), Line(0.0, 0.0, 10.0, 10.0)))
    reader = pypdf.PdfReader(str(qt.render_book([drawn, small], tmp_path / "book.pdf")))
    assert len(reader.pages) == 2
    assert [float(v) * MM / 72.0 for v in reader.pages[1].mediabox[2:]] == pytest.approx([279.4, 215.9], abs=0.001)
    assert "page two" in reader.pages[1].extract_text()


def test_bad_suffix_and_bad_folder_are_one_sentence(drawn, tmp_path):
    with pytest.raises(SheetError, match=r"\.pdf, \.svg, \.png"):
        qt.render(drawn, tmp_path / "s.bmp")
    (tmp_path / "file").write_text("x")
    with pytest.raises(SheetError, match="choose a writable folder"):
        qt.render(drawn, tmp_path / "file" / "s.pdf")


# ------------------------------------------------------------------------------------------------------ flat patterns

@pytest.fixture(scope="module")
def cut(car, tmp_path_factory):
    """Folder and cut files of a car."""
    snapshot, pieces = car
    measurer = cars.measurer()
    measurer.sees(snapshot)
    files = flat_patterns.cut_files(snapshot, part_marks.of(snapshot, measurer), pieces)
    folder = tmp_path_factory.mktemp("flat")
    flat_patterns.write(files, folder, snapshot.system)
    return folder, files


def test_cut_files_hold_what_the_solids_are(car, cut):
    snapshot, (folder, files) = car[0], cut
    names = {path.name for path in folder.iterdir()}
    assert names == {file.name for file in files} | {"flats.csv"} and "MP-1.dxf" in names and len(names) == len(files) + 1
    document = ezdxf.readfile(folder / "MP-1.dxf")
    assert document.dxfversion == "AC1024" and document.header["$INSUNITS"] == 4 and not document.audit().errors
    kinds = {e.dxftype() for e in document.modelspace()}
    assert kinds <= {"LWPOLYLINE", "CIRCLE"}
    outer, = document.modelspace().query("LWPOLYLINE[layer=='CUT_OUTER']")
    assert outer.closed and any(bulge for *_, bulge in outer.get_points("xyb"))
    # Against the solid, which another path made: its volume over the thickness, its width.
    mid = snapshot.part("mid_plate")
    thickness = snapshot.scene.stack.mid_plate
    area = _area(outer) - sum(_area(e) for e in document.modelspace().query("*[layer=='CUT_INNER']"))
    assert area == pytest.approx(mid.shape.Volume / thickness, rel=1e-7)
    ys = [point[0] for point in outer.get_points("xy")]
    assert max(ys) - min(ys) == pytest.approx(mid.shape.copy(True, False).optimalBoundingBox(False).YLength, abs=1e-3)


def test_the_list_of_cut_files_counts_what_the_car_needs(car, cut):
    """Quantities sum to the tabs that the car has, masses of plates are those of the solids."""
    snapshot, (folder, files) = car[0], cut
    rows = {row["file"]: row for row in csv.DictReader(io.StringIO((folder / "flats.csv").read_text("utf-8-sig")))}
    assert set(rows) == {file.name for file in files}
    tabs = [part for part in snapshot.parts if part.kind == "rail_tab" and part.key.startswith("rail_tab")]
    assert sum(int(row["quantity"]) for row in rows.values() if row["mark"].startswith("RT-")) == len(tabs)
    for mark, key in (("MP-1", "mid_plate"), ("FP-1", "front_plate"), ("RT-1", "rail_tab/left_front")):
        mass = float(rows[f"{mark}.dxf"]["mass_lb"]) * 0.45359237
        assert mass == pytest.approx(snapshot.part(key).mass, rel=2e-3 if mark == "RT-1" else 1e-6)   # a saddle is cut square to the sheet
        assert float(rows[f"{mark}.dxf"]["thickness_in"]) == pytest.approx({"mid_plate": snapshot.scene.stack.mid_plate / 25.4}.get(
            key, float(rows[f"{mark}.dxf"]["thickness_in"])))


def test_what_is_etched_stays_on_its_layers_and_off_the_cuts(cut):
    """The mark is on every flat that has room for it, at least 1.5 mm from any cut; the blank tab has its trim line inside."""
    folder, files = cut
    marked = 0
    for file in files:
        space = ezdxf.readfile(folder / file.name).modelspace()
        assert {e.dxf.layer for e in space} <= set(dxf.LAYERS)
        strokes = list(space.query("LWPOLYLINE[layer=='ETCH_MARK']"))
        marked += bool(strokes)
        for point in (point for stroke in strokes for point in stroke.get_points("xy")):
            assert file.piece.flat.outer.holds(*point) and file.piece.flat.outer.distance(*point) > 1.5
            assert all(math.dist(point, (hole.y, hole.z)) > hole.diameter / 2.0 + 1.5 for hole in file.piece.flat.holes)
            assert all(abs(point[1] - line[0][1]) > 1.5 for line in file.piece.bends)           # these run level
            assert all(point[1] - line[0][1] > 1.5 for line in file.piece.trims)                # what is below is trimmed off
        assert len(space.query("LWPOLYLINE[layer=='ETCH_TRIM']")) == len(file.piece.trims)
        assert len(space.query("LWPOLYLINE[layer=='ETCH_BEND']")) == len(file.piece.bends)
    assert marked >= 0.8 * len(files)
    tab, = (file.piece for file in files if file.piece.trims)
    (_y, trim), _end = tab.trims[0]
    assert trim - tab.flat.bounds[1] == pytest.approx(25.4)         # the allowance that it is delivered with


def test_dowel_holes_are_cut_as_pilots_that_are_marked_to_be_reamed(car, cut, tmp_path):
    """Two holes in each plate that the engine's dowels go through, and none elsewhere."""
    files = {file.name: file for file in cut[1]}
    dowel = {"Demo A": 15.875, "Demo B": 12.7}[car[0].car.car.name[:6]]
    plates = {name for name, file in files.items() if file.reamed}
    assert plates == {"MP-1.dxf", "BP-1.dxf"} & set(files)
    plain = files["MP-1.dxf"]
    assert [hole.diameter for hole in plain.reamed] == pytest.approx([dowel, dowel]) and "2 dowel holes cut to" in plain.note
    piloted = replace(plain, pilot=dowel - 0.4)
    assert plain.flat.area == plain.piece.flat.area
    assert piloted.flat.area - plain.flat.area == pytest.approx(2 * math.pi / 4 * (dowel ** 2 - (dowel - 0.4) ** 2))
    assert "ream 2 dowel holes" in piloted.note and piloted.mass == plain.mass
    flat_patterns.write([piloted], tmp_path, "in")
    space = ezdxf.readfile(tmp_path / "MP-1.dxf").modelspace()
    assert sum(abs(2 * circle.dxf.radius - dowel + 0.4) < 1e-9 for circle in space.query("CIRCLE")) == 2
    lettering = list(space.query("LWPOLYLINE[layer=='ETCH_MARK']"))
    words = len(piloted.etched) - len(plain.etched)
    assert words == 2 * sum(1 for _ in stroke_letters.strokes("REAM", 8.0)) and len(lettering) == len(piloted.etched)
    for hole in piloted.reamed:
        near = [point for stroke in piloted.etched[len(plain.etched):] for point in stroke
                if math.dist(point, (hole.y, hole.z)) < hole.diameter / 2 + 40.0]
        assert near and min(math.dist(point, (hole.y, hole.z)) for point in near) > hole.diameter / 2 + 1.5
    small = replace(car[0], car=replace(car[0].car, plates=replace(car[0].car.plates, mid=replace(
        car[0].car.plates.mid, dowel_pilot=dowel))))
    with pytest.raises(SheetError, match=r"plates\.mid\.dowel_pilot"):
        flat_patterns.cut_files(small, (), {})


def test_what_cannot_be_etched_is_listed_to_be_marked_by_hand(cut):
    for file in cut[1]:
        assert ("mark by hand" in file.note) is not bool(file.mark_strokes)


def test_equal_patterns_make_equal_files(cut, tmp_path):
    folder, files = cut
    for file in files[:2]:
        piece = file.piece
        again = dxf.write(piece.flat, tmp_path / file.name, file.etched, piece.bends, piece.trims)
        assert again.read_bytes() == (folder / file.name).read_bytes()
        # The library keeps these as a set, whose order is another one in every process.
        names = [one.dxf.name for one in ezdxf.readfile(again).classes.classes.values()]
        assert names == sorted(names) and names


def _area(entity) -> float:
    """Area of a circle or of a closed polyline: its polygon, and a circular segment for each bulge (radius by ezdxf)."""
    if entity.dxftype() == "CIRCLE":
        return math.pi * entity.dxf.radius ** 2
    points = list(entity.get_points("xyb"))
    area = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(points, points[1:] + points[:1]):
        area += (x0 * y1 - x1 * y0) / 2.0
        if bulge:
            turn = 4.0 * math.atan(abs(bulge))
            area += math.copysign(abs(ezdxf.math.bulge_radius((x0, y0), (x1, y1), bulge)) ** 2 * (turn - math.sin(turn)) / 2.0, bulge)
    return abs(area)


def plate(*inner) -> Flat:
    return Flat(polygon([(0, 0), (100, 0), (100, 50), (0, 50)]), inner)


def flat_in(path):
    """The one pattern that a cut file holds."""
    (outer,), inner = dxf.cuts_in(path)
    return Flat(outer, tuple(inner))


def test_a_flat_pattern_reads_back_as_it_was(tmp_path):
    slot = Loop((Vertex(20, 20, 0), Vertex(40, 20, 1.0), Vertex(40, 30, 0), Vertex(20, 30, 1.0)))
    flat = plate(Hole(70, 25, 12.7), slot)
    assert flat_in(dxf.write(flat, tmp_path / "p.dxf")) == flat
    assert flat.area == pytest.approx(5000 - math.pi * 12.7 ** 2 / 4 - 200 - math.pi * 25)


@pytest.mark.parametrize("flat, words", [
    (plate(Hole(50, 25, 10), Hole(50, 25, 10)), "is duplicated"),
    (plate(Hole(98, 25, 10)), "reaches over the edge"),
    (plate(Hole(40, 25, 10), Hole(48, 25, 10)), "runs into"),
    (plate(Hole(40, 25, 0.0)), "positive"),
    (Flat(Loop((Vertex(0, 0), Vertex(100, 50), Vertex(100, 0), Vertex(0, 50)))), "crosses itself"),
])
def test_what_is_not_fit_to_cut_is_refused_and_the_old_file_stays(flat, words, tmp_path):
    path = dxf.write(plate(), tmp_path / "p.dxf")
    before = path.read_bytes()
    with pytest.raises(SheetError, match=words) as caught:
        dxf.write(flat, path)
    assert "\n" not in str(caught.value) and path.read_bytes() == before


def test_foreign_content_is_found(tmp_path):
    path = dxf.write(plate(), tmp_path / "p.dxf")
    for change, words in ((lambda s: s.add_text("note", dxfattribs={"layer": "CUT_INNER"}), "unexpected TEXT"),
                          (lambda s: s.add_circle((5, 5), 1, dxfattribs={"layer": "ETCH_MARK"}), "unexpected CIRCLE"),
                          (lambda s: s.add_circle((5, 5), 1, dxfattribs={"layer": "0"}), "layer")):
        document = ezdxf.readfile(path)
        change(document.modelspace())
        document.saveas(tmp_path / "changed.dxf")
        with pytest.raises(SheetError, match=words):
            flat_in(tmp_path / "changed.dxf")


def test_without_ezdxf_one_sentence_and_the_pdf_stands(car, cut, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    written, = sheets.write_book(car[0].system, tmp_path, "side-view", lambda size: (side_view(car[0], size=size),), ("A4", "A3"))
    assert written.is_file()
    with pytest.raises(SheetError, match="ezdxf, which is not installed"):
        flat_patterns.write(cut[1], tmp_path, "in")
