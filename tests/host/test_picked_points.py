"""The three points of a real engine's solid: where they are on the body of its file, and in the picture that they are clicked in."""
import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.catalog import solid_files
from crankline.geometry import solid_file
from crankline.sheets import picture, shaded


def test_corners_and_centers_of_round_edges(tmp_path, monkeypatch):
    block = Part.makeBox(500.0, 300.0, 200.0).cut(Part.makeCylinder(40.0, 500.0, App.Vector(0, 150, 100), App.Vector(1, 0, 0)))
    block.exportBrep(str(tmp_path / "block.brep"))
    monkeypatch.setattr(solid_files, "_folders", {str(tmp_path): None})
    shape = solid_file.as_filed("block.brep")
    assert shape.Volume == pytest.approx(500.0 * (300.0 * 200.0 - np.pi * 40.0 ** 2))
    points = solid_file.points_on(shape)
    corners = {(x, y, z) for x in (0.0, 500.0) for y in (0.0, 300.0) for z in (0.0, 200.0)}
    found = {tuple(np.round(point, 6)) for point in points}
    assert corners | {(0.0, 150.0, 100.0), (500.0, 150.0, 100.0)} <= found and len(found) == len(points) <= 12
    with pytest.raises(solid_files.SolidFileError, match="there is no file"):
        solid_file.as_filed("other.brep")
    # Where a point is in the picture is where the picture shows it: the corners bound what is not background.
    body = picture.body_of(shape, (0.5, 0.5, 0.5), (0.0, 0.0, 0.0))
    image = shaded.render([body], 300, 200, "front-left")
    place = shaded.framing([body.points], 300, 200, "front-left").placed(np.array(sorted(corners)))
    rows, columns = np.nonzero((image != 255).any(axis=2))
    assert [columns.min(), columns.max() + 1, rows.min(), rows.max() + 1] == pytest.approx(
        [place[:, 0].min(), place[:, 0].max(), place[:, 1].min(), place[:, 1].max()], abs=2.0)
