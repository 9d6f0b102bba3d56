"""Loops and enclosures that were cut into: what is left of a surface keeps its radius, but is no whole section and no closed tube."""
from __future__ import annotations

import cars
import FreeCAD as App
import Part
import pytest

from crankline.features import read
from crankline.measure.host_measurer import HostMeasurer
from crankline.rules.quantity import NotEvaluated

INCH = 25.4


@pytest.fixture(scope="module")
def parts():
    found = {}
    for name in ("full_bodied_automatic", "open_clutch"):
        document = cars.document(name, name)
        snapshot = read.snapshot(read.only_layout(document))
        found[name] = snapshot.scene, {part.key: part.shape.copy() for part in snapshot.parts}
        App.closeDocument(document.Name)
    return found


def test_every_ring_and_tube_of_the_demos_is_whole(parts):
    for scene, shapes in parts.values():
        for key, shape in shapes.items():
            if key.startswith("loop/"):
                assert HostMeasurer().ring(shape, scene.shaft_at).form
            if key == "enclosure":
                assert HostMeasurer().tube(shape).wall > 0.0


def test_a_ring_milled_thin_is_not_evaluated(parts):
    scene, shapes = parts["full_bodied_automatic"]
    ring = shapes["loop/front"]
    box = ring.BoundBox
    middle = 0.5 * (box.XMin + box.XMax)
    slab = Part.makeBox(12.0, 2000.0, 2000.0, App.Vector(middle - 6.0, -1000.0, -1000.0))
    with pytest.raises(NotEvaluated, match=r"not whole: .* 0\.472 in are left of 0\.875"):
        HostMeasurer().ring(ring.common(slab), scene.shaft_at)


def test_a_ring_filed_down_at_the_top_is_not_evaluated(parts):
    scene, shapes = parts["full_bodied_automatic"]
    ring = shapes["loop/front"]
    box = ring.copy(True, False).optimalBoundingBox(False)
    top = Part.makeBox(200.0, 2000.0, 100.0, App.Vector(box.XMin - 50.0, -1000.0, box.ZMax - 8.0))
    with pytest.raises(NotEvaluated, match="not whole"):
        HostMeasurer().ring(ring.cut(top), scene.shaft_at)


@pytest.mark.parametrize("slot", [20.0, 4.0])
def test_a_slit_enclosure_is_not_evaluated(parts, slot):
    _scene, shapes = parts["full_bodied_automatic"]
    tube = shapes["enclosure"]
    box = tube.BoundBox
    cut = Part.makeBox(0.8 * box.XLength, slot, 500.0, App.Vector(box.XMin + 0.1 * box.XLength, -slot / 2.0, 0.5 * (box.ZMin + box.ZMax)))
    with pytest.raises(NotEvaluated, match="cut open"):
        HostMeasurer().tube(tube.cut(cut))
