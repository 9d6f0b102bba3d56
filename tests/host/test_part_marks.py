"""Marks of the demo's parts: equal ones share one, front and rear rail tabs are told apart although they look alike."""
from __future__ import annotations

import math

import cars
import FreeCAD as App
import Part
import pytest

from crankline.features import read
from crankline.features.part_kind import Supply
from crankline.features.registry import declaration
from crankline.geometry import congruence, faces, tube
from crankline.measure import part_marks

pytestmark = pytest.mark.one_host


@pytest.fixture(scope="module")
def demo():
    document = cars.document("full_bodied_automatic", "marked")
    shot = read.snapshot(read.only_layout(document))
    measurer = cars.measurer()
    measurer.sees(shot)
    yield shot, part_marks.of(shot, measurer)
    App.closeDocument(document.Name)


def test_every_part_of_the_kit_has_one_mark_and_nothing_else_has(demo):
    shot, marked = demo
    made = sorted(part.key for part in shot.parts if declaration(part.kind, part.key).supply is Supply.KIT)
    assert sorted(key for item in marked for key in item.keys) == made and len({item.mark for item in marked}) == len(marked)


def test_equal_parts_share_a_mark_and_look_alikes_are_named(demo):
    found = {item.mark: item for item in demo[1]}
    assert found["RT-1"].keys == ("rail_tab/left_front", "rail_tab/right_front") and found["RT-1"].look_alikes == ("RT-2",)
    assert found["RT-2"].keys == ("rail_tab/left_rear", "rail_tab/right_rear") and found["RT-2"].quantity == 2
    assert found["EM-1"].quantity == 4 and found["TT-1"].keys == ("tie_tab/left", "tie_tab/right")
    # A foot's bracket is bent to one side.
    assert found["PF-1L"].keys == ("plate_foot/left",) and found["PF-1R"].keys == ("plate_foot/right",)


def copes(turn: float):
    """A tube between two headers that are turned against each other, built by the program."""
    headers = [tube.Header((x, 0.0, 0.0), (0.0, math.cos(at), math.sin(at)), 41.3) for x, at in ((0.0, 0.0), (400.0, turn))]
    return tube.build(tube.Spec((0.0, 0.0, 0.0), (400.0, 0.0, 0.0), 31.75, 2.1, tuple(headers)))


def test_the_seam_of_a_coped_tube_plays_no_part():
    one = copes(0.0)
    turned = tube.straight(App.Vector(0, 0, 0), App.Vector(400, 0, 0), 31.75, 2.1)
    turned.rotate(App.Vector(0, 0, 0), App.Vector(1, 0, 0), 37.0)
    for x in (0.0, 400.0):
        turned = turned.cut(Part.makeCylinder(41.3 / 2.0, 200.0, App.Vector(x, -100.0, 0.0), App.Vector(0, 1, 0)))
    assert congruence.congruent(faces.body(one), faces.body(turned.Solids[0]))


def test_clocked_copes_are_told_from_their_mirror_image():
    left, right = faces.body(copes(0.6)), faces.body(copes(-0.6))
    assert not congruence.congruent(left, right) and congruence.congruent(left.mirrored(), right)


def test_area_and_centroid_of_a_trimmed_cylinder_against_a_mesh():
    face = max((face for face in copes(0.6).Faces if isinstance(face.Surface, Part.Cylinder)), key=lambda face: face.Area)
    points, triangles = face.tessellate(0.0005)
    area, moment = 0.0, App.Vector()
    for a, b, c in triangles:
        size = (points[b] - points[a]).cross(points[c] - points[a]).Length / 2.0
        area, moment = area + size, moment + (points[a] + points[b] + points[c]) * (size / 3.0)
    found = max(faces.body(copes(0.6)).faces, key=lambda item: item.area)
    assert found.area == pytest.approx(area, rel=2e-4)
    assert tuple(found.centroid) == pytest.approx(tuple(moment / area), abs=0.02)
