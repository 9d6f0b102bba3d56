"""Views of several bodies: hidden stretches against a look at every point, solids whose picture is known, cut faces by their area."""
from __future__ import annotations

import math

import numpy as np
import pytest

from crankline.sheets import facets, hidden_lines, traced, view
from crankline.sheets.drawing import Arc, Circle, Line

BOX = np.array([[0, 3, 2, 1], [4, 5, 6, 7], [0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7]])


def box(x0, y0, z0, x1, y1, z1):
    """A box as facets, its faces counterclockwise seen from outside."""
    points = np.array([(x, y, z) for z in (z0, z1) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))], float)
    triangles = np.array([half for a, b, c, d in BOX for half in ((a, b, c), (a, c, d))])
    return facets.by_face(points, triangles, [(2 * i, 2 * i + 1) for i in range(6)])


def drum(radius, x0, x1, count=24):
    """A drum along X: side, two ends; no corner is on the outline in side view."""
    turn = np.linspace(0.0, math.tau, count, endpoint=False) + math.pi / count
    ring = np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
    points = np.concatenate([np.column_stack([np.full(count, x), ring]) for x in (x0, x1)] + [[(x0, 0.0, 0.0), (x1, 0.0, 0.0)]])
    on = [(i, (i + 1) % count) for i in range(count)]
    side = [half for i, j in on for half in ((i, j, count + j), (i, count + j, count + i))]
    ends = [(j, i, 2 * count) for i, j in on], [(count + i, count + j, 2 * count + 1) for i, j in on]
    triangles = np.array([*side, *ends[0], *ends[1]])
    return facets.by_face(points, triangles, np.split(np.arange(len(triangles)), (2 * count, 3 * count)))


def length(items):
    """Length of the lines, arcs and circles among items."""
    straight = sum(math.hypot(i.x1 - i.x0, i.y1 - i.y0) for i in items if isinstance(i, Line))
    return straight + sum(i.radius * (math.tau if isinstance(i, Circle) else abs(i.sweep)) for i in items if isinstance(i, Arc | Circle))


def test_hidden_stretches_are_those_of_a_look_at_every_point():
    draw = np.random.default_rng(7)
    triangles = draw.uniform(-50.0, 50.0, (60, 1, 3)) + draw.uniform(-15.0, 15.0, (60, 3, 3))
    starts, ends = draw.uniform(-60.0, 60.0, (40, 3)), draw.uniform(-60.0, 60.0, (40, 3))
    line, begin, end = hidden_lines.visible(starts, ends, triangles, 0.5)
    shares = (np.arange(400) + 0.5) / 400
    points = starts[:, None] + shares[:, None] * (ends - starts)[:, None]
    said = np.zeros((40, 400), bool)
    for number, first, last in zip(line, begin, end):
        said[number] |= (shares > first) & (shares < last)
    seen = np.ones((40, 400), bool)
    for a, b, c in triangles:
        normal = np.cross(b - a, c - a)
        normal *= np.sign(normal[2]) / np.linalg.norm(normal)
        # Barycentric shares of every point in the picture.
        share = np.linalg.solve(np.array([b - a, c - a])[:, :2].T, (points - a)[..., :2].reshape(-1, 2).T)
        within = (share[0] > 0.0) & (share[1] > 0.0) & (share.sum(axis=0) < 1.0)
        seen &= ~(within & ((points - a).reshape(-1, 3) @ normal < -0.5)).reshape(40, 400)
    assert 0.2 < seen.mean() < 0.95 and (seen == said).mean() > 0.999


def test_nothing_hides_nothing():
    line, begin, end = hidden_lines.visible(np.zeros((2, 3)), np.ones((2, 3)), np.zeros((0, 3, 3)), 1.0)
    assert (line.tolist(), begin.tolist(), end.tolist()) == ([0, 1], [0.0, 0.0], [1.0, 1.0])


def test_third_angle():
    """A point in front, left and above is right, right and up in the views from the right side, from the front and from above."""
    point = (3.0, 2.0, 1.0)
    assert view.SIDE.at(point) == (3.0, 1.0) and view.PLAN.at(point) == (3.0, 2.0) and view.FRONT.at(point) == (2.0, 1.0)
    assert view.LEFT_SIDE.at(point) == (-3.0, 1.0) and view.REAR.at(point) == (-2.0, 1.0)
    assert view.ISOMETRIC.axes @ view.ISOMETRIC.axes.T == pytest.approx(np.eye(3), abs=1e-12)
    # ISO 5456-3: in an isometric view all three axes are shortened by sqrt(2/3).
    assert np.linalg.norm(view.ISOMETRIC.axes[:2], axis=0) == pytest.approx([math.sqrt(2.0 / 3.0)] * 3)
    with pytest.raises(ValueError, match="up and the direction of view are the same"):
        view.looking((0.0, 0.0, 1.0))


