"""Bounds are bounds: what is proven without the host's distance or intersection, against these, on parts of the demo cars.

``--solids N`` takes 10 N pairs and N whole cars of each demo.
"""
from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.checks import evaluate
from crankline.features import read
from crankline.measure import (
    body,
    curve_points,
    distance,
    overlap,
    proof,
    relations,
    ruled_face,
    skin,
    triangle_distance,
    tube_edges,
    tube_piece,
)
from crankline.measure.host_measurer import HostMeasurer
from crankline.measure.kept import Kept
from crankline.rules import rule_sets

INCH = 25.4
DEMOS = ("full_bodied_automatic", "open_clutch")
DEPTHS = (0.0, 0.05, 0.1, 0.5)


def shifted(part, rng):
    """A body put a little out of place and turned a little, most often by so little that it just meets or misses what it is fitted to."""
    shape = part.shape.copy()
    size = rng.choice((0.0, 0.05, 0.3, 1.0, 5.0, 20.0))
    turn = App.Rotation(App.Vector(*(rng.uniform(-1, 1) for _ in range(3))), rng.choice((0.0, 0.0, 0.1, 3.0)))
    move = App.Placement(App.Vector(*(rng.uniform(-size, size) for _ in range(3))), turn, shape.BoundBox.Center)
    shape.Placement = move.multiply(shape.Placement)
    return replace(part, shape=shape)


@pytest.mark.parametrize("name", cars.EACH)
def test_no_bound_says_more_than_the_host(name, solids, seed):
    rng = random.Random(f"bounds {name} {seed(1)}")
    document = cars.document(name, f"bounds_{name}")
    try:
        now = read.snapshot(read.only_layout(document))
        bodies = [body.Body(part.key, part.shape, body.mark_of(part, now)) for part in now.parts
                  if not relations.declaration(part).reference]
        pairs = distance.near_pairs(bodies, 25.0, Kept())
        kept, exact, proven = Kept(), Kept(exact=True), 0
        for _ in range(10 * solids(2)):
            a, b = rng.choice(pairs)
            b = shifted(b, rng)
            where = f"{a.key}, {b.key}, {b.shape.Placement}"
            told, allowed = distance.between(a, b, exact), rng.choice(DEPTHS)
            found = overlap.deeper_than(a, b, allowed, kept)
            assert (found is not None) is bool(told.depth > allowed), where
            if found is not None:
                assert (found.kind, found.basis) == (told.kind, told.basis), where
                assert found.depth == pytest.approx(told.depth, abs=1e-6), where
            for limit in (0.0, 1.0, 0.98 * max(told.distance, 0.0), 1.02 * max(told.distance, 0.0)):
                if proof.keep_apart(a, b, limit, kept):
                    proven += 1
                    assert told.distance > limit or told.kind == distance.INSIDE, where
        assert proven > 0
    finally:
        App.closeDocument(document.Name)


def test_what_keeps_out_of_a_rail_does_so_wherever_along_it():
    """A tab is moved along its rail, past its end, and into it: what was proven at another place says no more than the host."""
    document = cars.document("full_bodied_automatic", "along")
    try:
        now = read.snapshot(read.only_layout(document))
        rail, tab = (body.Body(part.key, part.shape, body.mark_of(part, now))
                     for part in map(now.part, ("rail/left", "rail_tab/left_front")))
        kept = Kept()
        for along, down in ((0.0, 0.0), (-60.0, 0.0), (40.0, 0.0), (5000.0, 0.0), (-60.0, 2.0), (40.0, 2.0)):
            shape = tab.shape.copy()
            shape.Placement = App.Placement(App.Vector(along, 0.0, -down), App.Rotation()).multiply(shape.Placement)
            moved = replace(tab, shape=shape)
            found = overlap.deeper_than(rail, moved, 0.5, kept)
            assert (found is not None) is (down > 0.5) is (distance.between(rail, moved, Kept(exact=True)).depth > 0.5), (along, down)
        proven = [key for key in kept._pairs if key[0][0] == "keeps out" and key[1][0] == rail.mark]
        assert [len(kept._pairs[key]) for key in proven] == [2], "one place along the rail stands for all"
    finally:
        App.closeDocument(document.Name)


