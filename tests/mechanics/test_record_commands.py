"""The command ``records``: what it prints, what it writes, what it refuses, and its exit codes."""
from __future__ import annotations

import io
import json
from dataclasses import replace

import invented_records
import pytest
from test_placement_records import DEMO_RECORDS, ROOT

from crankline import carfile, headless, model, record, records
from crankline.records import collection

CAR = ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"
LISTED = "name,car,basis,body,wheelbase [in],axle_to_block [in],crank_height [in],sixty_foot [s]\n"


def run(*words):
    out, err = io.StringIO(), io.StringIO()
    code = headless.main(["records", *map(str, words)], out, err)
    return code, out.getvalue(), err.getvalue()


@pytest.fixture(autouse=True)
def no_folder(monkeypatch):
    monkeypatch.delenv(collection.VARIABLE, raising=False)


def test_a_record_added_from_a_car_is_its_own_nearest(tmp_path, monkeypatch):
    added = ("add", CAR, "--result", "sixty_foot=1.05", "--result", "left=straight", "--result", "power=1650 hp", "--result",
             "date=2026-10-03", "--records", tmp_path / "new")
    code, out, err = run(*added)
    assert (code, out, err) == (0, f"added: demo_a_invented in {tmp_path / 'new' / 'records.yaml'}\n", "")
    before = (tmp_path / "new" / "records.yaml").read_bytes()
    code, out, _err = run(*added)
    assert code == 0 and "added: demo_a_invented_2 in" in out
    assert (tmp_path / "new" / "records.yaml").read_bytes().startswith(before)
    monkeypatch.setenv(collection.VARIABLE, str(DEMO_RECORDS))
    code, out, _err = run("suggest", CAR, "--given", "power=1650hp", "--records", tmp_path / "new", "--records", DEMO_RECORDS, "--json")
    found = json.loads(out)
    assert code == 0 and found["nearest"][0]["name"] == "demo_a_invented" and found["nearest"][0]["distance"] == 0.0
    assert found["records"] == invented_records.COUNT + 2 and found["left_out"] == ["displacement"]
    code, out, _err = run("check", "--records", tmp_path / "new", "--records", DEMO_RECORDS)
    assert code == 1 and "duplicate: demo_a_invented_2 INVENTED (" in out
    assert "the same in every figure that both have as demo_a_invented (" in out


def test_a_car_that_was_measured_is_added_as_it_was_built(tmp_path):
    car = carfile.read(CAR)
    built = model.AsBuilt(axle_to_block=2115.0, crank_height=256.0, pitch=0.04)
    carfile.save(replace(car, placement=replace(car.placement, as_built=built)), tmp_path / "car.yaml")
    assert run("add", tmp_path / "car.yaml", "--records", tmp_path / "new")[0] == 0
    (found,) = records.load([tmp_path / "new"]).entries
    assert found.record.axle_to_block == 2115.0 and found.record.crank_height == pytest.approx(256.0, abs=0.0127)


def test_a_suggestion_says_invented_beside_every_number(monkeypatch):
    monkeypatch.setenv(collection.VARIABLE, str(DEMO_RECORDS))
    code, out, err = run("suggest", CAR)
    assert code == 0 and not err
    lines = out.splitlines()
    assert lines[0] == "Demo A (invented): 72 records, 72 of them INVENTED"
    assert all("INVENTED" in line for line in lines if "interval" in line or ("distance " in line and "best first" not in line))
    assert "now 83.500 in" in lines[1] and sum("near: " in line for line in lines) == 5
    code, out, _err = run("suggest", CAR, "--units", "mm", "--nearest", 2)
    assert code == 0 and " in," not in out and "now 2120.9 mm" in out and sum("near: " in line for line in out.splitlines()) == 2


def test_a_car_outside_the_records_is_refused_with_exit_code_4():
    code, out, _err = run("suggest", CAR, "--given", "wheelbase=132in", "--records", DEMO_RECORDS)
    assert code == 4 and "no estimate" in out and "interval" not in out
    assert "wheelbase 132.000 in is 16.500 in over the most of the records, 115.500 in  INVENTED" in out


def test_listing_and_showing(tmp_path):
    code, out, _err = run("list", "--records", DEMO_RECORDS)
    lines = out.splitlines()
    assert code == 0 and lines[0].split()[:2] == ["record", "body"] and lines[-1] == "72 records, 72 of them INVENTED"
    assert all("INVENTED" in line for line in lines[1:-1]) and len(lines) == 74
    code, out, _err = run("show", "invented_003", "invented_001", "--records", DEMO_RECORDS, "--units", "mm")
    assert code == 0 and out.startswith("invented_003  INVENTED (") and "  axle-to-block    2336.8 mm  INVENTED\n" in out
    code, out, _err = run("show", "invented_003", "--records", DEMO_RECORDS, "--json")
    (found,) = json.loads(out)
    assert found["invented"] is True and found["axle_to_block"] == "92 in"
    code, _out, err = run("show", "invented_3", "--records", DEMO_RECORDS)
    assert code == 2 and "there is no record 'invented_3' (did you mean invented_" in err


