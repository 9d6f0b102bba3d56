"""General drawings against the model: every mark is there, numbers are the report's, a hole that moves changes its own dimensions."""
from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace

import cars
import FreeCAD as App
import numpy as np
import pytest

from crankline.checks.finding import Finding, State
from crankline.features import made_from, read
from crankline.measure import part_marks
from crankline.reports import numbers
from crankline.rules.rule import Severity
from crankline.sheets import cover, facets, general_drawings, places, safety_messages, view_block
from crankline.sheets.drawing import Line, SheetError, Text, collisions
from crankline.sheets.side_view import identification
from crankline.units import read_in

pytestmark = pytest.mark.one_host


@pytest.fixture(scope="module")
def demo():
    """Snapshot, marks and pieces of the demo whose crank is beside the center plane."""
    document = cars.document(cars.CLUTCH, "general")
    layout = read.only_layout(document)
    shot, measurer = read.snapshot(layout), cars.measurer()
    measurer.sees(shot)
    yield shot, part_marks.of(shot, measurer), made_from.pieces(layout)
    App.closeDocument(document.Name)


@pytest.fixture(scope="module")
def pages(demo):
    with read_in("in"):
        return general_drawings.sheets(*demo, "B")


def texts(pages):
    return [text for page in pages for text in page.texts()]


def test_every_mark_and_every_section_is_there_and_nothing_overlaps(demo, pages):
    shot, marked, _pieces = demo
    found = set(texts(pages))
    assert {one.mark for one in marked} <= found
    loops = [part.key for part in shot.parts if part.key.startswith("loop/")]
    captions = [text for text in found if "seen from the front" in text]
    assert len(captions) == len(loops) + 3      # front plate, mid plate, enclosure
    assert all(collisions(page) == [] for page in pages)
    block = [item for page in pages for item in page.items if isinstance(item, Text) and item.y > 60.0]
    assert min(item.height for item in block) >= 2.5


def test_numbers_are_those_of_the_report(demo, pages):
    shot, _marked, _pieces = demo
    told, found = numbers.of(shot)[0], texts(pages)
    points, placed = told["points"], told["placement"]
    values = *points["front_joint"], points["rear_joint"][2], placed["crank_height_front_mm"], placed["lateral_mm"]
    for value in values:
        assert any(view_block.value_text(value, "in") in text for text in found), value


def test_a_bolt_that_moves_changes_its_own_dimensions(demo):
    shot, _marked, pieces = demo
    keys = ["mid_plate", "rail_tab/left_front"]
    tab, *rest = pieces[keys[1]]
    first, *others = tab.flat.inner
    moved = replace(tab, flat=replace(tab.flat, inner=(replace(first, y=first.y + 1.0, z=first.z - 2.0), *others)))
    before, after = (places.of_plate(shot, given, keys) for given in (pieces, {**pieces, keys[1]: (moved, *rest)}))
    for old, new, step in zip(before, after, (1.0, -2.0)):
        changed = {one.value for one in new} - {one.value for one in old}
        assert len(changed) == 1
        assert min(abs(value - one.value - step) for value in changed for one in old) < 1e-6


def test_places_are_points_of_the_model(demo):
    """A place is on what it names: its coordinate is that of its point."""
    shot, _marked, _pieces = demo
    assert all(one.value == pytest.approx(one.point[0]) for one in places.stations(shot))
    assert all(one.value == pytest.approx(one.point[2]) for one in places.heights(shot))
    assert all(one.value == pytest.approx(one.point[1]) for one in places.across(shot))
    loop = next(one for one in places.across(shot) if one.key == "loop/front")
    box = shot.part("loop/front").shape.BoundBox
    assert box.YMin < loop.value < box.YMax
    edges = {one.name: one.value for one in places.single(places.across(shot)) if one.name.endswith(" edge")}
    aside = shot.placed.placement.lateral      # the panel is laid out from the crank
    low_y, _low_z, high_y, _high_z = demo[2]["firewall"][0].flat.bounds
    assert (edges["Firewall, right edge"], edges["Firewall, left edge"]) == pytest.approx((low_y + aside, high_y + aside),
                                                                                             abs=1e-6)
    wide = edges["Tunnel, left edge"] - edges["Tunnel, right edge"]
    spec_radius, thickness = demo[2]["tunnel"][0].bend_radius, demo[2]["tunnel"][0].thickness
    # A tunnel along a crank beside the center plane runs aside by no more than that.
    assert -1e-6 < wide - 2.0 * (spec_radius + thickness) <= abs(aside) + 1e-6 and "Enclosure mount, left edge" in edges


def test_a_mesh_is_within_its_deflection_and_has_the_area_of_the_shape(demo):
    """Faces are planar or of circles here, and triangles inscribed."""
    shape = demo[0].part("mid_plate").shape
    body = facets.of(shape)
    corners = body.points[body.triangles]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2.0
    assert area == pytest.approx(shape.Area, rel=2e-3)


def test_the_cover_tells_the_package_without_the_shop_s_numbers(demo):
    shot, marked, _pieces = demo
    finding = Finding("1", "r", "s", "Front joint angle", Severity.WARNING, State.OPEN, {}, ("driveshaft",), measured=3.256,
                      comparison="<=", limit=3.0, unit="deg")
    others = [replace(finding, title="Small thing", severity=Severity.ADVICE), replace(finding, title="Good thing", state=State.PASSED),
              replace(finding, title="Dark thing", state=State.NOT_EVALUATED)]
    books = [cover.Book("side-view", "Side view", 1), cover.Book("general-drawings", "General drawings", 6)]
    with read_in("in"):
        pages = cover.sheets(shot, books, [finding, *others], [SimpleNamespace(title="Invented book", edition="1999")], marked)
    found = texts(pages)
    assert shot.car.car.name in pages[0].texts() and len([item for item in pages[0].items if isinstance(item, Line)]) > 100
    assert {"Side view", "General drawings", "G1 to G6", "Invented book", "1999", "DANGER", "WARNING", identification(shot)} <= set(found)
    assert any(text.startswith("Front joint angle") for text in found) and not any("3.26" in text or "Good thing" in text for text in found)
    assert any(text.startswith("1 not evaluated") for text in found) and "1 in the list of findings" in found
    # Marks that are easily mistaken are warned of only where there are any.
    alone = cover.messages(shot, [replace(one, look_alikes=()) for one in marked])
    assert safety_messages.MARKS not in alone and safety_messages.MARKS in cover.messages(shot, marked)


def test_what_cannot_be_drawn_is_one_sentence(demo):
    shot, marked, pieces = demo
    with pytest.raises(SheetError, match="no placed powertrain"):
        general_drawings.sheets(replace(shot, scene=None), marked, pieces)
    with read_in("in"), pytest.raises(SheetError, match=re.compile(r"^[^\n]*use a (larger sheet|sheet larger than A4)$")):
        general_drawings.sheets(shot, marked, pieces, "A4")
