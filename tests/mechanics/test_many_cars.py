"""Runs over many cars: which they are, how they are shared out, what becomes of one that fails, what a summary tells. The host is a
program that only pretends."""
from __future__ import annotations

import io
import json
import os
import stat
import sys
import textwrap
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest
import snapshot_fakes as fakes

from crankline import checks, headless, reports
from crankline.batch import cars, inputs, pool, summary
from crankline.batch.cars import CarsError, Entry


@pytest.fixture()
def shop(tmp_path):
    for name in ("north/car.yaml", "south/car.yaml", "south/other.yml", "south/results/third/car.yaml", ".kept/hidden.yaml"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("# a car\ncrankline: 1\n", encoding="utf-8")
    (tmp_path / "south/engines.yaml").write_text("engines: {}\n", encoding="utf-8")
    (tmp_path / "south/saved.FCStd").write_bytes(b"PK")
    return tmp_path


def names(entries):
    return [entry.name for entry in entries]


def test_folders_patterns_and_files_are_cars_under_names_of_their_own(shop):
    results = shop / "south/results"
    assert names(cars.gather([str(shop)], False, results)) == ["north-car", "other", "south-car"]
    assert names(cars.gather([str(shop)], True, results)) == ["north-car", "other", "saved", "south-car"]
    assert names(cars.gather([str(shop / "*/car.yaml"), str(shop / "south/car.yaml")], False)) == ["north-car", "south-car"]
    assert names(cars.gather([str(shop / "south/car.yaml"), str(shop / "nowhere.yaml")], False)) == ["car", "nowhere"]
    with pytest.raises(CarsError, match="no car file in it"):
        cars.gather([str(shop / "*.yaml")], False)
    (shop / "south/car.FCStd").write_bytes(b"PK")
    with pytest.raises(CarsError, match="would both write to a folder south-car"):
        cars.gather([str(shop)], True, results)


@pytest.mark.parametrize("data", [b"\xef\xbb\xbfcrankline: 1\n", "crankline: 1\n".encode("utf-16"), b'"crankline": 1\n',
                                  b"{crankline: 1}\n"])
def test_a_car_file_in_another_encoding_is_told_and_not_left_out(shop, data):
    (shop / "south/odd.yaml").write_bytes(data)
    (shop / "south/readings.yaml").write_text("crankline_readings: 1\n", encoding="utf-8")
    assert names(cars.gather([str(shop / "south")], False, shop / "south/results")) == ["car", "odd", "other"]


def test_a_file_for_a_server_without_a_folder_is_refused(shop):
    out = io.StringIO()
    assert headless.main(["check", str(shop / "north/car.yaml"), "--sarif"], out, out) == 2
    assert out.getvalue() == "--sarif: there is no folder for checks.sarif; give one with --out\n"


def test_one_plain_file_is_no_run_over_many(shop):
    assert not cars.several([str(shop / "north/car.yaml")]) and not cars.several([str(shop / "nowhere.yaml")])
    assert cars.several([str(shop)]) and cars.several(["a", "b"]) and cars.several([str(shop / "*.yaml")])


def test_shares_are_the_list_once(shop):
    entries = tuple(Entry(f"car{number:02}", shop) for number in range(11))
    for count in (1, 3, 11, 20):
        shares = [cars.shard(entries, f"{share}/{count}") for share in range(1, count + 1)]
        assert sorted(names([entry for share in shares for entry in share])) == names(entries)
        assert max(map(len, shares)) - min(map(len, shares)) <= 1
    for wrong in ("0/3", "4/3", "1", "1/", "a/b", "1/0"):
        with pytest.raises(CarsError, match="--shard"):
            cars.shard(entries, wrong)


def test_what_a_result_hangs_on_tells_whether_it_is_kept(shop):
    path, rules = shop / "north/car.yaml", shop / "rules.yaml"
    rules.write_text("set: a\n", encoding="utf-8")
    asked = {"command": "check", "fail_on": "error", "event_date": "2026-12-01"}
    first = inputs.identity(path, asked, [str(rules)], [str(shop / "south")])
    assert first == inputs.identity(path, asked, [str(rules)], [str(shop / "south")]) and first["file"] == "car.yaml"
    seen = {first["sha256"]}
    for change in ({"fail_on": "warning"}, {"event_date": "2026-12-02"}, {"event_date": None}):
        seen.add(inputs.identity(path, {**asked, **change}, [str(rules)], [str(shop / "south")])["sha256"])
    for file in (rules, shop / "south/engines.yaml", path):
        file.write_text(file.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
        seen.add(inputs.identity(path, asked, [str(rules)], [str(shop / "south")])["sha256"])
    (shop / "north/frame.FCStd").write_bytes(b"one")
    path.write_text("crankline: 1\nchassis:\n  sketches: {file: frame.FCStd}\n", encoding="utf-8")
    seen.add(inputs.identity(path, asked, [str(rules)], [str(shop / "south")])["sha256"])
    (shop / "north/frame.FCStd").write_bytes(b"two")
    seen.add(inputs.identity(path, asked, [str(rules)], [str(shop / "south")])["sha256"])
    assert len(seen) == 9


PRETENDER = '''
import json, os, sys, time
folder = os.environ["CRANKLINE_WORKER"]
for line in sys.stdin:
    job = json.loads(line)
    what, out = job["arguments"]
    if what == "die":
        os._exit(9)
    if what == "stuck":
        open(os.path.join(folder, "now.about"), "w").write("the loop second")
        os._exit(27)
    if what == "hang":
        time.sleep(600)
    with open(os.path.join(folder, "beside"), "w") as file:
        json.dump({"code": int(what), "out": str(os.getpid()), "err": "[ 1.0 s] progress\\nrun: a sentence\\n", "seconds": 0.5}, file)
    os.replace(os.path.join(folder, "beside"), os.path.join(folder, str(job["number"]) + ".json"))
'''


def test_a_car_that_fails_hangs_or_ends_its_process_costs_only_itself(tmp_path, monkeypatch):
    program = tmp_path / "pretender"
    program.write_text(f"#!{sys.executable if 'python' in os.path.basename(sys.executable) else '/usr/bin/env python3'}\n"
                       + textwrap.dedent(PRETENDER), encoding="utf-8")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("CRANKLINE_HOST", str(program))
    monkeypatch.setattr(pool, "STARTING", 0.0)
    found: dict[str, pool.Answer] = {}
    asked = ["0", "die", "1", "hang", "stuck", "4", "0", "2", "5"]
    pool.run({f"{number}{what}": [what, ""] for number, what in enumerate(asked)}, 2, 3.0, found.__setitem__)
    assert {name[1:] if name[0].isdigit() else name: answer.code for name, answer in found.items()} == {
        "0": 0, "die": 5, "1": 1, "hang": 3, "stuck": 3, "4": 4, "2": 2, "5": 5}
    assert len(found) == len(asked)
    assert "stopped after 3 s" in found["3hang"].err and "the loop second" in found["4stuck"].err and "status 9" in found["1die"].err
    assert summary.sentence_of(found["00"].err) == "run: a sentence"
    assert summary.sentence_of("[ 1.0 s] on\na: one\nb: two\n") == "a: one (and 1 more)" and summary.sentence_of("") == ""
    assert len({answer.out for answer in found.values() if answer.out}) < 6      # processes are used again


def reported():
    snapshot = fakes.snapshot(fakes.automatic())
    outcome = checks.run(snapshot, event_date="2026-05-01", measurer=fakes.FakeMeasurer())
    return json.loads(reports.report_text(reports.report(outcome, snapshot, {"program": "none"})))


def compared(folder, *words):
    out, places = io.StringIO(), ("good", "one", "one/a", "one/c")
    return headless.main([str(folder / word) if word in places else word for word in words], out, out), out.getvalue()


def test_a_summary_comes_back_and_shares_together_are_the_whole(tmp_path):
    report = reported()
    rows = [summary.row("a", "a.yaml", 0, 1.5, report, ""), summary.row("b", "b.yaml", 2, 0.1, None, "b.yaml:1: wrong"),
            summary.row("c", "c.yaml", 4, 2.5, report, "", kept=True)]
    for row in rows:
        if row.open:
            (tmp_path / "one" / row.name).mkdir(parents=True, exist_ok=True)
            (tmp_path / "one" / row.name / "report.json").write_text(json.dumps(report), encoding="utf-8")
    whole = summary.Summary(tuple(rows), ("a", "b", "c"))
    assert whole.code == 2 and not whole.missing
    paths = summary.write(whole, tmp_path / "one")
    assert [path.name for path in paths] == ["summary.json", "summary.csv", "checks.xml", "index.html"]
    assert summary.read(tmp_path / "one") == whole
    lines = summary.table(whole)
    assert lines[1].startswith("b") and lines[-1] == "3 cars: 1 refused, 1 not all evaluated, 1 clean" and "b: b.yaml:1: wrong" in lines
    root = ElementTree.parse(tmp_path / "one/checks.xml").getroot()
    assert [suite.get("name") for suite in root] == ["a", "b", "c"] and int(root.get("tests")) == 2 * len(report["findings"]) + 1
    assert 'href="a/findings.html"' in (tmp_path / "one/index.html").read_text(encoding="utf-8")
    for name, share in (("left", rows[:2]), ("right", rows[2:])):
        (tmp_path / name).mkdir()
        summary.write(summary.Summary(tuple(share), whole.cars), tmp_path / name)
    both = summary.together([tmp_path / "left", tmp_path / "right"], tmp_path / "both")
    assert tuple(replace(row, folder=row.name) for row in both.rows) == whole.rows and both.rows[0].folder == "../left/a"
    assert summary.together([tmp_path / "right"], tmp_path).missing == ("a", "b")
    assert summary.table(summary.together([tmp_path / "right"], tmp_path))[-1] == "no result for 2 cars of the list: a, b"
    # A car that was refused is neither equal nor taken for good.
    said = compared(tmp_path, "compare", "one", "one")
    assert said[0] == 4 and "b: not compared, because it has no report: b.yaml:1: wrong" in said[1]
    assert compared(tmp_path, "compare", "one/a", "one/c")[0] == 0
    said = compared(tmp_path, "baseline", "accept", "one", "--reason", "the first results", "--baseline", "good")
    assert said[0] == 4 and "accepted: a, c" in said[1] and "b: not accepted, because it has no report" in said[1]
    (tmp_path / "one/a.json").write_text('{"findings": 3}', encoding="utf-8")
    said = io.StringIO()
    assert headless.main(["compare", str(tmp_path / "one/a.json"), str(tmp_path / "one/a")], said, said) == 2
    assert "a.json: it is not a report" in said.getvalue()
    with pytest.raises(summary.SummaryError, match="a: it is in"):
        summary.together([tmp_path / "left", tmp_path / "one"], tmp_path / "both")
    for text in ("", "[]", '{"format": 9}', '{"format": 1, "cars": [], "rows": [{"name": "a"}]}'):
        (tmp_path / "left" / summary.NAME).write_text(text, encoding="utf-8")
        with pytest.raises(summary.SummaryError, match=r"damaged|of format 9"):
            summary.read(tmp_path / "left")
    with pytest.raises(summary.SummaryError, match="name a folder"):
        summary.read(tmp_path / "nowhere")