def test_triangles_of_ruled_faces_stand_off_no_farther_than_told():
    def arc(x, radius, lean):
        ends = [App.Vector(x + lean * y, y, (radius ** 2 - y ** 2) ** 0.5) for y in (-15.0, 2.0, 15.0)]
        edges = [Part.Arc(*ends).toShape(), Part.makeLine(ends[2], App.Vector(x, 10, 0)), Part.makeLine(App.Vector(x, 10, 0), ends[0])]
        return Part.Wire(edges)

    shape = Part.makeLoft([arc(0.0, 20.0, 0.0), arc(60.0, 35.0, 0.4)], True, True).Solids[0]
    found, cut = skin.of(shape), 0
    for number, face in enumerate(shape.Faces):
        cut += ruled_face.triangles(face, face.Surface, skin.DEFLECTION) is not None
        triangles = found.corners[found.of_face(number)]
        first, last, low, high = face.ParameterRange
        for u, v in itertools.product(np.linspace(first, last, 9), np.linspace(low, high, 7)):
            point = face.valueAt(u, v)
            if face.isInside(point, 1e-6, True):
                corner = np.array([[tuple(point)] * 3])
                away = triangle_distance.distances(np.repeat(corner, len(triangles), axis=0), triangles).min()
                assert away <= found.slack[number] + 1e-7, (number, u, v)
    assert cut >= 3
    assert sum(face.Area for face in shape.Faces) == pytest.approx(
        0.5 * np.linalg.norm(np.cross(found.corners[:, 1] - found.corners[:, 0], found.corners[:, 2] - found.corners[:, 0]), axis=1).sum(),
        rel=0.02)


@pytest.mark.parametrize("into", (0.0, 1.0))
def test_what_lies_past_the_end_of_a_tube_keeps_out_of_it(into):
    """A cup around the end of a tube, its bottom at the tube's end and then in it."""
    origin, along = App.Vector(), App.Vector(1, 0, 0)
    tube = Part.makeCylinder(20.0, 100.0, origin, along).cut(Part.makeCylinder(17.0, 100.0, origin, along))
    cup = Part.makeCylinder(30.0, 50.0, App.Vector(80, 0, 0), along).cut(Part.makeCylinder(20.0, 20.0, App.Vector(80, 0, 0), along))
    cup.Placement = App.Placement(App.Vector(-into, 0, 0), App.Rotation()).multiply(cup.Placement)
    kept = Kept()
    found = overlap.deeper_than(body.Body("tube", tube, "tube"), body.Body("cup", cup, "cup"), 0.5, kept)
    assert (found is not None) is bool(into)
    assert bool(kept.booleans) is bool(into), "one is proven, the other is measured"


@pytest.mark.parametrize("into", (0.0, 0.3))
def test_what_is_seated_in_the_bore_of_a_tube_keeps_out_of_its_wall(into):
    """A shoe that fills part of the bore and stands clear of the outside, then pushed into the wall: its corners lie on the bore."""
    origin, along = App.Vector(), App.Vector(1, 0, 0)
    tube = Part.makeCylinder(90.0, 400.0, origin, along).cut(Part.makeCylinder(86.0, 400.0, origin, along))
    shoe = Part.makeCylinder(86.0, 20.0, App.Vector(100, 0, 0), along).common(Part.makeBox(20.0, 60.0, 20.0, App.Vector(100, -30, 75)))
    shoe.Placement = App.Placement(App.Vector(0, 0, into), App.Rotation())
    kept = Kept()
    bodies = body.Body("shoe", shoe, "shoe"), body.Body("tube", tube, "tube")
    found = overlap.deeper_than(*bodies, 0.1, kept)
    assert (found is not None) is bool(into)
    assert bool(kept.booleans) is bool(into), "one is proven, the other is measured"
    kept = Kept()
    assert distance.air(*bodies, kept).distance == 0.0
    assert into or kept.distances == 0, "its corners tell"


