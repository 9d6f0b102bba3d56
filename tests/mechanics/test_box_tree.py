"""Distances of triangles against a grid of points on both, and trees of boxes against every triangle by every other."""
from __future__ import annotations

import numpy as np
import pytest

from crankline.measure import box_tree, triangle_distance

GRID = 24


def on_grid(triangle):
    """Points of a triangle, corners and edges included, no farther apart than its longest side over GRID."""
    u, v = np.meshgrid(np.arange(GRID + 1), np.arange(GRID + 1))
    inside = u + v <= GRID
    weights = np.stack([u[inside], v[inside], GRID - u[inside] - v[inside]], axis=-1) / GRID
    return weights @ triangle


def longest(triangle):
    return np.linalg.norm(triangle - np.roll(triangle, 1, axis=0), axis=1).max()


def test_triangles_are_as_far_apart_as_their_nearest_points():
    rng = np.random.default_rng(3)
    a, b = rng.uniform(-10, 10, (300, 3, 3)), rng.uniform(-10, 10, (300, 3, 3)) + rng.uniform(0, 12, (300, 1, 1))
    found = triangle_distance.distances(a, b)
    assert (found == 0.0).any() and (found > 5.0).any()
    for one, other, distance in zip(a, b, found):
        here, there = on_grid(one), on_grid(other)
        # Which two are the nearest by a product, how far apart they are by their difference, which loses no digits.
        squares = (here * here).sum(-1)[:, None] + (there * there).sum(-1) - 2.0 * (here @ there.T)
        i, j = np.unravel_index(np.argmin(squares), squares.shape)
        seen = np.linalg.norm(here[i] - there[j])
        assert distance <= seen + 1e-9
        assert seen - distance <= (longest(one) + longest(other)) / GRID


@pytest.mark.parametrize("other, distance", [
    (((0, 0, 5), (10, 0, 5), (0, 10, 5)), 5.0),          # parallel, over each other
    (((2, 2, -1), (2, 2, 1), (3, 3, 1)), 0.0),           # through the inside
    (((20, 0, 0), (30, 0, 0), (20, 10, 0)), 10.0),       # in one plane
    (((2, 2, 3), (2, 2, 9), (3, 3, 9)), 3.0),            # a corner over the inside
    (((5, -4, -5), (5, -4, 5), (5, -9, 0)), 4.0)])       # edges that cross
def test_triangles_in_plain_places(other, distance):
    own = np.array([[(0, 0, 0), (10, 0, 0), (0, 10, 0)]], dtype=float)
    assert triangle_distance.distances(own, np.array([other], dtype=float)) == pytest.approx([distance], abs=1e-9)


def test_triangles_from_a_line():
    rng = np.random.default_rng(5)
    triangles, axis = rng.uniform(-10, 10, (200, 3, 3)), np.array([1.0, 2.0, 2.0]) / 3.0
    found = triangle_distance.from_line(triangles, np.array([1.0, 0.0, -2.0]), axis)
    assert (found == 0.0).any()
    for triangle, distance in zip(triangles, found):
        off = on_grid(triangle) - [1.0, 0.0, -2.0]
        seen = np.linalg.norm(off - np.outer(off @ axis, axis), axis=1).min()
        assert distance <= seen + 1e-9 and seen - distance <= longest(triangle) / GRID


def soup(rng, count, middle):
    corners = rng.normal(0, 12, (count, 1, 3)) + rng.normal(0, 2, (count, 3, 3)) + middle
    corners = corners[box_tree.order(corners)]
    slack = rng.uniform(0.0, 0.3, count)
    return box_tree.Tree(corners, np.arange(count), slack, np.zeros((count, 3)), np.repeat(slack[:, None], 3, axis=1))


def least_distance(a, b):
    """Of all triangles of a from all of b, less both slacks. No two are nearer than their boxes: those whose boxes are farther apart than
    the nearest of a few are left out."""
    i, j = (grid.ravel() for grid in np.indices((len(a.corners), len(b.corners))))
    lows, highs = zip(*((one.corners.min(axis=1), one.corners.max(axis=1)) for one in (a, b)))
    gaps = np.maximum(lows[1][j] - highs[0][i], lows[0][i] - highs[1][j])
    bounds = np.linalg.norm(np.maximum(gaps, 0.0), axis=1) - a.slack[i] - b.slack[j]

    def least(some):
        return (triangle_distance.distances(a.corners[i[some]], b.corners[j[some]]) - a.slack[i[some]] - b.slack[j[some]]).min()

    few = np.argsort(bounds)[:100]
    return least(np.flatnonzero(bounds <= least(few)))


def test_what_is_said_to_keep_apart_does_and_nothing_else():
    rng = np.random.default_rng(11)
    apart = 0
    # Small ones are held against each other triangle by triangle, large ones box by box.
    counts = [*rng.integers(1, 200, (40, 2)).tolist(), [900, 700], [5000, 60]]
    for one, other in counts:
        a, b = soup(rng, one, 0.0), soup(rng, other, rng.uniform(20, 70) if one < 900 else 100.0)
        least = least_distance(a, b)
        for limit in {max(least - 1e-6, 0.0), max(least + 1e-6, 0.0), 0.0}:
            assert box_tree.keep_apart(a, b, limit) is bool(least > limit)
        assert box_tree.least_gap(a.box, b.box) <= max(least, 0.0) + 1e-9 or least < 0.0
        apart += least > 0.0
    assert 5 < apart < len(counts)


def test_strips_of_triangles_keep_no_more_from_each_other_than_these():
    rng = np.random.default_rng(17)
    a, b = soup(rng, 150, 0.0), soup(rng, 150, 30.0)
    # Long ones that lie askew, of which boxes hold little.
    stretched = box_tree.Tree(a.corners @ (np.eye(3) + 3.0 * np.ones((3, 3))), a.face, a.slack, a.normals, a.reach)
    for one in (a, stretched):
        i, j = (grid.ravel() for grid in np.indices((150, 150)))
        told, exact, boxes = box_tree._finer(one, i, b, j), box_tree._apart(one, i, b, j), box_tree.gaps(one.boxes[-1][i], b.boxes[-1][j])
        assert (told <= np.maximum(exact, 0.0) + 1e-9).all() and (told >= boxes - 1e-9).all()
    assert (told > boxes + 1.0).mean() > 0.2
