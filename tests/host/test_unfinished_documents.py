"""Documents of cars that are not finished: put together section by section in one document, read back, judged, drawn."""
from __future__ import annotations

import json

import cars
import FreeCAD as App
from unfinished_cars import CARS

from crankline import checks, sections
from crankline.checks.finding import State
from crankline.features import made_from, make, read
from crankline.features.apply import apply
from crankline.record import difference


def test_a_car_grows_in_the_order_of_work_and_is_read_back(name=cars.AUTOMATIC):
    """Every part of every prefix has a shape, no object is in error, and the model that is read back is the one that was applied."""
    made = make.document(CARS[f"{name} begun"], "Growing")
    try:
        layout = read.only_layout(made)
        grown = [car for step, car in CARS.items() if step.startswith(f"{name} as far as ")]
        for car in (*grown, CARS[f"{name} begun"]):
            apply(layout, car)
            assert difference(read.car(layout), car) == []
            assert [obj.Label for obj in read.members(layout) if "Invalid" in obj.State] == []
        assert [item.message for item in read.snapshot(layout).unsound if item.kind not in ("undrawn", "axle")] == []
    finally:
        App.closeDocument(made.Name)


def test_a_plate_that_is_not_drilled_yet_is_not_cut():
    made = make.document(CARS[f"{cars.AUTOMATIC} without mounts.rail_tabs"], "Undrilled")
    try:
        layout = read.only_layout(made)
        assert {"mid_plate", "front_plate"}.isdisjoint(made_from.pieces(layout)) and "protector" in made_from.pieces(layout)
        assert made_from.not_cut(layout) == "no cut file was written for Front plate (no rail tabs yet), Mid plate (no rail tabs yet)"
    finally:
        App.closeDocument(made.Name)


def test_what_is_missing_is_told_and_nothing_of_it_passes():
    car = CARS["full_bodied_automatic begun"]
    made = make.document(sections.put(car, "rules", cars.demo(cars.AUTOMATIC).rules), "Begun")
    try:
        outcome = checks.run(read.snapshot(read.only_layout(made)), measurer=cars.measurer())
    finally:
        App.closeDocument(made.Name)
    told = {finding.reason for finding in outcome.findings if finding.state == State.NOT_EVALUATED}
    assert outcome.exit_code == 4
    assert {sections.not_yet(path) for path in sections.FINISHED} <= told


def test_the_minimal_example_builds(run_cli, tmp_path):
    """Exit 4, because something is not evaluated; document, report, sheets and STEP of what is there."""
    done = run_cli("example", "--minimal", "--out", "mine")
    assert done.returncode == 0 and len((tmp_path / "mine" / "minimal.yaml").read_text().splitlines()) <= 13
    built = run_cli("build", "mine/minimal.yaml", "--out", "out")
    assert built.returncode == 4, built.stdout + built.stderr
    assert "Traceback" not in built.stdout + built.stderr
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    assert {"car.FCStd", "car.step", "side-view.pdf"} <= set(report["files"])
    assert {finding["reason"] for finding in report["findings"] if finding["rule"] == "DOC-FINISHED"} == {
        sections.not_yet(path) for path in sections.FINISHED}
