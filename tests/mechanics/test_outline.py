"""Flat shapes: measures against closed forms, ezdxf's arc arithmetic, SciPy's hull and dense sampling; refusals."""
import math

import bare_python
import numpy as np
import pytest
from closed_forms import least_wall
from ezdxf.math import Vec2, bulge_center, bulge_radius
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from crankline.geometry.outline import Circle, Flat, Loop, Vertex, boss, convex_hull, polygon, rounded

RECTANGLE = [(-50.0, -20.0), (50.0, -20.0), (50.0, 30.0), (-50.0, 30.0)]


def shoelace(points):
    y, z = points.T
    return float(np.sum(y * np.roll(z, -1) - np.roll(y, -1) * z) / 2.0)


def dense(loop, pieces=4000):
    return np.array([s.at(i / pieces) for s in loop.segments for i in range(pieces)])


def test_rounded_rectangle_closed_form():
    r = 7.0
    loop = rounded(RECTANGLE, r)
    assert loop.area == pytest.approx(100 * 50 - (4 - math.pi) * r * r, rel=1e-14)
    assert loop.perimeter == pytest.approx(2 * (100 + 50) - (8 - 2 * math.pi) * r, rel=1e-14)
    assert loop.centroid == pytest.approx((0.0, 5.0), abs=1e-12)
    assert loop.bounds == pytest.approx((-50, -20, 50, 30), abs=1e-12)
    assert len(loop.vertices) == 8


def test_circle_of_two_arcs_is_a_circle():
    loop = Loop((Vertex(-3.0, 1.0, 1.0), Vertex(7.0, 1.0, 1.0)))
    assert loop.signed_area == pytest.approx(math.pi * 25)
    assert loop.perimeter == pytest.approx(2 * math.pi * 5)
    assert loop.centroid == pytest.approx((2.0, 1.0))
    assert loop.bounds == pytest.approx((-3, -4, 7, 6))


def test_half_disc_centroid_is_four_thirds_of_r_over_pi():
    loop = Loop((Vertex(3.0, 0.0, 1.0), Vertex(-3.0, 0.0)))
    assert loop.centroid == pytest.approx((0.0, 4 * 3.0 / (3 * math.pi)))
    concave = Loop((Vertex(-10.0, 0.0, 0.0), Vertex(-3.0, 0.0, -1.0), Vertex(3.0, 0.0), Vertex(10.0, 0.0), Vertex(10.0, 20.0),
                    Vertex(-10.0, 20.0)))
    half = math.pi * 9 / 2
    assert concave.area == pytest.approx(400 - half)
    assert concave.centroid[1] == pytest.approx((400 * 10 - half * 4 / math.pi) / (400 - half))


@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(1, 60), st.floats(-3.1, 3.1), st.floats(0.02, 3.0), st.booleans())
@settings(max_examples=60, deadline=None)
def test_arcs_are_those_of_dxf(y, z, length, heading, bulge, clockwise):
    bulge = -bulge if clockwise else bulge
    a, b = Vertex(y, z, bulge), Vertex(y + length * math.cos(heading), z + length * math.sin(heading))
    arc = Loop((a, b)).segments[0]
    center = bulge_center(Vec2(a.y, a.z), Vec2(b.y, b.z), bulge)
    assert (arc.yc, arc.zc) == pytest.approx((center.x, center.y), abs=1e-7)
    assert arc.radius == pytest.approx(bulge_radius(Vec2(a.y, a.z), Vec2(b.y, b.z), bulge), rel=1e-9)
    assert arc.at(1.0) == pytest.approx((b.y, b.z), abs=1e-7)


@given(st.lists(st.tuples(st.floats(40, 100), st.floats(0.7, 1.3)), min_size=5, max_size=9), st.floats(0.5, 6.0))
@settings(max_examples=40, deadline=None)
def test_measures_against_dense_sampling(rays, radius):
    n = len(rays)
    points = [(d * math.cos(2 * math.pi * (i + 0.3 * (f - 1)) / n), d * math.sin(2 * math.pi * (i + 0.3 * (f - 1)) / n))
              for i, (d, f) in enumerate(rays)]
    loop = rounded(points, radius, shrink=True)
    sampled = dense(loop, 400)
    assert loop.signed_area == pytest.approx(shoelace(sampled), rel=1e-5)
    assert loop.perimeter == pytest.approx(np.linalg.norm(np.roll(sampled, -1, 0) - sampled, axis=1).sum(), rel=1e-5)
    closed = np.vstack([sampled, sampled[:1]])
    cross = closed[:-1, 0] * closed[1:, 1] - closed[1:, 0] * closed[:-1, 1]
    center = ((closed[:-1] + closed[1:]) * cross[:, None]).sum(0) / (6 * cross.sum() / 2)
    assert loop.centroid == pytest.approx(tuple(center), abs=1e-2)
    assert loop.bounds == pytest.approx((*sampled.min(0), *sampled.max(0)), abs=0.05)
    for y, z in ((0.0, 0.0), (35.0, 20.0), (200.0, -10.0)):
        assert loop.distance(y, z) == pytest.approx(np.linalg.norm(sampled - (y, z), axis=1).min(), abs=0.15)
        spins = np.unwrap(np.arctan2(closed[:, 1] - z, closed[:, 0] - y))
        assert loop.holds(y, z) == (abs(spins[-1] - spins[0]) > 3.0)


