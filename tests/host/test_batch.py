"""A run over several cars as a user starts it: results, what is kept, two shares put together, a car that is refused."""
from __future__ import annotations

import io
import json
import signal

import pytest
from conftest import ROOT

from crankline import headless
from crankline.batch import pool, summary

DATE = ["--event-date", "2026-12-01", "--remedies", "none", "--quiet"]


def run(*words):
    """Exit code and text of a command line in this process; the cars run in others."""
    out, err = io.StringIO(), io.StringIO()
    code = headless.main(list(map(str, words)), out, err)
    return code, out.getvalue(), err.getvalue()


def _timeless(text, name):
    return json.dumps({**json.loads(text), "run": None}) if name == "report.json" else text


def of(folder):
    """A summary without what differs between two runs of the same."""
    found = summary.read(folder)
    return [(row.name, row.code, row.open, row.not_evaluated, row.sentence) for row in found.rows]


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Three small cars, one of which is refused."""
    folder = tmp_path_factory.mktemp("shop")
    text = (ROOT / "demo_assemblies" / "minimal.yaml").read_text(encoding="utf-8")
    for name in ("ash", "beech", "cedar"):
        (folder / f"{name}.yaml").write_text(text if name != "beech" else text.replace("pitch:", "pich:"), encoding="utf-8")
    return folder


def test_several_cars_are_run_kept_and_put_together(shop):
    code, told, _progress = run("check", shop, "--out", shop / "whole", *DATE, "--jobs", "1")
    assert code == 2 and "3 cars: 1 refused, 2 not all evaluated" in told, told + _progress
    assert [row[:2] for row in of(shop / "whole")] == [("ash", 4), ("beech", 2), ("cedar", 4)]
    assert "beech.yaml" in of(shop / "whole")[1][4] and "pich" in of(shop / "whole")[1][4]
    ash, cedar = (json.loads((shop / "whole" / name / "report.json").read_text(encoding="utf-8")) for name in ("ash", "cedar"))
    assert {name for name in ash if ash[name] != cedar[name]} == {"run", "input"}
    assert not (shop / "whole/ash/checks.xml").exists()      # they are in one file together

    code, told, _progress = run("baseline", "accept", shop / "whole", "--baseline", shop / "good", "--quiet",
                               "--reason", "the first results")
    assert code == 4 and told.startswith("accepted: ash, cedar\nbeech: not accepted, because it has no report: "), told
    code, told, _progress = run("compare", shop / "whole/ash", shop / "good", "--quiet")
    assert code == 1 and "cedar: it is only in" in told and "ash: equal" in told, told
    code, told, _progress = run("compare", shop / "whole/ash", shop / "whole/cedar/report.json", "--out", shop / "differs", "--quiet")
    assert code == 0 and told == "ash and cedar: equal\n", told
    assert json.loads((shop / "differs/compare.json").read_text(encoding="utf-8"))[0]["equal"]

    before = (shop / "whole/ash/report.json").stat().st_mtime_ns
    car = shop / "cedar.yaml"
    car.write_text(car.read_text(encoding="utf-8").replace("crank_height:", "crank_hight:"), encoding="utf-8")
    code, told, _progress = run("check", shop, "--out", shop / "whole", *DATE, "--jobs", "1", "--resume", "--baseline", shop / "good")
    assert code == 2 and "ash: equal" in told and "cedar: equal" not in told, told
    assert [(row.kept, row.code) for row in summary.read(shop / "whole").rows] == [(True, 4), (False, 2), (False, 2)]
    assert (shop / "whole/ash/report.json").stat().st_mtime_ns == before and not (shop / "whole/cedar/report.json").exists()

    for share in ("1/2", "2/2"):
        run("check", shop / "*.yaml", "--out", shop / f"share{share[0]}", *DATE, "--jobs", "1", "--shard", share)
    assert [row[0] for row in of(shop / "share1")] == ["ash", "cedar"]
    for name in ("report.json", "findings.csv", "findings.html"):
        # Two runs, each in a process of its own: only what a report says of its run differs.
        one, other = (_timeless((shop / place / "ash" / name).read_text(encoding="utf-8"), name) for place in ("whole", "share1"))
        assert one == other and len(one) > 1000, name
    code, told, _progress = run("collect", shop / "share1", shop / "share2", "--out", shop / "both", "--quiet")
    assert code == 2 and of(shop / "both") == of(shop / "whole"), told
    code, told, _progress = run("collect", shop / "share2", "--out", shop / "part", "--quiet")
    assert code == 2 and "no result for 2 cars of the list: ash, cedar" in told, told


def test_a_process_that_is_killed_or_hangs_costs_its_car_and_no_other(shop, monkeypatch):
    """Real ones: one is killed by the system as it begins, one is stopped and answers no more."""
    given = pool._give
    signals = {"beech": signal.SIGSTOP, "cedar": signal.SIGKILL}

    def give(worker, job):
        given(worker, job)
        if job[1][0] in signals:
            worker.process.send_signal(signals[job[1][0]])

    monkeypatch.setattr(pool, "_give", give)
    folder = shop / "more"
    folder.mkdir()
    for name in ("ash", "beech", "cedar", "dogwood"):
        (folder / f"{name}.yaml").write_text((ROOT / "demo_assemblies/minimal.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    code, told, _progress = run("check", folder, "--out", folder / "out", *DATE, "--jobs", "1", "--timeout", "2")
    rows = {row[0]: row for row in of(folder / "out")}
    assert code == 5 and {name: row[1] for name, row in rows.items()} == {"ash": 4, "beech": 3, "cedar": 5, "dogwood": 4}, told
    assert "--timeout" in rows["beech"][4] and "FreeCAD ended with status -9" in rows["cedar"][4], rows