def test_edges_keep_off_a_center_line_no_farther_than_their_points_do(seed):
    """Lines, circles, arcs, ellipses, splines at random about a straight tube and a bend: what is proven is true, and all that keeps clear
    by little is proven."""
    rng = random.Random(f"edges {seed(1)}")

    def vector(size):
        return App.Vector(*(rng.uniform(-size, size) for _ in range(3)))

    axis = App.Vector(1, 2, 2) / 3.0
    bars = [tube_piece.Piece(np.zeros(3), np.array(tuple(axis)), 20.0, bend, 0) for bend in (0.0, 120.0)]
    proven = 0
    for _ in range(15):
        circle = Part.Circle(vector(150), rng.choice((vector(1), axis)), rng.uniform(5, 60))
        ellipse = Part.Ellipse(vector(150), rng.uniform(30, 60), rng.uniform(5, 30))
        spline = Part.BezierCurve()
        spline.setPoles([vector(120) for _ in range(4)])
        for edge in (Part.makeLine(vector(150), vector(150)), circle.toShape(), circle.toShape(0.3, 2.0), ellipse.toShape(),
                     ellipse.toShape(1.0, 2.5), spline.toShape()):
            first, last = edge.ParameterRange
            points = np.array([tuple(edge.valueAt(at)) for at in np.linspace(first, last, 2001).tolist()])
            for bar in bars:
                distance = float(bar.distance(points).min())
                for wanted in (distance + 1e-5, distance + 5.0):
                    assert not tube_edges.keep_off([edge], np.eye(4), bar, wanted), (edge.Curve, bar, distance)
                if distance > 1.0:
                    proven += 1
                    assert tube_edges.keep_off([edge], np.eye(4), bar, distance - (0.5 if bar.bend else 0.1)), (edge.Curve, bar, distance)
    assert proven > 100


def test_an_edge_is_looked_at_more_closely_where_it_may_come_no_nearer(monkeypatch):
    """The rim of a round bar cut at a slant, an ellipse all of which is one radius from the bar's center line: its chords are not."""
    radius, wanted, slant = 19.05, 19.0, App.Rotation(App.Vector(0, 1, 0), 75.0)
    rim = Part.Ellipse(App.Vector(), radius / math.cos(math.radians(75.0)), radius).toShape()
    rim.Placement = App.Placement(App.Vector(), slant)
    bar = tube_piece.Piece(np.zeros(3), np.array([0.0, 0.0, 1.0]), radius, 0.0, 0)
    assert tube_edges.keep_off([rim], np.eye(4), bar, wanted) and not tube_edges.keep_off([rim], np.eye(4), bar, radius + 1e-6)
    monkeypatch.setattr(curve_points, "MORE", curve_points.POINTS)
    assert not tube_edges.keep_off([rim], np.eye(4), bar, wanted)


@pytest.mark.parametrize("name", cars.EACH)
def test_no_finding_differs_from_the_exact_run(name, solids, seed):
    chosen = rule_sets.select(["clearance"]).rules
    rng = random.Random(f"findings {name} {seed(1)}")
    document, kept = cars.document(name, f"findings_{name}"), Kept()
    try:
        layout = read.only_layout(document)
        for number in range(solids(1)):
            layout.AxleToBlock, layout.CrankHeight = rng.uniform(80, 86) * INCH, rng.uniform(9.2, 11.0) * INCH
            layout.Pitch = rng.uniform(0.5, 3.0)
            document.recompute()
            now = read.snapshot(layout)
            bound, exact = (evaluate.evaluate(chosen, now, HostMeasurer(store)) for store in (kept, Kept(exact=True)))
            where = f"{name} {number}: {layout.AxleToBlock}, {layout.CrankHeight}, {layout.Pitch}"
            assert [(one.id, one.state, one.subjects) for one in bound] == [(one.id, one.state, one.subjects) for one in exact], where
            for one, other in zip(bound, exact):
                assert (one.measured, one.margin) == (pytest.approx(other.measured, abs=1e-6), pytest.approx(other.margin, abs=1e-6)), where
    finally:
        App.closeDocument(document.Name)


def test_reading_a_box_leaves_the_shape_where_it_stands():
    """What is set on a placement that a shape hands out moves the shape."""
    shape = Part.makeBox(10.0, 20.0, 30.0)
    shape.Placement = App.Placement(App.Vector(100.0, 0.0, 5.0), App.Rotation(App.Vector(0, 0, 1), 30.0))
    before = str(shape.Placement)
    found = body.tight_box(body.Body("box", shape, "box 1"), Kept())
    assert str(shape.Placement) == before
    wanted = shape.optimalBoundingBox(False)
    assert found == pytest.approx([wanted.XMin, wanted.YMin, wanted.ZMin, wanted.XMax, wanted.YMax, wanted.ZMax], abs=1e-9)
