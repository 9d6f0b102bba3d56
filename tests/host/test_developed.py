"""What sheet and stock measure before they are bent, as parts and report tell it, against the solids and closed forms."""
from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import cars
import FreeCAD as App
import Part
import pytest
from conftest import ROOT

from crankline.features import base, read, repair
from crankline.geometry import cross_member, tunnel, tunnel_flat
from crankline.reports import json_report

INCH = 25.4
A, B = "full_bodied_automatic", "open_clutch"


@pytest.fixture(scope="module", params=cars.EACH)
def made(request):
    document = cars.document(request.param, "developed")
    layout = read.only_layout(document)
    yield request.param, layout, {obj.Key: obj for obj in read.members(layout)}
    App.closeDocument(document.Name)


def mesh_area(faces):
    """Area of the triangles of faces, mm2."""
    total = 0.0
    for face in faces:
        points, triangles = face.tessellate(0.005)
        total += sum((points[b] - points[a]).cross(points[c] - points[a]).Length / 2.0 for a, b, c in triangles)
    return total


def large_faces(shape, thickness):
    """Faces of a sheet's two sides: all but the edges, which are as wide as the sheet is thick."""
    return [face for face in shape.Faces if face.Area > 10.0 * thickness * max(edge.Length for edge in face.Edges)]


def test_tunnel_sheet_is_the_mean_of_its_two_sides(made):
    _name, _layout, parts = made
    tunnel = parts["tunnel"]
    thickness = float(tunnel.Thickness.Value)
    sides = large_faces(tunnel.Shape, thickness)
    assert len(sides) == 6
    assert tunnel.DevelopedAreaMm2 == pytest.approx(mesh_area(sides) / 2.0, rel=2e-5)
    assert tunnel.DevelopedAreaMm2 == pytest.approx(tunnel.Shape.Volume / thickness, rel=2e-3)


def mid_surface(spec):
    """The tunnel's sheet at mid thickness by the host: its section drawn along its slope, floor and openings cut off."""
    wide, deep = 2.0 * spec.radius + 200.0, abs(spec.front[1] - spec.rear[1]) + 25.0
    radius = spec.radius + spec.thickness / 2.0

    def at(y, z):
        return App.Vector(spec.x_rear, spec.rear[0] + y, spec.rear[1] + z)

    down = spec.floor - deep - spec.rear[1]
    section = Part.Wire([Part.makeLine(at(radius, down), at(radius, 0)), Part.Arc(at(radius, 0), at(0, radius), at(-radius, 0)).toShape(),
                         Part.makeLine(at(-radius, 0), at(-radius, down))])
    sheet = section.extrude(App.Vector(spec.length, spec.front[0] - spec.rear[0], spec.front[1] - spec.rear[1]))
    blocks = [Part.makeBox(2000, 2 * wide, 3 * deep, App.Vector(spec.x_rear - 25, -wide, spec.floor - 3 * deep))]
    blocks += [Part.makeBox(slot.x_front - slot.x_rear, wide, slot.high - slot.low,
                            App.Vector(slot.x_rear, slot.inner if slot.side > 0 else -slot.inner - wide, slot.low)) for slot in spec.slots]
    blocks += [Part.makeBox(notch.x_front - notch.x_rear, 2 * wide, notch.top - spec.floor + deep,
                            App.Vector(notch.x_rear, -wide, spec.floor - deep)) for notch in spec.notches]
    return sheet.cut(blocks)


def test_tunnel_laid_flat_is_its_sheet():
    """Openings inside, through an end, up from the floor, over each other, and past the beginning of the round top."""
    whole = tunnel.Spec(500.0, 1300.0, (0.0, 300.0), (30.0, 250.0), 150.0, 2.0, 130.0)
    x, high = whole.x_rear, 900.0
    for slots, notches, inner in (
            ((), (), 0), ((tunnel.Slot(x + 300, x + 380, 1, 40.0, 190.0, high),), (), 1),
            ((tunnel.Slot(x - 5, x + 60, -1, 60.0, 250.0, high),), (tunnel.Notch(x + 70, x + 90, 270.0),), 0),
            ((tunnel.Slot(x + 100, x + 200, 1, 20.0, 190.0, high), tunnel.Slot(x + 150, x + 260, -1, 30.0, 190.0, high)),
             (tunnel.Notch(x + 120, x + 170, 340.0), tunnel.Notch(x + 400, x + 450, 200.0)), 0)):
        spec = replace(whole, slots=slots, notches=notches)
        flat, solid = tunnel_flat.flat(spec).checked("tunnel"), tunnel.build(spec)
        assert flat.area == pytest.approx(mid_surface(spec).Area, rel=1e-9), "isometric: no stretch in it"
        assert flat.area * spec.thickness == pytest.approx(solid.Volume, rel=5e-3) and len(flat.inner) == inner
        lines = [math.dist(*line) for line in tunnel_flat.panel_lines(spec)]
        assert lines == pytest.approx([run for side in (1, -1) for run in tunnel.panel_runs(spec, side)], rel=1e-9)
    with pytest.raises(ValueError, match="nothing is left"):
        tunnel_flat.flat(replace(whole, notches=(tunnel.Notch(x - 1, x + 900, 500.0),)))


def test_panel_line_is_the_edge_between_round_top_and_side(made):
    _name, _layout, parts = made
    tunnel = parts["tunnel"]
    floor, edges = tunnel.Shape.BoundBox.ZMin, [edge for edge in tunnel.Shape.Edges if len(edge.Vertexes) == 2]
    along = [edge.Length for edge in edges if abs(edge.Vertexes[0].X - edge.Vertexes[1].X) > 100.0
             and min(vertex.Z for vertex in edge.Vertexes) > floor + 1.0]
    assert len(along) == 4 and along == pytest.approx(4 * [tunnel.PanelLine.Value], rel=1e-9)


