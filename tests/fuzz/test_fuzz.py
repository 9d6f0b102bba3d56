"""Fuzz, seeded: whatever is given is refused with a sentence or judged; nothing crashes, hangs, passes a fault, or is half written.

A short share runs with the suite. ``bash tests/run fuzz`` takes as many as it is told (``--fuzz N``, ``--seed S``). A case is its seed
and its number; every case is run, and those that failed are told at the end. ``--fuzz-state FILE`` keeps how far each kind has come and
which cases failed, and goes on from there.
"""
from __future__ import annotations

import contextlib
import datetime
import hashlib
import json
import math
import os
import random
import shutil
import signal
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import cars
import FreeCAD as App
import invented_records
import mutate
import plausible
import pytest
from conftest import ROOT
from faults import FAULTS, SHAPES

from crankline import carfile, checks, records
from crankline.checks import waivers
from crankline.checks.evaluate import evaluate
from crankline.features import data, make, read
from crankline.mechanics import scene
from crankline.record import difference, filled
from crankline.records import csv_rows, screening, wording
from crankline.reports import csv_table
from crankline.rules import rule_file, rule_sets
from crankline.snapshot import Snapshot
from crankline.source import SourceError
from crankline.staging import Staging

CAR_FILES = sorted((ROOT / "demo_assemblies").glob("*.yaml"))
DEMOS = [ROOT / "demo_assemblies" / f"{name}.yaml" for name in cars.DEMOS]
"""Those of whole cars."""
RULES = sorted((ROOT / "workbench" / "crankline" / "catalog" / "rules").glob("*.yaml"))
SEVERITIES = ("error", "warning", "advice")
EVENT = datetime.date(2026, 5, 1)


