"""The command `window`: what it writes and says, what it refuses. The check of a chosen placement is the host's (tests/host)."""
from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest
from conftest import ROOT

from crankline import carfile, headless, model, placement_window, record
from crankline.placement_window import State, words

DEMO = ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"
COARSE = ("--axle-to-block", "80..86in/0.5in", "--crank-height", "9,10,11in", "--pitch", "1.9,2.1deg")


RECORDS = ("--records", str(ROOT / "demo_assemblies" / "records"))


def command(folder, *more):
    said, failed = io.StringIO(), io.StringIO()
    code = headless.main(["window", str(DEMO), "--out", str(folder), "--quiet", *more], said, failed)
    return code, said.getvalue(), failed.getvalue()


@pytest.fixture
def run(tmp_path):
    return lambda *more: command(tmp_path / "out", *more)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("window")
    return folder, command(folder, *COARSE, *RECORDS, "--border")


def test_table_json_and_words_tell_of_the_same_window(written):
    folder, (code, said, failed) = written
    assert (code, failed) == (0, "")
    window = placement_window.grid(carfile.read(DEMO), [25.4 * (80.0 + 0.5 * n) for n in range(13)], [228.6, 254.0, 279.4],
                                   [0.03316125578789226, 0.036651914291880916])
    rows = list(csv.DictReader((folder / "window.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == window.allowed.size == 78
    for n, row in enumerate(rows):
        i, j, k = n // 6, n % 6 // 2, n % 2
        assert float(row["axle_to_block_in"]) == pytest.approx(80.0 + 0.5 * i) and float(row["crank_height_in"]) == pytest.approx(9.0 + j)
        assert row["allowed"] == str(int(window.allowed[i, j, k]))
        opened = [claim.rule.id for at, claim in enumerate(window.claims) if window.states(at)[i, j, k] == State.OPEN]
        assert row["open"].split() == opened and row["not_evaluated"] == ""
        assert float(row["shaft_length_in"]) == pytest.approx(window.figure("shaft_length")[i, j, k] / 25.4, rel=1e-5)
    told = json.loads((folder / "window.json").read_text(encoding="utf-8"))
    assert told["records"] > 10 and told["points"]["best"]["axle_to_block_mm"] == window.best().x and told["layers"][0]["border"]
    assert {rule["id"] for rule in told["rules"]} & {rule["id"] for rule in told["not_looked_at"]} == set()
    assert window.reach(0) in said and "rear edge: PRA-SUPPORT" in said and "120 are not looked at here" in said
    for form in ("png", "svg", "pdf"):
        assert (folder / f"window.{form}").stat().st_size > 5000


def test_two_runs_write_the_same_bytes(written, tmp_path):
    folder, told = written
    again = command(tmp_path, *COARSE, *RECORDS, "--border")
    assert again == (told[0], told[1].replace(str(folder), str(tmp_path)), told[2])
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["window.csv", "window.json", "window.pdf", "window.png", "window.svg"]
    for name in names:
        assert (folder / name).read_bytes() == (tmp_path / name).read_bytes(), name


def test_nothing_allowed_is_a_finding_and_says_why(run):
    code, said, _failed = run("--axle-to-block", "70..74in/1in", "--crank-height", "7,8in")
    assert code == 1 and "met by no placement in this window, so what follows is allowed but for it: PRA-SUPPORT" in said
    code, said, _failed = run("--axle-to-block", "82..84in/1in", "--crank-height", "7,8.5in", "--ignore", "DRV-RESIDUAL")
    assert code == 1 and "DRV-ANGLE-SPEED" in said and "left out: DRV-RESIDUAL" in said


@pytest.mark.parametrize("options, words", [
    (("--axle-to-block", "80..86/0.5"), "--axle-to-block"), (("--axle-to-block", "80..86in"), "--axle-to-block"),
    (("--crank-height", "9 deg"), "--crank-height"), (("--pitch", "level"), "--pitch"), (("--at", "83 in"), "--at"),
    (("--weights", "speed=1"), "--weights"), (("--weights", "border"), "--weights"),
    (("--ignore", "CLR-INTERFERENCE"), "--ignore: CLR-INTERFERENCE"),
    (("--front-share", "50"), "--front-share"), (("--axle-to-block", "70..90in/0.01in", "--crank-height", "5..20in/0.01in"), "placements"),
    (("--rules", "nowhere.yaml"), "nowhere.yaml"), (("--pitch", "80deg"), "--pitch: '80 deg' is out of range"),
    (("--axle-to-block", "1e9in"), "--axle-to-block: '1e9in' is out of range"), (("--at", "83in,900in"), "--at: '900in' is out of range")])
def test_a_wrong_command_is_one_sentence(run, tmp_path, options, words):
    code, said, failed = run(*options)
    assert code == 2 and said == "" and words in failed and failed.count("\n") == 1, failed
    assert not (tmp_path / "out" / "window.csv").exists()


def test_a_file_that_is_not_there_is_refused(tmp_path):
    said, failed = io.StringIO(), io.StringIO()
    assert headless.main(["window", str(tmp_path / "no.yaml"), "--out", str(tmp_path)], said, failed) == 2
    assert "no such file" in failed.getvalue()


def test_a_rule_that_could_not_be_evaluated_is_no_pass_and_no_failure(tmp_path):
    """Of a car without rear suspension joint angles over the travel are not known: 4, not 1; one placement is said in the singular."""
    said = io.StringIO()
    code = headless.main(["window", str(ROOT / "demo_assemblies" / "minimal.yaml"), "--out", str(tmp_path), "--quiet",
                          "--axle-to-block", "83in", "--crank-height", "10in"], said, said)
    assert code == 4 and "1 placement. 5 rules are read" in said.getvalue() and "not evaluated at any placement" in said.getvalue()


def test_a_car_that_is_shown_as_built_is_told_to_be_looked_at_as_designed():
    car = carfile.read(DEMO)
    built = record.sparse(model.AsBuilt, axle_to_block=2128.7, crank_height=257.9, pitch=0.045)
    car = replace(car, placement=replace(car.placement, as_built=built, shown="as_built"))
    window = placement_window.grid(car, [2120.0], [254.0])
    first = next(words.lines(window, {}, {}))
    assert first.startswith("the car is shown as built; this is of the car as designed")


def test_a_window_without_any_placement_says_so():
    car = replace(carfile.read(DEMO), placement=replace(carfile.read(DEMO).placement, pitch_mode="in_line", pitch=None))
    told = list(words.lines(placement_window.grid(car, [152.4], [254.0]), {}, {}))
    assert "pitch in line: no placement is allowed" in told and told[-1] == words.NOWHERE
