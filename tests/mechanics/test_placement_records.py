"""The collection of placement records: what is read, what is refused and where, and that adding touches nothing that is there."""
from __future__ import annotations

import math
import os
import pathlib
from dataclasses import replace

import invented_records
import pytest

from crankline import carfile, model, record, records, units
from crankline.mechanics import scene
from crankline.records import collection, placement_record
from crankline.source import SourceError

ROOT = pathlib.Path(__file__).parents[2]
DEMO_RECORDS = ROOT / "demo_assemblies" / "records"
ROW = "{car: Red, basis: measured, body: full, wheelbase: 108 in, axle_to_block: 82.5 in, crank_height: 10 1/8 in"
FILE = f"records: 1\nrows:\n  red: {ROW}}}\n"


def demo(name="full_bodied_automatic"):
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


def put(folder, text, name="shop.yaml"):
    (folder / name).write_bytes(text.encode())
    return records.load([folder])


def test_demo_records_are_those_of_the_script_and_every_one_is_invented():
    assert (DEMO_RECORDS / "invented.yaml").read_text(encoding="utf-8") == invented_records.text()
    found = records.load([DEMO_RECORDS])
    assert not found.problems and len(found.entries) == found.invented == invented_records.COUNT >= 60
    assert all("nvented" in entry.record.car and entry.name.startswith("invented_") for entry in found.entries)
    drawn = invented_records.records()
    assert list(drawn) == list(found.by_name) and all(record.equal(entry.record, drawn[entry.name]) for entry in found.entries)
    assert found.own().entries == ()
    assert {entry.record.left for entry in found.entries} == {"straight", "wheelstand", "spin"}
    with_gaps = [entry for entry in found.entries if entry.record.power is None or entry.record.displacement is None]
    assert 5 < len(with_gaps) < 30, "honest records have gaps"


def test_a_record_is_read_in_any_unit_and_absent_is_told_from_default(tmp_path):
    found = put(tmp_path, f"records: 1\nrows:\n  red: {ROW}, power: 900 hp, mass: 2500 lb, sixty_foot: 1.32 s, left: spin}}\n"
                          f"  blue: {ROW.replace('82.5 in', '2095.5 mm')}, engine_material: aluminum}}\n")
    red, blue = (entry.record for entry in found.entries)
    assert red.axle_to_block == blue.axle_to_block == 2095.5 and red.left == "spin" and red.power_adder is None
    assert red.power == pytest.approx(900 * 550 * 4.4482216152605 * 304.8) and blue.engine_material == "aluminium"
    assert found.by_name["blue"].line == 4 and found.by_name["red"].where.endswith("shop.yaml:3")


@pytest.mark.parametrize("row, words", [
    (ROW.replace("82.5 in", "82.5"), ["shop.yaml:4: rows.bad.axle_to_block: '82.5' has no unit", "mm, cm, m, in, ft"]),
    (ROW.replace("wheelbase: 108 in, ", ""), ["shop.yaml:4: rows.bad.wheelbase", "missing"]),
    (ROW + ", sixty_feet: 1.3 s", ["rows.bad.sixty_feet", "unknown", "did you mean sixty_foot?"]),
    (ROW + ", left: sideways", ["rows.bad.left", "'sideways'", "straight, wheelstand, spin"]),
    (ROW + ", front_share: 52", ["rows.bad.front_share", "'52'", "from 0.01 to 0.99"]),
    (ROW.replace("measured", "seen"), ["rows.bad.basis", "measured, told, invented"]),
    (ROW + ", date: 31 March", ["rows.bad.date", "YYYY-MM-DD"])])
def test_a_row_that_is_wrong_costs_only_itself(tmp_path, row, words):
    found = put(tmp_path, f"records: 1\nrows:\n  red: {ROW}}}\n  bad: {row}}}\n  blue: {ROW}}}\n")
    assert [entry.name for entry in found.entries] == ["red", "blue"]
    told = "\n".join(map(str, found.problems))
    assert len(found.problems) == 1 and all(word in told for word in words), told


def test_a_file_or_folder_that_is_wrong_costs_only_itself(tmp_path):
    put(tmp_path, "catalog: 1\nrows: {}\n", "engines.yaml")
    put(tmp_path, "records: 1\nrows: [\n", "torn.yaml")
    put(tmp_path, FILE, "again.yaml")
    (tmp_path / "notes.txt").write_text("no records")
    found = records.load([DEMO_RECORDS, tmp_path, tmp_path / "nowhere", tmp_path])
    put(tmp_path, FILE)
    more = records.load([tmp_path])
    assert len(found.entries) == invented_records.COUNT + 1
    told = [str(problem) for problem in more.problems]
    assert len(told) == 3 and "engines.yaml:1: catalog: the key is unknown" in told[0]
    assert "shop.yaml:3: rows.red: a record of this name is in " in told[1] and "again.yaml:3 already" in told[1]
    assert "torn.yaml:" in told[2]
    assert any("nowhere: the folder of records cannot be read" in str(problem) for problem in found.problems)


def test_the_environment_names_folders(monkeypatch):
    monkeypatch.setenv(collection.VARIABLE, os.pathsep.join(["one", "", "two"]))
    assert records.of_environment() == ("one", "two")


@pytest.mark.parametrize("before", [FILE, FILE.replace("\n", "\r\n"), FILE.rstrip("\n"), "# mine\n" + FILE + "  # the end\n",
                                    f"records: 1\nrows:\n      red: {ROW}}}\n",
                                    f"records: 1\nrows:\n  red:\n    {ROW[1:].replace(', ', chr(10) + '    ')}\n"])
