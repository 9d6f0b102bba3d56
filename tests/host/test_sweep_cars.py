"""Whole demo cars over random placements, 78-88 in, 9-11.5 in, 0-3.5 deg: every part of the document is one valid solid, and its volume
is what its own mesh encloses (divergence theorem), which knows nothing of how the solid was built.

``--solids N`` takes N placements of each car instead of one; every tenth of them is measured.
"""
from __future__ import annotations

import random

import cars
import FreeCAD as App
import pytest
from meshes import mesh_volume

from crankline.features import base, read
from crankline.geometry import measure

INCH = 25.4
DEMOS = ("full_bodied_automatic", "open_clutch")
CARRIED = ("enclosure_mount/front_bottom", "enclosure_mount/front_top")
"""An enclosure keeps its place in the chassis: from a tail that moves away from it, it cannot hang, and says so."""


@pytest.mark.parametrize("name", cars.EACH)
def test_every_part_is_one_valid_solid(name, solids, seed):
    rng = random.Random(f"placements {seed(3)} {name}")
    document = cars.document(name, f"sweep_{name}")
    try:
        layout = read.only_layout(document)
        tail = read.car(layout).containment.enclosure.front_support == "transmission_tail"
        seen = set()
        for number in range(solids(1)):
            layout.AxleToBlock, layout.CrankHeight = rng.uniform(78, 88) * INCH, rng.uniform(9, 11.5) * INCH
            layout.Pitch = rng.uniform(0.0, 3.5)
            document.recompute()
            where = f"{name} {number}: {layout.AxleToBlock}, {layout.CrankHeight}, {layout.Pitch}"
            for obj in read.members(layout):
                if not isinstance(getattr(obj, "Proxy", None), base.PartFeature):
                    continue
                if "Invalid" in obj.State:
                    why = obj.getStatusString()
                    assert tail and obj.Key in CARRIED and why.startswith("containment.enclosure.x_front"), (where, obj.Key, why)
                    continue
                shape = obj.Shape
                assert "Touched" not in obj.State, (where, obj.Key)
                assert len(shape.Solids) == 1 and shape.isValid(), (where, obj.Key)
                volume = measure.volume(shape)
                assert volume > 0.0, (where, obj.Key)
                if number % 10 == 0:
                    assert mesh_volume(shape) == pytest.approx(volume, rel=1e-3), (where, obj.Key)
                seen.add(obj.Key)
        parts = {obj.Key for obj in read.members(layout) if isinstance(getattr(obj, "Proxy", None), base.PartFeature)}
        assert parts - seen <= (set(CARRIED) if tail else set()) and len(parts) > 35
    finally:
        App.closeDocument(document.Name)
