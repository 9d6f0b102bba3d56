"""The picture of a car: made by the program without a window, and the README's is of the demo as it is."""
import io
import pathlib

import cars
import FreeCAD as App
import numpy as np
import pytest
from PySide import QtGui

from crankline import headless
from crankline.features import read
from crankline.features.registry import declaration
from crankline.sheets import picture

ROOT = pathlib.Path(__file__).parents[2]
DEMO = ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"


def pixels(path):
    """(height, width, 3) of a PNG, read by Qt."""
    image = QtGui.QImage(str(path)).convertToFormat(QtGui.QImage.Format_RGB888)
    lines = np.frombuffer(bytes(image.constBits()), np.uint8).reshape(image.height(), image.bytesPerLine())
    return lines[:, :3 * image.width()].reshape(image.height(), image.width(), 3)


def coarse(image, high, wide):
    """The picture in blocks."""
    return image.reshape(high, image.shape[0] // high, wide, image.shape[1] // wide, 3).mean(axis=(1, 3))


def test_the_readme_shows_the_demo_as_it_is():
    document = cars.document(cars.AUTOMATIC, "picture")
    image = picture.draw(read.snapshot(read.only_layout(document)), (400, 225))
    App.closeDocument(document.Name)
    shown = pixels(DEMO.with_suffix(".png"))
    assert shown.shape == (900, 1600, 3)
    away = np.abs(coarse(image, 45, 80) - coarse(shown, 45, 80)).max(axis=2)
    again = f"bash workbench/run picture {DEMO.relative_to(ROOT)} --out {DEMO.with_suffix('.png').relative_to(ROOT)}"
    assert away.max() < 60.0 and away.mean() < 2.0, f"the picture in the README is of another car; make it again: {again}"
    # The car fills the picture, stands free of its edges, and its loops, mounts and shaft can be told apart.
    drawn = np.argwhere((image != 255).any(axis=2))
    (top, left), (bottom, right) = drawn.min(axis=0), drawn.max(axis=0)
    assert left > 2 and top > 2 and right < 397 and bottom < 222 and (right - left > 360 or bottom - top > 200)
    for kind in ("fixed_loop", "rail_tab", "chassis_tube"):
        # Brightness runs from ambient to full light; the color's direction stays.
        color = np.array(declaration(kind, kind).look.color)
        direction = image / np.maximum(np.linalg.norm(image.astype(float), axis=2, keepdims=True), 1.0)
        near = (direction @ (color / np.linalg.norm(color)) > 0.999) & (image != 255).any(axis=2)
        assert near.sum() > 30, kind


def run(*words):
    """The command in this process: (exit code, what was printed, what was said)."""
    out, err = io.StringIO(), io.StringIO()
    code = headless.main(["picture", *map(str, words)], out, err)
    return code, out.getvalue(), err.getvalue()


@pytest.mark.usefixtures("closes_documents")
def test_the_command_writes_a_picture(tmp_path):
    target = tmp_path / "new folder" / "car.png"
    code, out, err = run(ROOT / "demo_assemblies" / "open_clutch.yaml", "--out", target, "--size", "320x180", "--view", "rear-left")
    assert code == 0 and out.strip() == str(target), err
    image = pixels(target)
    assert image.shape == (180, 320, 3) and 0.05 < (image != 255).any(axis=2).mean() < 0.9
    assert [path.name for path in target.parent.iterdir()] == ["car.png"]


def test_wrong_names_and_sizes_are_refused(tmp_path):
    for arguments, said in ((["--out", tmp_path / "car.jpg"], "ends in .png"), (["--out", tmp_path / "a.png", "--size", "0x9"], "--size"),
                            (["--out", tmp_path / "a.png", "--view", "below"], "below")):
        code, _out, err = run(DEMO, *arguments)
        assert code == 2 and said in err and not list(tmp_path.iterdir()), err
