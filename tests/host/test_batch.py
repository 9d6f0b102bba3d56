"""A run over several cars as a user starts it: results, what is kept, two shares put together, a car that is refused."""
from __future__ import annotations

import io
import json

import pytest
from conftest import ROOT

from crankline import headless
from crankline.batch import summary

DATE = ["--event-date", "2026-12-01", "--remedies", "none", "--quiet"]


def run(*words):
    """Exit code and text of a command line in this process; the cars run in others."""
    out, err = io.StringIO(), io.StringIO()
    code = headless.main(list(map(str, words)), out, err)
    return code, out.getvalue(), err.getvalue()


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
    assert code == 0 and told == "taken: ash, cedar\n"
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
    code, told, _progress = run("collect", shop / "share1", shop / "share2", "--out", shop / "both", "--quiet")
    assert code == 2 and of(shop / "both") == of(shop / "whole"), told
    code, told, _progress = run("collect", shop / "share2", "--out", shop / "part", "--quiet")
    assert code == 2 and "no result: ash, cedar" in told, told