@given(st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=6, max_size=30, unique=True))
@settings(max_examples=60, deadline=None)
def test_convex_hull_is_scipys(points):
    array = np.array(points, dtype=float)
    if np.linalg.matrix_rank(array - array[0]) < 2:
        return
    assert polygon(convex_hull(points)).area == pytest.approx(ConvexHull(array).volume)


def test_boss_surrounds_its_circle():
    loop = polygon(boss(3.0, 4.0, 5.0))
    assert loop.distance(3.0, 4.0) == pytest.approx(5.0)
    assert loop.area == pytest.approx(8 * 25 * math.tan(math.pi / 8))


def test_flat_measures_mirror_and_shift():
    flat = Flat(rounded([(-10, -10), (30, -10), (30, 20), (-10, 15)], 3.0), (Circle(0, 0, 8), Circle(20, 5, 5), Circle(20, -5, 5)))
    flat = flat.checked("plate")
    assert flat.area == pytest.approx(flat.outer.area - math.pi / 4 * (64 + 25 + 25))
    assert flat.cut_length == pytest.approx(flat.outer.perimeter + math.pi * 18)
    other = flat.mirrored().translated(5.0, -7.0).checked("plate")
    assert other.area == pytest.approx(flat.area) and other.outer.signed_area > 0
    y, z = flat.centroid
    assert other.centroid == pytest.approx((5.0 - y, z - 7.0))
    assert [(c.y, c.z, c.diameter) for c in flat.holes] == [(20, 5, 5), (0, 0, 8), (20, -5, 5)]
    assert least_wall(flat, flat.inner[0]) == pytest.approx(10 - 4)
    assert least_wall(flat, flat.inner[1]) == pytest.approx(10 - 5)
    y0, z0, y1, z1 = flat.bounds
    assert flat.mirrored().bounds == pytest.approx((-y1, z0, -y0, z1))


def test_radius_that_does_not_fit_says_what_fits():
    with pytest.raises(ValueError,
                       match=r"^plates.mid.corner_radius: a radius of 2.000 in does not fit the corner .* at most 0.984 in fits there$"):
        rounded(RECTANGLE, 50.8, name="plates.mid.corner_radius")
    loop = rounded(RECTANGLE, 50.8, shrink=True)
    assert 0.99 * 25.0 < loop.segments[0].radius < 25.0
    one = rounded(RECTANGLE, [0.0, 0.0, 10.0, 0.0])
    assert one.area == pytest.approx(5000 - (1 - math.pi / 4) * 100)


@pytest.mark.parametrize("flat, words", [
    (Flat(polygon([(0, 0), (10, 10), (10, 0), (0, 12)])), "crosses itself"),
    (Flat(polygon(RECTANGLE), (Circle(48, 0, 10),)), "reaches over the edge"),
    (Flat(polygon(RECTANGLE), (Circle(80, 0, 10),)), "reaches over the edge"),
    (Flat(polygon(RECTANGLE), (Circle(0, 0, 10), Circle(8, 0, 8))), "runs into the hole"),
    (Flat(polygon(RECTANGLE), (Circle(0, 0, 20), Circle(1, 0, 4))), "runs into the hole"),
    (Flat(polygon(RECTANGLE), (polygon([(0, 0), (60, 0), (60, 5)]),)), "reaches over the edge"),
    (Flat(polygon(RECTANGLE), (polygon([(0, 0), (10, 0), (10, 5)]), Circle(5, 2, 1))), "runs into the hole"),
    (Flat(polygon(RECTANGLE).reversed()), "runs clockwise"),
    (Flat(Loop((Vertex(0, 0), Vertex(0, 0), Vertex(5, 0), Vertex(0, 5)))), "fall together"),
    (Flat(Loop((Vertex(0, 0), Vertex(math.nan, 0), Vertex(5, 0), Vertex(0, 5)))), "not a number"),
])
def test_refusals_are_one_sentence(flat, words):
    with pytest.raises(ValueError) as caught:
        flat.checked("plates.mid")
    text = str(caught.value)
    assert text.startswith("plates.mid: ") and words in text and ";" in text and "\n" not in text


def test_spikes_and_wrong_counts_are_refused():
    with pytest.raises(ValueError, match="turns back on itself"):
        rounded([(0, 0), (10, 0), (5, 0), (5, 5)], 0.5)
    with pytest.raises(ValueError, match="2 corners"):
        rounded([(0, 0), (0, 0), (5, 0)], 1.0)
    with pytest.raises(ValueError, match="one for each corner"):
        rounded(RECTANGLE, [1.0, 2.0])


def test_plate_drops_corners_that_fall_together():
    corners, radii = [(0, 0), (0, 0), (20, 0), (20, 20), (0, 20)], [1, 1, 1, 30, 1]
    flat = Flat(rounded(corners, radii, shrink=True), (Circle(5, 5, 2),)).checked("plate")
    assert flat.outer.signed_area > 0 and len(flat.holes) == 1


def test_flat_shapes_need_no_host():
    code = ("import sys; import crankline.geometry.outline, crankline.geometry.rail_clamp; "
            "assert not any(name in sys.modules for name in ('FreeCAD', 'Part'))")
    assert bare_python.refusal(code) == ""
