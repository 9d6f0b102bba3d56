"""Documents travel between hosts: written by one, opened by another, every proxy alive, the same findings.

Each host leaves its documents in the exchange folder, empty before the first of them ran, and reads what stands there. They must be judged
alike, the same findings in the same order, margins within 1e-4. A document of our own host is made and read where it is not there yet;
where it is, only those of the others are read. A document appears under its name when it is whole: hosts may run side by side.
"""
from __future__ import annotations

import json

import cars
import FreeCAD as App
import pytest
from conftest import ROOT

from crankline import carfile, checks, record
from crankline.features import base, make, read, repair
from crankline.measure.host_measurer import HostMeasurer

DEMOS = ("full_bodied_automatic", "open_clutch")
DATE = "2026-06-01"


def verdict(layout, measurer):
    """What a document is judged to be: its findings in their order, (id, state, margin), and the figures of every part."""
    shot = read.snapshot(layout)
    assert shot.unsound == ()
    outcome = checks.run(shot, event_date=DATE, measurer=measurer)
    parts = {view.key: [view.shape.Volume, *view.shape.CenterOfMass, view.mass or 0.0] for view in shot.parts}
    return {"findings": [[f.id, f.state, f.margin] for f in outcome.findings], "parts": parts}


@pytest.fixture
def folder(exchange, tmp_path):
    return exchange or tmp_path


def written(car, path):
    """Makes a car's document and writes it, its verdict beside it, which is there first."""
    document = make.document(car, path.stem.partition("-")[0])
    mine = verdict(read.only_layout(document), cars.measurer())
    path.with_suffix(".json").write_text(json.dumps(mine), encoding="utf-8")
    half = path.with_name(f"half-{path.name}")
    document.saveCopy(str(half))
    App.closeDocument(document.Name)
    half.rename(path)


@pytest.mark.parametrize("name", DEMOS)
def test_documents_of_every_host_open_and_are_judged_alike(folder, name):
    car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
    own = folder / f"{name}-{'.'.join(App.Version()[:2])}.FCStd"
    found = sorted(folder.glob(f"{name}-?.*.FCStd"))
    if own in found and len(found) > 1:
        found.remove(own)
    else:
        written(car, own)
        found = sorted({*found, own})
    for path in found:
        opened = App.openDocument(str(path), True)
        try:
            assert repair.lifeless(opened) == [], path.name
            base.counts.clear()
            opened.recompute()
            layout = read.only_layout(opened)
            assert base.counts["builds"] == 0, f"{path.name}: a shape was built again though nothing changed"
            assert record.difference(read.car(layout), car) == [], path.name
            here = verdict(layout, HostMeasurer())      # measured on the shapes of the file, whatever is known of their like
        finally:
            App.closeDocument(opened.Name)
        there = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        assert [told[:2] for told in here["findings"]] == [told[:2] for told in there["findings"]], path.name
        for (name_, _state, margin), (*_, other) in zip(here["findings"], there["findings"]):
            assert margin == (None if other is None else pytest.approx(other, abs=1e-4)), (path.name, name_)
        assert set(here["parts"]) == set(there["parts"])
        for key, numbers in there["parts"].items():
            assert here["parts"][key] == pytest.approx(numbers, rel=1e-6, abs=1e-3), (path.name, key)
