"""What is proven of triangles and curves near the center line of a tube, straight or bent, against points all over them."""
from __future__ import annotations

import numpy as np
import pytest

from crankline.measure.tube_piece import FINE, Piece

AXIS = np.array([1.0, 2.0, 2.0]) / 3.0
POINT = np.array([5.0, -3.0, 2.0])
PIECES = [Piece(POINT, AXIS, 20.0, 0.0, 0), Piece(POINT, AXIS, 20.0, 120.0, 0)]
GRID = 40


def on_grid(triangles):
    """Points of triangles (n, 3, 3), (n, k, 3)."""
    u, v = (one.ravel() for one in np.meshgrid(np.arange(GRID + 1), np.arange(GRID + 1)))
    u, v = u[u + v <= GRID], v[u + v <= GRID]
    return np.stack([u, v, GRID - u - v], axis=-1) / GRID @ triangles


@pytest.mark.parametrize("piece", PIECES, ids=["straight", "bent"])
def test_a_face_that_is_said_to_keep_off_does_and_one_that_keeps_well_off_is_told(piece):
    rng = np.random.default_rng(2)
    middles = POINT + np.outer(rng.uniform(-150, 150, 60), piece.across[0]) + np.outer(rng.uniform(-40, 40, 60), AXIS)
    faces = [middle + rng.normal(0, 3, (4, 1, 3)) + rng.normal(0, 12, (4, 3, 3)) for middle in middles]
    nearest = np.array([piece.distance(on_grid(face)).min() for face in faces])
    for less in (0.0, 0.5 * FINE, 10.0):
        told = piece.kept_off(faces, nearest - less)
        apart = np.array([piece.kept_off([face], np.array([distance - less]))[0] for face, distance in zip(faces, nearest)])
        assert (told == apart).all(), "each for itself or all at once"
    # Points of a grid stand no nearer than the triangles do.
    assert not piece.kept_off(faces, nearest + 1e-9).any()
    clear = nearest > 2.0 * FINE
    assert clear.sum() > 40 and piece.kept_off(faces, nearest - 2.0 * FINE)[clear].all()


@pytest.mark.parametrize("piece", PIECES, ids=["straight", "bent"])
def test_a_smooth_curve_comes_no_nearer_than_told_and_little_farther(piece):
    rng = np.random.default_rng(4)
    one, other, middle = rng.normal(0, 40, (30, 3)), rng.normal(0, 40, (30, 3)), POINT + rng.normal(0, 90, (30, 3))

    def chains(count):
        turn = np.linspace(0.0, 2.0, count)[:, None]
        return middle[:, None] + np.cos(turn) * one[:, None] + np.sin(turn) * other[:, None]

    nearest = piece.distance(chains(4001)).min(axis=1)
    told = piece.from_chains(chains(65))
    assert (told <= nearest + 1e-9).all() and (told >= nearest - 0.5).all()
    assert (piece.from_chains(chains(257)) >= nearest - 0.05).all()