def test_adding_keeps_every_byte(tmp_path, before):
    path = tmp_path / "shop.yaml"
    path.write_bytes(before.encode())
    new = replace(records.load([tmp_path]).entries[0].record, car="Blue # 2: \"x\"", power=1e9, note="none")
    collection.add(path, {"blue": new})
    after = path.read_bytes()
    assert after.startswith(before.encode()) and (b"\r" in after) == ("\r" in before)
    assert after.count(b"\n") == after.count(b"\r\n") or b"\r" not in after
    found = records.load([tmp_path])
    assert not found.problems and record.equal(found.by_name["blue"].record, new) and list(found.by_name) == ["red", "blue"]
    assert os.listdir(tmp_path) == ["shop.yaml"]


@pytest.mark.parametrize("before, name, words", [
    (FILE, "red", "shop.yaml:3: rows.red: a record of this name is here already"),
    (FILE, " blue", "'blue' is not a name for a record"),
    ("records: 1\nrows: {}\n", "blue", "cannot be added to the way in which this file is written"),
    (f"records: 1\nrows: {{red: {ROW}}}}}\n", "blue", "cannot be added to the way in which this file is written"),
    ("rows:\n  red: {}\n", "blue", "begins with 'records: 1'"),
    (FILE + "# " + "x" * 999_700 + "\n", "blue", "over 1,000,000 bytes; name another one with --file")],
    ids=["taken", "no_name", "no_rows", "flow", "no_records", "large"])
def test_what_cannot_be_added_to_stays_as_it_was(tmp_path, before, name, words):
    path = tmp_path / "shop.yaml"
    path.write_text(before)
    new = invented_records.records(1, 1)["invented_001"]
    with pytest.raises(SourceError) as caught:
        collection.add(path, {name: new})
    assert words in str(caught.value) and path.read_text() == before and os.listdir(tmp_path) == ["shop.yaml"]


def test_a_file_that_changes_meanwhile_is_not_overwritten(tmp_path, monkeypatch):
    path = tmp_path / "shop.yaml"
    path.write_text(FILE)
    longer = collection._longer

    def meanwhile(*args):
        path.write_text(FILE + f"  green: {ROW}}}\n")
        return longer(*args)
    monkeypatch.setattr(collection, "_longer", meanwhile)
    with pytest.raises(SourceError, match="changed meanwhile"):
        collection.add(path, invented_records.records(1, 1))
    assert list(records.load([tmp_path]).by_name) == ["red", "green"]


def test_a_car_as_it_is_placed_is_a_record():
    car = demo()
    found = records.of_car(car, scene.of(car), sixty_foot=1.05, left="straight")
    assert (found.car, found.basis, found.body, found.power_adder, found.transmission) == (
        "Demo A (invented)", "invented", "full", "nitrous", "automatic")
    assert found.axle_to_block == pytest.approx(83.5 * 25.4) and found.crank_height == pytest.approx(254.0)
    # By hand, lb and in: 1,840 of listed masses with the moment 73,360, the engine's 700 at 10 ahead of the block and 5.5 over the crank,
    # the transmission's 210 behind 3/8 of plates; pitched by 2 deg, the base 1/4 under the crank.
    forward, over = math.cos(math.radians(2.0)), math.sin(math.radians(2.0))
    at = car.transmission.cg
    moment = (73_360.0 + 700.0 * (83.5 + 0.25 * over + 10.0 * forward + 5.5 * over)
              + 210.0 * (83.5 + 0.25 * over + (at.x / 25.4 - 0.375) * forward + at.z / 25.4 * over))
    assert units.to(found.mass, "mass", "lb") == pytest.approx(2750.0)
    assert found.front_share == pytest.approx(moment / 2750.0 / 112.0, abs=5e-5)
    assert records.of_car(car, scene.of(car), basis="measured").invented is False
    assert found.power is found.displacement is None and found.sixty_foot == 1.05
    clutch = demo("open_clutch")
    # Stated at the middle of the block, 9.9 in ahead of its rear face, at 2.1 deg: the rear is 0.36 in higher.
    assert records.of_car(clutch, scene.of(clutch)).crank_height / 25.4 == pytest.approx(10.0 + 9.9 * 0.03664, abs=2e-3)
    # Scales go before the list of masses.
    for rear, mass, share in ((1400.0, 2800.0, 0.5), (0.0, None, None)):
        scales = model.Scales(front_left=720.0, front_right=680.0, rear_left=rear / 2, rear_right=rear / 2)
        weighed = replace(car, car=replace(car.car, scales=scales))
        found = records.of_car(weighed, scene.of(weighed))
        assert (found.mass, found.front_share) == (mass, share)
    bare = replace(car, masses=())
    assert records.of_car(bare, scene.of(bare)).mass is None


def test_names_of_records_are_free_and_fields_are_told_in_units():
    assert collection.free_name("Red (42)", ["red_42"]) == "red_42_2" and collection.free_name("###", []) == "car"
    value_text = placement_record.value_text
    assert (value_text("axle_to_block", 2095.5), value_text("axle_to_block", 2095.5, "mm")) == ("82.500 in", "2095.5 mm")
    assert (value_text("sixty_foot", 1.32), value_text("front_share", 0.512), value_text("power", None)) == ("1.320 s", "51.2 %", "-")
    assert value_text("engine_material", "aluminium") == "aluminum" and value_text("mass", -45.359237, signed=True) == "-100 lb"