def each_case(request, share: int, judge, cost: int = 1) -> None:
    """Every case of this run, by ``judge(number, random source)``; fails with those in which that raised. share: how many run with the
    suite; cost: of one, so that only one in so many is taken of those that were asked for."""
    options, name = request.config.option, request.node.name
    number = share if options.fuzz is None else max(1, options.fuzz // cost)
    state = Path(options.fuzz_state) if options.fuzz_state else None
    kept = json.loads(state.read_text(encoding="utf-8")) if state and state.exists() else {}
    done = kept.setdefault(f"{name} {options.seed}", {"next": 0, "failed": {}})
    failed: dict[str, str] = {}
    for one in range(done["next"], number):
        try:
            judge(one, random.Random(f"{name} {options.seed} {one}"))
        except Exception as error:      # whatever it is, it is what is looked for
            failed[str(one)] = f"{type(error).__name__}: {error}"[:400]
        done["next"], done["failed"] = one + 1, {**done["failed"], **failed}
        if state:
            state.write_text(json.dumps(kept, indent=1), encoding="utf-8")
    assert not done["failed"], f"{len(done['failed'])} of {max(done['next'], number)} cases: {done['failed']}"


def test_mutated_car_files_are_refused_or_read(request):
    """One sentence with file and key, never another error; what is read is written and read back the same."""
    def judge(_number, rng):
        text = mutate.text(rng.choice(CAR_FILES).read_text(encoding="utf-8"), rng)
        try:
            car = carfile.read_text(text.encode("utf-8", "surrogatepass"), "mutated.yaml")
        except SourceError as error:
            assert all(line.startswith("mutated.yaml") for line in str(error).split("\n")), str(error)
            return
        assert difference(carfile.read_text(carfile.write_text(car)), car) == []
    each_case(request, 60, judge)


def test_mutated_rule_files_are_refused_or_read(request, tmp_path):
    def judge(_number, rng):
        path = tmp_path / "mutated_rules.yaml"
        path.write_bytes(mutate.text(rng.choice(RULES).read_text(encoding="utf-8"), rng).encode("utf-8", "surrogatepass"))
        try:
            rule_file.read(str(path))
        except SourceError as error:
            assert all("mutated_rules.yaml" in line for line in str(error).split("\n")), str(error)
    each_case(request, 30, judge)


@cache
def found_on_a_tall_car():
    """A car with waivers, of what is open on it, and its findings without them."""
    car = carfile.read(DEMOS[0])
    car = replace(car, placement=replace(car.placement, crank_height=13.0 * 25.4, pitch=math.radians(4.0)))
    findings = [item for item in checks.run(Snapshot(car, scene.of(car), ()), event_date=EVENT).findings if item.state.value == "open"]
    given = [waivers.new_waiver(item, "the inspector has seen it", "C. Maker", EVENT) for item in findings if item.waivable]
    return replace(car, rules=replace(car.rules, waivers=tuple(given))), findings


def test_mutated_records_are_told_or_taken(request, tmp_path):
    """Files of placement records and comma-separated lists: whatever is wrong is a sentence with its file; whatever is read can be listed,
    screened, asked for a car, and written again; adding keeps every byte."""
    listed = [records.Entry(name, one) for name, one in invented_records.records(5, 24).items()]
    asked = records.of_car(carfile.read(DEMOS[0]), scene.of(carfile.read(DEMOS[0])))
    yaml, table = invented_records.text(5, 24), csv_table.lines(csv_rows.table(listed))

    def judge(number, rng):
        folder = tmp_path / str(number)
        folder.mkdir()
        path = folder / "mutated.yaml"
        path.write_bytes(mutate.text(yaml, rng).encode("utf-8", "surrogatepass"))
        held = records.load([folder])
        assert all("mutated.yaml" in str(problem) for problem in held.problems)
        wording.suggestion(records.suggest(asked, held))
        wording.screening(screening.screen(held), held)
        again = csv_rows.table(held.entries)
        (folder / "again.csv").write_text(csv_table.lines(again), encoding="utf-8", newline="")
        assert [row.name for row in csv_rows.read(folder / "again.csv", "told")] == [one.name for one in held.entries]
        before = path.read_bytes()
        with contextlib.suppress(SourceError):
            records.add(path, {"one more": listed[0].record})
        assert path.read_bytes().startswith(before)
        (folder / "mutated.csv").write_bytes(mutate.text(table, rng).encode("utf-8", "surrogatepass"))
        with contextlib.suppress(SourceError):
            for row in csv_rows.read(folder / "mutated.csv", "told"):
                assert isinstance(row, csv_rows.Row) or "mutated.csv" in str(row)
    each_case(request, 15, judge)


def test_mutated_waivers_waive_nothing_that_they_were_not_given_for(request):
    """Refused, or void or unused with a reason: a waiver that holds names the rule, an author, a reason and the edition, and no rule on a
    protective part is ever waived."""
    car, findings = found_on_a_tall_car()
    head, _section, tail = carfile.write_text(car).rpartition("waivers:")
    held = data.waivers_text(car.rules.waivers)

    def judge(number, rng):
        try:
            if number % 2:      # in a car file, or as a document keeps them
                written = head + "waivers:" + mutate.text(tail, rng)
                given = carfile.read_text(written.encode("utf-8", "surrogatepass"), "mutated.yaml").rules.waivers or ()
            else:
                given = data.waivers_from(mutate.text(held, rng)) or ()
        except ValueError as error:
            named = "mutated.yaml" if number % 2 else "the car object's Waivers"
            assert all(line.startswith(named) for line in str(error).split("\n")), str(error)
            return
        applied, unused = waivers.apply(findings, filled(given), EVENT, EVENT)
        for item in applied:
            if item.state.value != "waived":
                continue
            holds = item.waiver
            assert item.waivable and holds["rule"] == item.rule and set(holds["subjects"]) <= set(item.subjects), holds
            assert len(holds["reason"].strip()) >= 10 and holds["author"].strip() and holds["edition"] == item.edition, holds
            assert holds["date"] <= EVENT.isoformat() and holds.get("expires", "9999") >= EVENT.isoformat(), holds
        assert all(item.why for item in unused)
    each_case(request, 40, judge)


def test_a_mutated_report_of_an_earlier_run_touches_no_other_file(request, tmp_path):
    """What an output folder says of the run before is believed of files that are as it wrote them, inside that folder, and of no others."""
    outside = tmp_path / "outside.pdf"
    outside.write_bytes(b"outside")
    target = tmp_path / "out"

    def judge(_number, rng):
        target.mkdir(exist_ok=True)
        (target / "mine.pdf").write_bytes(b"mine")
        (target / "edited.pdf").write_bytes(b"edited since")
        listed = {name: hashlib.sha256(data).hexdigest() for name, data in
                  (("mine.pdf", b"mine"), ("edited.pdf", b"as it was"), ("../outside.pdf", b"outside"), (str(outside), b"outside"))}
        (target / "report.json").write_text(mutate.text(json.dumps({"crankline": 1, "files": listed}, indent=1), rng), encoding="utf-8",
                                            errors="surrogatepass")
        with Staging(target) as staging:
            (staging.folder / "report.json").write_text("{}", encoding="utf-8")
            staging.publish(lambda name: True)
        assert outside.read_bytes() == b"outside" and (target / "edited.pdf").read_bytes() == b"edited since"
    each_case(request, 30, judge)


def run(command: list[str], seconds: float, kill_after: float | None = None) -> tuple[int, str]:
    """The command line as a user starts it, in a process group of its own; (exit code, what it said). Killed at a moment: -9."""
    process = subprocess.Popen(["bash", str(ROOT / "workbench" / "run"), *command], stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                               text=True, start_new_session=True)
    try:
        said, _none = process.communicate(timeout=kill_after or seconds)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        said, _none = process.communicate()
        assert kill_after, f"{command} did not end within {seconds} s: {said}"
        return -9, said
    return process.returncode, said


def test_broken_documents_end_in_a_sentence(request, tmp_path):
    """Cut short, with bits turned, or with a file inside mutated: the run ends by itself, and never as an internal error."""
    def judge(_number, rng):
        path = tmp_path / "broken.FCStd"
        how = rng.choice((mutate.broken, mutate.entry))(cars.saved(cars.AUTOMATIC), path, rng)
        code, said = run(["check", str(path), "--quiet", "--remedies", "none"], 600.0)
        assert code in (0, 1, 3, 4), (how, code, said)
    each_case(request, 0, judge, 60)


def test_a_build_that_is_killed_leaves_nothing_half(request, tmp_path):
    """What stands in the folder afterwards is whole: a report is there only with every file that it lists, as it lists it."""
    def judge(number, rng):
        out = tmp_path / str(number)
        code, _said = run(["build", str(DEMOS[0]), "--out", str(out), "--quiet", "--remedies", "none"], 600.0, rng.uniform(0.3, 60.0))
        report = out / "report.json"
        assert report.exists() or code != 0
        if report.exists():
            for name, digest in json.loads(report.read_text(encoding="utf-8"))["files"].items():
                assert hashlib.sha256((out / name).read_bytes()).hexdigest() == digest, name
        shutil.rmtree(out, ignore_errors=True)
    each_case(request, 0, judge, 60)


# --- faults -----------------------------------------------------------------------------------------------------------


def told(car, fault, shot=None):
    """What a car is told by the rules that may tell a fault: (rule, subjects, discriminator) to what is open or not evaluated, and of the
    gravity that the fault asks for."""
    shot = shot or Snapshot(car, scene.of(car), ())
    selection = rule_sets.select(car.rules.sets or ())
    asked = [rule for rule in selection.rules if fault.tells(rule.id)]
    found = evaluate(asked, shot, cars.measurer() if shot.parts else None, EVENT, selection)
    return {(item.rule, item.subjects, item.discriminator): item for item in found
            if item.state.value == "not-evaluated"
            or (item.state.value == "open" and SEVERITIES.index(item.severity) <= SEVERITIES.index(fault.severity))}


def found(fault, faulty, before, after):
    """Fails where nothing tells a fault: no finding that the sound car has not, or has by less."""
    for key, item in after.items():
        known = before.get(key)
        if known is None or known.state != item.state:
            return
        if item.margin is not None and known.margin is not None and item.margin < known.margin - 1e-9:
            return
    raise AssertionError(f"{fault.name} is not found by {', '.join(fault.told_by)} on {faulty.car.name}")


@pytest.mark.parametrize("number", range(len(FAULTS)), ids=[fault.name for fault in FAULTS])
def test_a_dangerous_fault_is_found(number):
    """On a demo car, or on the other where the first cannot have it: a finding that the sound car has not."""
    fault, tried = FAULTS[number], 0
    for path in (DEMOS[number % 2], DEMOS[1 - number % 2]):
        car = carfile.read(path)
        faulty = fault.inject(car)
        if faulty is not None and not tried:
            found(fault, faulty, told(car, fault), told(faulty, fault))
            tried += 1
    assert tried


def test_every_fault_is_found_on_random_cars(request):
    """Every fault that numbers tell, one at a time, on each random plausible car."""
    def judge(number, rng):
        sound, missed = plausible.car(carfile.read(DEMOS[number % 2]), rng), []
        for fault in FAULTS:
            faulty = fault.inject(sound)
            if faulty is not None:
                try:
                    found(fault, faulty, told(sound, fault), told(faulty, fault))
                except AssertionError as error:
                    missed.append(str(error))
        assert not missed, missed
    each_case(request, 0, judge, 30)


def test_faults_of_shapes_are_found_on_random_cars(request):
    """On the document of a random plausible car, one fault that shapes tell; each in its turn."""
    def judge(number, rng):
        fault = SHAPES[(number // 2) % len(SHAPES)]
        sound = plausible.car(carfile.read(DEMOS[number % 2]), rng)
        faulty = fault.inject(sound)
        if faulty is not None:
            found(fault, faulty, told(sound, fault, shot(sound)), told(faulty, fault, shot(faulty)))
    each_case(request, 0, judge, 30)


def shot(car):
    """A snapshot of a car's document."""
    document = make.document(car, "Fuzz")
    try:
        return read.snapshot(read.only_layout(document))
    finally:
        App.closeDocument(document.Name)
