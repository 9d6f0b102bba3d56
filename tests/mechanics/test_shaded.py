"""The renderer of shaded pictures: outlines against closed forms, what hides what, see-through bodies against blending by hand."""
import struct
import zlib

import numpy as np
import pytest

from crankline.sheets import picture, shaded

RED, GREEN, WHITE = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (1.0, 1.0, 1.0)


def square(half, x, color, opacity=1.0):
    """A square across the car at a station, facing forward."""
    points = np.array([(x, y, z) for y, z in ((-half, -half), (half, -half), (half, half), (-half, half))], float)
    return shaded.Body(points, np.tile((1.0, 0.0, 0.0), (4, 1)), np.array([(0, 1, 2), (0, 2, 3)]), (), color, color, opacity)


def disc(radius, count=720):
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    points = np.vstack([[(0.0, 0.0, 0.0)], np.column_stack([np.zeros(count), radius * np.cos(turn), radius * np.sin(turn)])])
    triangles = np.array([(0, 1 + i, 1 + (i + 1) % count) for i in range(count)])
    return shaded.Body(points, np.tile((1.0, 0.0, 0.0), (len(points), 1)), triangles, (), RED, RED)


@pytest.fixture
def front(monkeypatch):
    monkeypatch.setitem(shaded.VIEWS, "front", (1.0, 0.0, 0.0))
    return "front"


def test_area_of_a_disc(front):
    image = shaded.render([disc(100.0)], 300, 300, front, margin=0.1)
    share = (255.0 - image[..., 1].astype(float)) / 255.0        # pure red: green is missing where it is drawn
    assert share.sum() == pytest.approx(np.pi * 120.0**2, rel=3e-3)
    rows, columns = np.nonzero(share > 0.5)
    assert (rows.min(), rows.max(), columns.min(), columns.max()) == (30, 269, 30, 269)


@pytest.mark.parametrize("turned", [False, True])
def test_the_nearer_hides_whatever_the_order(front, turned):
    bodies = [square(50.0, 100.0, RED), square(100.0, 0.0, GREEN)]
    image = shaded.render(bodies[::-1] if turned else bodies, 200, 200, front)
    assert image[100, 100, 0] > 100 and image[100, 100, 1] == 0
    assert image[100, 15, 1] > 100 and image[100, 15, 0] == 0


@pytest.mark.parametrize("turned", [False, True])
def test_see_through_bodies_are_laid_over_each_other_by_depth(front, turned):
    bodies = [square(100.0, 0.0, WHITE), square(80.0, 50.0, RED, 0.5), square(60.0, 100.0, GREEN, 0.25)]
    image = shaded.render(bodies[::-1] if turned else bodies, 200, 200, front)
    # The light falls on all three alike.
    bright = shaded.AMBIENT + (1.0 - shaded.AMBIENT) * shaded.LIGHT[2]
    behind = np.array(WHITE) * bright
    behind = behind + 0.5 * (np.array(RED) * bright - behind)
    behind = behind + 0.25 * (np.array(GREEN) * bright - behind)
    assert image[100, 100] / 255.0 == pytest.approx(behind, abs=0.004)


def test_what_stands_across_is_cut_where_it_goes_through(front):
    """Two squares that lean against each other cross in a line that no order of painting gives."""
    lean = square(100.0, 0.0, RED)
    points = lean.points.copy()
    points[:, 0] = points[:, 1]
    image = shaded.render([shaded.Body(points, lean.normals, lean.triangles, (), RED, RED), square(100.0, 0.0, GREEN)], 200, 200, front)
    left, right = image[100, 40], image[100, 160]
    # Seen from the front the car's left is on the right.
    assert left[1] > 100 > left[0] and right[0] > 100 > right[1]


def test_edges_are_drawn_and_hidden(front):
    line = np.array([(-1.0, -90.0, 0.0), (-1.0, 90.0, 0.0)])
    sheet = square(100.0, 0.0, WHITE)
    drawn = shaded.Body(sheet.points, sheet.normals, sheet.triangles, (line + [1.5, 0.0, 0.0],), WHITE, RED)
    hidden = shaded.Body(sheet.points, sheet.normals, sheet.triangles, (line - [1.5, 0.0, 0.0],), WHITE, RED)
    assert shaded.render([drawn], 200, 200, front)[100, 100, 1] < 200 < shaded.render([hidden], 200, 200, front)[100, 100, 1]


def test_wrong_use_is_one_sentence():
    with pytest.raises(ValueError, match="found the view 'below'; use one of front-right"):
        shaded.render([disc(1.0)], 20, 20, "below")
    with pytest.raises(ValueError, match="no shape to draw"):
        shaded.render([], 20, 20)


def test_png_holds_the_picture_and_nothing_else():
    image = np.random.default_rng(5).integers(0, 256, (7, 5, 3), dtype=np.uint8)
    data = picture.png(image)
    place, names, body = 8, [], b""
    while place < len(data):
        size, name = struct.unpack(">I4s", data[place:place + 8])
        names.append(name)
        body += data[place + 8:place + 8 + size] if name == b"IDAT" else b""
        place += 12 + size
    assert names == [b"IHDR", b"IDAT", b"IEND"]
    lines = np.frombuffer(zlib.decompress(body), np.uint8).reshape(7, 16)
    assert (lines[:, 0] == 1).all()
    assert (np.cumsum(lines[:, 1:].reshape(7, 5, 3), axis=1, dtype=np.uint8) == image).all()
