"""What differs between two reports, values of variants, and results that are taken for good. Reports come from numbers alone."""
from __future__ import annotations

import copy
import csv
import datetime
import io
import json
from dataclasses import replace

import pytest
import snapshot_fakes as fakes

from crankline import carfile, checks, reports, source
from crankline.batch import baselines, summary, variants
from crankline.batch.variants import VariantError
from crankline.reports import compare, csv_table, parquet_table

INCH = 25.4


def _moved():
    car = fakes.automatic()
    return replace(car, placement=replace(car.placement, axle_to_block=car.placement.axle_to_block + INCH))


def reported(car=None):
    snapshot = fakes.snapshot(car or fakes.automatic())
    outcome = checks.run(snapshot, event_date="2026-05-01", measurer=fakes.FakeMeasurer())
    return json.loads(reports.report_text(reports.report(outcome, snapshot, {"program": "none"})))


@pytest.fixture(scope="module")
def before():
    return reported()


def test_a_report_is_equal_to_itself_and_to_one_of_another_day_of_the_clock(before):
    later = {**before, "run": {"started": "2030-01-01T00:00:00", "seconds": 9.0}, "files": {"a": "b"}}
    noise = copy.deepcopy(later)
    noise["placement"]["axle_to_block_mm"] += 4e-7
    found = compare.compare("a", before, noise)
    assert found.equal and compare.text(found) == ["a: equal"]


def test_a_moved_engine_is_told_by_input_figures_findings_and_what_moves(before):
    after = reported(_moved())
    found = compare.compare("a", before, after)
    assert [item.about for item in found.inputs] == ["placement.axle_to_block"]
    changed = {item.about for item in found.figures}
    assert "placement.axle_to_block_mm" in changed and "placement.pitch_deg" not in changed
    # Every finding that differs does so in the reports, and none that does is left out.
    rows = [{row["id"]: row for row in report["findings"]} for report in (before, after)]
    differ = [key for key in rows[0] if not compare._near([rows[0][key][name] for name in ("state", "measured", "limit", "margin")],
                                                          [rows[1][key][name] for name in ("state", "measured", "limit", "margin")], 1e-6)]
    assert len(found.findings) == len(differ) > 0
    back = compare.compare("a", after, before)
    assert [(item.after, item.before) for item in back.figures] == [(item.before, item.after) for item in found.figures]
    told = compare.text(found)
    assert told[0] == "a: different" and any("placement.axle_to_block:" in line for line in told)
    assert "<svg" in compare.page([(found, before, after)]) or not any(part["bbox_mm"] for part in before["parts"])


def test_a_planted_limit_is_found_in_the_findings_that_it_touches_and_nowhere_else(before):
    after = copy.deepcopy(before)
    touched = [row for row in after["findings"] if row["rule"] == "PRA-PITCH"]
    for row in touched:
        row["limit"], row["margin"] = [1.0, 9.0], 1.0
    found = compare.compare("a", before, after)
    assert len(found.findings) == len(touched) > 0 and not found.figures and not found.shapes and not found.inputs


def test_parts_that_change_move_come_and_go(before):
    parts = [{"key": key, "digest": "1", "bbox_mm": [0.0] * 6, "welded": welded} for key, welded in
             (("a", True), ("b", False), ("c", True), ("d", True))]
    old, new = {**before, "parts": parts}, {**before, "parts": copy.deepcopy(parts[:3])}
    new["parts"][0]["digest"], new["parts"][1]["bbox_mm"] = "2", [1.0] * 6
    new["parts"].append({**parts[0], "key": "e", "welded": False})
    found = compare.compare("x", old, new)
    assert [(item.about, item.before, item.after) for item in found.shapes] == [("a", "built", "built otherwise"), ("d", "built", ""),
                                                                                  ("e", "", "built")]
    assert found.moved == ("b",) and found.anew == ("a", "d")


def test_reports_of_other_schemas_are_not_compared(before):
    with pytest.raises(compare.CompareError, match="different schemas"):
        compare.compare("a", {**before, "$schema": "urn:crankline:report:1"}, before)


# --- variants ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize(("text", "values"), [
    ("placement.axle_to_block=80..82in/0.5in", ["80 in", "80.5 in", "81 in", "81.5 in", "82 in"]),
    ("placement.pitch=1.9,2.0,2.2deg", ["1.9 deg", "2.0 deg", "2.2 deg"]),
    ("placement.pitch=-0.2..0.2deg/0.1deg", ["-0.2 deg", "-0.1 deg", "0 deg", "0.1 deg", "0.2 deg"]),
    ("placement.pitch=2..1deg/-0.5", ["2 deg", "1.5 deg", "1 deg"]),
    ("placement.crank_height=9 1/2 in,10in", ["9 1/2 in", "10 in"]), ("a.b=81,82..83in/1,2000mm", ["81 mm", "82 in", "83 in", "2000 mm"]),
    ("placement.pitch=parallel", ["parallel"])])
def test_values_of_a_key(text, values):
    assert variants.axis(text).values == tuple(values)


@pytest.mark.parametrize("text", ["placement.pitch", "=3", "a=", "a=1,,2", "a=1..2in/0", "a=1..2in/-1", "a=1..2in/1mm", "a=1..x/1",
                                  "a=1..1e9/1", "a=1in,1in", "a=0..1000000/1", "A!=3"])
def test_what_makes_no_values_is_told_in_a_sentence(text):
    with pytest.raises(VariantError, match="--set"):
        variants.axis(text)