def test_a_box_hides_its_own_far_side_and_what_is_behind_it():
    near, far = box(0, -100, 0, 100, -50, 100), box(20, 0, 20, 150, 50, 80)
    seen = view.of_facets({"near": near, "far": far}, view.SIDE, hidden=True)
    # Of the far one 50 of 130 mm is seen beside the near one: two long edges and the end; both far edges lie in the same lines.
    assert {(i.x0, i.y0, i.x1, i.y1) for i in seen["near"].visible} >= {(0.0, 0.0, 100.0, 0.0)}
    xs = [x for item in seen["far"].visible for x in (item.x0, item.x1)]
    assert min(xs) == pytest.approx(100.0, abs=0.01) and max(xs) == 150.0
    assert min(min(i.x0, i.x1) for i in seen["far"].hidden) == pytest.approx(20.0)
    alone = view.of_facets({"far": far, "near": near}, view.SIDE, clear=frozenset({"near"}))
    assert min(min(i.x0, i.x1) for i in alone["far"].visible) == pytest.approx(20.0)


def test_isometric_of_a_cube_is_a_hexagon_with_three_spokes():
    seen = view.of_facets({"cube": box(0, 0, 0, 60, 60, 60)}, view.ISOMETRIC)["cube"]
    assert len(seen.visible) == 9 and length(seen.visible) == pytest.approx(9 * 60 * math.sqrt(2.0 / 3.0))


def test_some_of_the_edges_are_seen_as_they_are_among_all():
    """Whether an edge is turned away from the eye is known by its own faces, also where edges before it were left out."""
    slab = box(0, 0, 0, 60, 10, 60)
    for frame in (view.ISOMETRIC, view.looking((-1.0, 1.0, 1.0)), view.looking((1.0, 1.0, -1.0))):
        among = [line for line in view.of_facets({"slab": slab}, frame)["slab"].visible if length([line]) > 40.0]
        alone = view.of_facets({"slab": slab.of_edges(np.ptp(chain, axis=0).max() > 40.0 for chain in slab.chains)}, frame)["slab"].visible
        assert len(among) == 6 and sorted(map(repr, alone)) == sorted(map(repr, among))


def test_a_drum_has_an_outline_and_round_ends():
    body = drum(40.0, 0.0, 200.0)
    side = view.of_facets({"drum": body}, view.SIDE)["drum"].visible
    level = [i for i in side if abs(i.y0 - i.y1) < 1e-6]
    inside = 40.0 * math.cos(math.pi / 24)      # the outline is on the mesh
    assert {round(i.y0, 6) for i in level} == {round(inside, 6), -round(inside, 6)} and length(level) == pytest.approx(400.0)
    front, = view.of_facets({"drum": body}, view.FRONT)["drum"].visible
    assert isinstance(front, Circle) and front.radius == pytest.approx(40.0)


def test_a_cut_takes_away_what_is_in_front_and_its_face_hides():
    pipe, rod = drum(40.0, 0.0, 200.0), box(-50, -5, -5, 20, 5, 5)
    seen = view.of_facets({"pipe": pipe, "rod": rod}, view.FRONT, cut=100.0)
    loop, = seen["pipe"].cut
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(loop, (*loop[1:], loop[0])))) / 2.0
    assert area == pytest.approx(24 / 2 * 40.0 ** 2 * math.sin(math.tau / 24))     # a regular polygon of 24 sides
    assert "rod" not in seen
    reached = view.of_facets({"pipe": pipe, "rod": rod}, view.FRONT, cut=250.0, reach=100.0)
    assert set(reached) == {"pipe"} and not reached["pipe"].cut


RING = [np.array([(0.0, 0.0), (90.0, 0.0), (90.0, 60.0), (0.0, 60.0)]), np.array([(20.0, 20.0), (20.0, 40.0), (50.0, 40.0), (50.0, 20.0)])]


def test_cut_faces_are_filled_and_hatched_but_for_their_holes():
    corners = traced.filled(RING)
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    assert np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2.0 == pytest.approx(90 * 60 - 30 * 20)
    lines = traced.hatching(RING, 0.5, math.pi / 4.0)
    assert sum(math.hypot(x1 - x0, y1 - y0) for x0, y0, x1, y1 in lines) * 0.5 == pytest.approx(90 * 60 - 30 * 20, rel=0.01)
    assert all((x1 - x0) == pytest.approx(y1 - y0) for x0, y0, x1, y1 in lines)
    assert not traced.hatching([], 1.0, 0.0) and not len(traced.filled([]))


def test_chains_are_told_as_what_they_are():
    turn = np.linspace(0.3, 2.1, 12)
    arc = np.column_stack([5.0 + 30.0 * np.cos(turn), 7.0 + 30.0 * np.sin(turn)])
    found, = traced.drawn(traced.circle_of(arc), [arc], "visible")
    assert (found.x, found.y, found.radius, found.start, found.sweep) == pytest.approx((5.0, 7.0, 30.0, 0.3, 1.8))
    to_and_fro = np.array([(0.0, 0.0), (10.0, 20.0), (-5.0, -10.0)])
    assert traced.drawn(traced.circle_of(to_and_fro), [to_and_fro], "thin") == [Line(-5.0, -10.0, 10.0, 20.0, "thin")]
    runs = traced.runs(np.array([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)]), [(0, 0.5, 1.0), (1, 0.0, 0.1), (1, 0.9, 1.0)])
    assert [len(run) for run in runs] == [3, 2]