def test_what_is_listed_as_csv_is_imported_again_once(tmp_path):
    code, out, _err = run("list", "--records", DEMO_RECORDS, "--csv", "--units", "mm")
    (tmp_path / "all.csv").write_bytes(out.encode())
    words = ("import", tmp_path / "all.csv", "--records", tmp_path / "shop", "--file", "bought.yaml")
    code, out, err = run(*words)
    assert (code, err) == (0, "") and out == f"imported: 72 records, 72 of them INVENTED to {tmp_path / 'shop' / 'bought.yaml'}\n"
    held = (tmp_path / "shop" / "bought.yaml").read_bytes()
    code, out, err = run(*words)
    assert code == 0 and "imported: 0 records to " in out and "; 72 there already" in out
    assert (tmp_path / "shop" / "bought.yaml").read_bytes() == held
    assert records.load([tmp_path / "shop"]).invented == 72


def test_an_import_tells_what_it_does_not_take(tmp_path):
    (tmp_path / "old.csv").write_text(LISTED + "red,Red,,full,108,82.5,10,1.3\nred,Red 2,,full,108,82.5,10,1.3\n"
                                      "blue,Blue,,full,108,82.5,ten,1.3\n,Green,measured,full,108,82.5,10,1.3\n", encoding="utf-8")
    code, out, err = run("import", tmp_path / "old.csv", "--records", tmp_path)
    assert code == 4 and out.startswith("imported: 2 records to ")
    assert "old.csv:3: name: 'red' names a row before this one too" in err and "old.csv:4: crank_height: 'ten' is not a length" in err
    found = records.load([tmp_path])
    assert {name: entry.record.basis for name, entry in found.by_name.items()} == {"red": "told", "green": "measured"}
    (tmp_path / "old.csv").write_text(LISTED + "red,Red,,full,108,84.5,10,1.3\n", encoding="utf-8")
    code, _out, err = run("import", tmp_path / "old.csv", "--records", tmp_path)
    assert code == 4 and "says otherwise; give this one another name" in err and found.entries == records.load([tmp_path]).entries


@pytest.mark.parametrize("words, told", [
    (("list",), "no folder of records was named; give one with --records DIR, or name it in CRANKLINE_RECORDS"),
    (("list", "--records", DEMO_RECORDS, "--csv", "--json"), "give one of them"),
    (("add", CAR, "--records", "x", "--result", "sixty_feet=1.3"), "--result: sixty_feet: the key is unknown (did you mean sixty_foot?)"),
    (("add", CAR, "--records", "x", "--result", "sixty_foot"), "write FIELD=VALUE"),
    (("add", CAR, "--records", "x", "--result", "left=up", "--result", "power=900"), "power: '900' has no unit"),
    (("add", CAR, "--records", "x", "--file", "../x.yaml"), "--file: '../x.yaml' was found"),
    (("add", CAR, "--records", DEMO_RECORDS, "--name", "invented_001"), "--name: a record named 'invented_001' is in "),
    (("suggest", CAR, "--records", "x", "--given", "power=900hp", "--given", "power=800hp"), "--given: power: the field is given twice"),
    (("add", CAR, "--records", "x", "--name", ""), "--name: '' is not a name for a record"),
    (("add", "nowhere.yaml", "--records", "x"), "there is no such file"),
    (("import", "nowhere.csv", "--records", "x"), "nowhere.csv: the file cannot be read"),
    (("suggest", CAR, "--records", DEMO_RECORDS, "--given", "tires=soft"), "one of slick, street is allowed"), ((), "WHAT")])
def test_wrong_use_is_one_sentence_and_writes_nothing(words, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words)
    assert code == 2 and told in err and not out and not list(tmp_path.iterdir()), err


@pytest.mark.parametrize("what", ["add", "list", "show", "import", "check", "suggest"])
def test_help_names_what_is_taken(what):
    code, out, err = run(what, "--help")
    told = " ".join(out.split())
    assert code == 0 and not err and "--records DIR" in told
    if what in ("add", "import"):
        assert all(f"{entry.key}: {entry.doc}" in told for entry in record.entries(records.PlacementRecord).values())


def test_what_cannot_be_read_is_told_and_makes_the_run_incomplete(tmp_path):
    (tmp_path / "torn.yaml").write_text("records: 1\nrows:\n  red: {car: Red}\n")
    code, out, err = run("list", "--records", DEMO_RECORDS, "--records", tmp_path)
    assert code == 4 and "torn.yaml:3: rows.red.wheelbase: the key is missing" in err and "72 records" in out
    assert run("check", "--records", tmp_path)[0] == 4
    # Also where something else is to be looked at.
    (tmp_path / "more.yaml").write_text("records: 1\nrows:\n" + "".join(
        f"  {name}: {{car: Red, body: full, wheelbase: 112 in, axle_to_block: 83 in, crank_height: 10 in, basis: told}}\n"
        for name in "ab"))
    assert run("check", "--records", tmp_path)[0] == 4 and "duplicate" in run("check", "--records", tmp_path)[1]
    (tmp_path / "more.yaml").unlink()
    code, out, _err = run("check", "--records", tmp_path, "--json")
    assert "torn.yaml:3" in json.loads(out)["unreadable"][0]