def test_every_combination_once_and_each_is_a_car(tmp_path):
    path = fakes.DEMOS / "full_bodied_automatic.yaml"
    axes = [variants.axis("placement.axle_to_block=83..84in/0.5in"), variants.axis("placement.pitch=1.9,2.1deg")]
    grid = variants.grid(axes)
    assert len(grid) == 6 and "axle_to_block=83.5in_pitch=1.9deg" in grid
    root = source.read(path)
    for name, values in grid.items():
        car = variants.changed(root, values)
        told = carfile.flat(car)
        assert {key: told[key] for key in values} == dict(values), name
        others = {key: value for key, value in carfile.flat(carfile.read(path)).items() if key not in values}
        assert {key: value for key, value in told.items() if key not in values} == others
    with pytest.raises(VariantError, match="twice"):
        variants.grid([axes[0], axes[0]])
    # No variant is lost where two are written alike without their signs.
    alike = variants.grid([variants.axis("plates.mid.thickness=11/16in,1 1/16in")])
    assert {name: list(values.values()) for name, values in alike.items()} == {
        "thickness=1116in": ["11/16in"], "thickness=1116in_2": ["1 1/16in"]}
    with pytest.raises(source.SourceError, match="pich"):
        variants.changed(root, {"placement.pich": "2 deg"})
    for key in ("placement", "placement.pitch.x"):
        with pytest.raises(VariantError, match="--set"):
            variants.changed(root, {key: "2 deg"})


def test_what_has_no_effect_in_a_car_shown_as_built_is_not_varied():
    """Its powertrain stands where it was measured: two designs would both be told as that one."""
    built = {"placement.as_built.axle_to_block": "83.8 in", "placement.as_built.crank_height": "10 in",
             "placement.as_built.pitch": "2.5 deg", "placement.as_built.pinion_pitch": "2.2 deg", "placement.shown": "as_built"}
    root = source.read(fakes.DEMOS / "full_bodied_automatic.yaml")
    for key, value, instead in (("placement.axle_to_block", "83 in", "placement.as_built.axle_to_block"),
                                ("placement.height_at", "block_front", "placement.as_built.crank_height"),
                                ("rear_end.pinion_pitch", "2 deg", "placement.as_built.pinion_pitch")):
        with pytest.raises(VariantError, match=f"--set: {key} was found, and this car is shown as built, where {instead} counts"):
            variants.changed(root, {**built, key: value})
        assert variants.changed(root, {**built, key: value, "placement.shown": "as_designed"})
    assert variants.changed(root, {**built, "rear_end.pinion_joint.x": "10.4 in", "rear_end.ratio": "4.3"})


def test_the_table_has_inputs_figures_and_the_states_of_all_findings(before):
    axes = [variants.axis("placement.pitch=2,2.1deg")]
    grid = variants.grid(axes)
    rows = variants.table(axes, grid, {"pitch=2deg": 0, "pitch=2.1deg": 2}, {"pitch=2deg": before, "pitch=2.1deg": None})
    head, first, second = csv.reader(io.StringIO(csv_table.lines(rows)))
    row = dict(zip(head, first))
    assert row["placement.pitch"] == "2 deg" and row["exit"] == "0" and second[:3] == ["pitch=2.1deg", "2.1 deg", "2"]
    assert float(row["placement.axle_to_block_mm"]) == before["placement"]["axle_to_block_mm"]
    assert sum(row[name] in set(map(str, checks.finding.State)) for name in head) == len(before["findings"])


def test_columns_of_a_parquet_table_are_of_one_type():
    assert parquet_table._column([1, "", 2.5]) == [1.0, None, 2.5] and parquet_table._column(["open", 1, None]) == ["open", "1", None]
    assert parquet_table._column([3, None, 4]) == [3, None, 4] and parquet_table._column(["", ""]) == [None, None]


# --- baselines --------------------------------------------------------------------------------------------------------

def test_baselines_are_taken_with_a_reason_and_held_against(tmp_path, before):
    folder, results = tmp_path / "good", tmp_path / "results"
    (results / "a").mkdir(parents=True)
    (results / "a/report.json").write_text(json.dumps(before), encoding="utf-8")
    found = summary.Summary((summary.row("a", "a.yaml", 0, 1.0, before, ""),))
    day = datetime.date(2026, 12, 1)
    assert baselines.compared(found, results, folder, 1e-6) == ([], ["a"])
    with pytest.raises(baselines.BaselineError, match="--reason"):
        baselines.accept({"a": before}, folder, "because", day)
    assert baselines.accept({"a": before}, folder, "the first results of this shop", day) == ["a"]
    kept = baselines.read(folder, "a")
    assert kept == compare.slim(before) == compare.slim(kept) and len(json.dumps(kept)) < len(json.dumps(before)) / 2
    assert compare.text(compare.compare("a", kept, other := reported(_moved()))) == compare.text(compare.compare("a", before, other))
    pairs, new = baselines.compared(found, results, folder, 1e-6)
    assert [pair.equal for pair in pairs] == [True] and not new
    assert baselines.accept({"a": {**before, "run": {"started": "x", "seconds": 3.0}}}, folder, "the same once more", day) == []
    other = {**before, "placement": {**before["placement"], "pitch_deg": 3.0}}
    assert [pair.equal for pair in baselines.compared(found, results, folder, 1e-6)[0]] == [True]
    (results / "a/report.json").write_text(json.dumps(other), encoding="utf-8")
    assert [pair.equal for pair in baselines.compared(found, results, folder, 1e-6)[0]] == [False]
    assert baselines.accept({"a": other}, folder, "pitch was changed, on purpose", day) == ["a"]
    lines = (folder / baselines.LOG).read_text(encoding="utf-8").splitlines()
    assert lines[0] == "date,car,reason" and len(lines) == 3 and lines[2] == '2026-12-01,a,"pitch was changed, on purpose"'
    (folder / "a.json").write_text("{", encoding="utf-8")
    with pytest.raises(baselines.BaselineError, match="damaged"):
        baselines.read(folder, "a")