def test_firewall_sheet_is_one_of_its_faces(made):
    _name, _layout, parts = made
    wall = parts["firewall"]
    largest = max(face.Area for face in wall.Shape.Faces)
    assert wall.DevelopedAreaMm2 == pytest.approx(largest, rel=1e-9)
    assert wall.DevelopedAreaMm2 == pytest.approx(wall.Shape.Volume / (0.032 * INCH), rel=1e-9)


def test_cross_member_is_straights_and_arcs(made):
    """Corner to corner, less two tangents and plus the arc at every bend."""
    name, layout, parts = made
    member = parts["cross_member"]
    spec = cross_member.spec(member.Proxy.read(member), layout.Proxy.scene(layout))
    corners, length = [App.Vector(*point) for point in spec.points], 0.0
    for a, b in pairwise(corners):
        length += (b - a).Length
    for a, b, c in zip(corners, corners[1:], corners[2:]):
        turn = (b - a).getAngle(c - b)
        length += spec.bend_radius * (turn - 2.0 * math.tan(turn / 2.0))
    assert (len(corners) > 2) == (name == A)
    assert member.DevelopedLength.Value == pytest.approx(length, rel=1e-9)
    area = math.pi * (spec.outer_diameter - spec.wall) * spec.wall
    assert member.DevelopedLength.Value == pytest.approx(member.Shape.Volume / area, rel=1e-6)


def test_tie_tabs_are_bent_from_this_much_bar(made):
    """Pappus: the bar's section keeps its area; what is missing is the bolt's hole."""
    _name, _layout, parts = made
    tabs = [obj for key, obj in parts.items() if key.startswith("tie_tab/")]
    assert len(tabs) == 2
    for tab in tabs:
        thickness, width = (float(getattr(tab.RailTabs, name).Value) for name in ("Thickness", "Width"))
        bore = next(face.Surface.Radius for face in tab.Shape.Faces
                    if face.Surface.TypeId == "Part::GeomCylinder" and abs(face.Surface.Axis.x) > 0.99)
        volume = tab.Shape.Volume + math.pi * bore ** 2 * thickness
        assert tab.DevelopedLength.Value == pytest.approx(volume / thickness / width, rel=1e-6)


def test_the_report_tells_it_of_the_parts_that_have_it(made):
    _name, layout, parts = made
    told = {part.key: json_report._part(part, None, {}) for part in read.snapshot(layout).parts}
    areas = {key: part["developed_area_mm2"] for key, part in told.items() if "developed_area_mm2" in part}
    lengths = {key: part["developed_length_mm"] for key, part in told.items() if "developed_length_mm" in part}
    assert areas == {key: parts[key].DevelopedAreaMm2 for key in ("tunnel", "firewall")}
    loops, tubes = ({key for key in parts if key.startswith(stem)} for stem in ("loop/", "tube/"))
    assert set(lengths) == {"cross_member", "tie_tab/left", "tie_tab/right", *loops, *tubes} and loops and tubes
    assert all(length == parts[key].DevelopedLength.Value > 0.0 for key, length in lengths.items())


def test_results_follow_an_edit_without_touching_anything_else():
    document = cars.document(A, "edited")
    try:
        layout = read.only_layout(document)
        parts = {obj.Key: obj for obj in read.members(layout)}
        before = parts["cross_member"].DevelopedLength.Value, parts["tunnel"].DevelopedAreaMm2
        parts["cross_member"].Offset = parts["cross_member"].Offset.Value - 10.0
        base.counts.clear()
        document.recompute()
        # The bow goes 10 mm deeper: it gets longer by less than twice that.
        assert 0.0 < parts["cross_member"].DevelopedLength.Value - before[0] < 20.0 and parts["tunnel"].DevelopedAreaMm2 == before[1]
        assert base.counts["builds tunnel"] == 0 and read.snapshot(layout).unsound == ()
    finally:
        App.closeDocument(document.Name)


@pytest.mark.parametrize("schema", ("1", "2"))
def test_documents_that_know_nothing_of_it_get_it_by_being_opened(schema):
    document = App.openDocument(str(ROOT / "tests" / "documents" / schema / f"{A}.FCStd"), True)
    try:
        layout = read.only_layout(document)
        parts = {obj.Key: obj for obj in read.members(layout)}
        wanted = [("tunnel", "DevelopedAreaMm2"), ("tunnel", "PanelLine"), ("cross_member", "DevelopedLength"),
                  ("tie_tab/left", "DevelopedLength"), ("layout", "SwingArm")]
        # A document of schema 1 has no firewall yet.
        for key, name in wanted + [("firewall", "DevelopedAreaMm2")] * (schema != "1"):
            value = getattr(parts[key], name)
            assert float(getattr(value, "Value", value)) > 0.0, (key, name)
            assert {"ReadOnly", "Output"} <= set(parts[key].getPropertyStatus(name)), (key, name)
        # A shape of an older builder is built again where the host executes its object (1.1 does, 0.20 leaves it to Repair Document).
        stale = {note.key for note in read.snapshot(layout).unsound if note.kind == "stale"}
        base.counts.clear()
        document.recompute()
        assert {name.partition(" ")[2] for name in base.counts if name.startswith("builds ")} <= stale
        assert {note.kind for note in read.snapshot(layout).unsound} <= {"missing", "stale", "undrawn", "catalogue"}
        assert repair.lifeless(document) == []
    finally:
        App.closeDocument(document.Name)
