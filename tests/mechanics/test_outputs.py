"""What a run puts into its folder, what it takes out of it, and what it leaves alone."""
from __future__ import annotations

import datetime
import errno
import hashlib
import io
import json
import os

import pytest

from crankline import checks, headless
from crankline.document_files import OutputError
from crankline.outputs import DRAWN, mine
from crankline.staging import Staging


def put(folder, files):
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)


def run(target, files, replaces=lambda _name: True, report=True):
    """A run that writes these files; what it removed."""
    with Staging(target) as staging:
        put(staging.folder, files)
        if report:
            put(staging.folder, {"report.json": json.dumps({"files": staging.digests()})})
        names, removed = staging.publish(replaces)
    assert names == sorted(files) + ["report.json"] * report
    return removed


def here(folder):
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


FIRST = {"car.step": "1", "side-view.pdf": "1", "flat/mid-plate.dxf": "1", "flat/front-plate.dxf": "1", "flat/protector.dxf": "1"}


def test_cut_files_of_parts_that_are_gone_go_and_all_else_stays(tmp_path):
    assert run(tmp_path, FIRST) == []
    own = {"flat/my own.dxf": "mine", "notes.txt": "mine", "flat/protector.dxf": "edited by hand"}
    put(tmp_path, own)
    second = {"car.step": "2", "side-view.pdf": "2", "flat/mid-plate.dxf": "1"}
    assert run(tmp_path, second) == ["flat/front-plate.dxf"]
    assert here(tmp_path) == {*second, *own, "report.json"}
    assert json.loads((tmp_path / "report.json").read_text())["files"].keys() == second.keys()
    assert (tmp_path / "flat/protector.dxf").read_text() == "edited by hand"


def test_sheets_in_another_form_are_left_alone():
    ours = mine(DRAWN)
    assert ours("set-up.pdf") and ours("flat/MP-1.dxf") and not ours("set-up-1.png") and not ours("set-up-x.pdf")
    ours = mine(DRAWN, "png")
    assert ours("set-up-1.png") and ours("set-up.png") and ours("kit.csv") and not ours("set-up.pdf") and not ours("set-up.svg")


def test_a_run_removes_only_what_it_makes(tmp_path):
    run(tmp_path, FIRST)
    assert run(tmp_path, {"side-view.pdf": "2", "flat/mid-plate.dxf": "2"}, mine(DRAWN), report=False) == ["flat/front-plate.dxf",
                                                                                                       "flat/protector.dxf"]
    assert (tmp_path / "car.step").is_file()
    assert run(tmp_path, {"checks.xml": "3"}, lambda _name: False) == []
    assert (tmp_path / "car.step").is_file() and (tmp_path / "flat/mid-plate.dxf").is_file()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"files": 3}', '{"files": {"flat/a.dxf": 3}}', "\xff"])
def test_a_report_that_says_nothing_removes_nothing(tmp_path, text):
    put(tmp_path, {"flat/a.dxf": "1"})
    (tmp_path / "report.json").write_bytes(text.encode("latin-1"))     # the last one is no UTF-8
    assert run(tmp_path, {"car.step": "1"}) == [] and (tmp_path / "flat/a.dxf").is_file()


def test_nothing_outside_the_folder_and_nothing_behind_a_link_is_removed(tmp_path):
    target, other = tmp_path / "target", tmp_path / "other"
    put(other, {"a.dxf": "1", "b.dxf": "1"})
    put(target, {"c.dxf": "1"})
    (target / "flat").symlink_to(other)
    (target / "link.dxf").symlink_to(target / "c.dxf")
    digest = hashlib.sha256(b"1").hexdigest()
    put(target,
        {"report.json": json.dumps({"files": dict.fromkeys(["../other/a.dxf", str(other / "b.dxf"), "flat/a.dxf", "link.dxf"], digest)})})
    assert run(target, {"car.step": "1"}) == []
    assert here(other) == {"a.dxf", "b.dxf"} and (target / "link.dxf").is_symlink()


# --- what is said where a run is stopped ---------------------------------------------------------------------------------


def stopped(monkeypatch, target, error, files=(), publish_until=None):
    """What the command line says of an error in a run that had staged these files, the error coming at one of them."""
    def action(session, options):
        session.target = target
        with Staging(target, session.placed) as staging:
            put(staging.folder, dict.fromkeys(files, "1"))
            if publish_until is None:
                raise error
            replace = os.replace

            def fails(source, place):
                if str(place).endswith(publish_until):
                    raise error
                replace(source, place)
            monkeypatch.setattr(os, "replace", fails)
            staging.publish()

    monkeypatch.setitem(headless.ACTIONS, "check", action)
    err = io.StringIO()
    code = headless.main(["check", "car.yaml"], io.StringIO(), err)
    sentence, = err.getvalue().splitlines()
    return code, sentence


@pytest.mark.parametrize("name, number, told", [
    ("report.json", errno.EACCES, "make it a writable folder, or give another one with --out"),
    ("..", errno.EROFS, "give another one with --out"), ("report.json", errno.ENOSPC, "free some space"),
    (None, errno.ENOSPC, "free some space"), ("../car.yaml", errno.EACCES, "can be read"),
    ("../car.yaml", errno.EIO, "check that it exists")])
def test_the_way_out_is_of_the_file_at_hand(monkeypatch, tmp_path, name, number, told):
    path = name and str((tmp_path / "out" / name).resolve())
    code, sentence = stopped(monkeypatch, tmp_path / "out", OSError(number, os.strerror(number), path))
    assert code == headless.REFUSED and told in sentence and os.strerror(number) in sentence and sentence.endswith("nothing was written")
    assert (path or "a file") in sentence and ("--out" in sentence) is (number == errno.ENOSPC or name in ("report.json", ".."))


@pytest.mark.parametrize("error, code", [(OSError(errno.EIO, "Input/output error"), headless.REFUSED),
                                         (BrokenPipeError(), headless.REFUSED),
                                         (KeyboardInterrupt(), headless.INTERNAL),
                                         (KeyError("x"), headless.INTERNAL), (OutputError("it came back empty"), headless.INTERNAL)])
def test_what_stands_already_is_told(monkeypatch, tmp_path, capsys, error, code):
    files = ("car.step", "flat/mid-plate.dxf", "side-view.pdf")
    found, sentence = stopped(monkeypatch, tmp_path, error, files, "side-view.pdf")
    assert found == code and "nothing was written" not in sentence
    assert f"car.step, flat/mid-plate.dxf of this run are already in {tmp_path}, " in sentence


def test_a_wrong_date_is_told_in_one_way(tmp_path):
    err = io.StringIO()
    assert headless.main(["check", "car.yaml", "--event-date", "1 May"], io.StringIO(), err) == headless.REFUSED
    with pytest.raises(checks.RuleError) as refused:
        checks.day("1 May")
    assert err.getvalue().strip() == str(refused.value) and checks.day("2026-05-01") == datetime.date(2026, 5, 1)
