"""Fuzz, seeded: whatever is given is refused with a sentence or judged; nothing crashes, hangs, passes a fault, or is half written.

A short share runs with the suite. ``bash tests/run fuzz`` takes as many as it is told (``--fuzz N``, ``--seed S``); a case is its seed
and its number, so a run is gone on with by ``--fuzz-from N``.
"""
from __future__ import annotations

import hashlib
import json
import os
import random
import signal
import subprocess
from functools import cache
from pathlib import Path

import mutate
import pytest
from conftest import ROOT
from faults import FAULTS

from crankline import carfile, checks
from crankline.mechanics import scene
from crankline.rules import rule_file
from crankline.snapshot import Snapshot
from crankline.source import SourceError

DEMOS = sorted((ROOT / "demo_assemblies").glob("*.yaml"))
RULES = sorted((ROOT / "workbench" / "crankline" / "catalog" / "rules").glob("*.yaml"))


def cases(request, share: int, cost: int = 1):
    """(number, random source) of each case of this run. share: how many of them run with the suite; cost: of one, so that only one in so
    many is taken of those that were asked for."""
    options = request.config.option
    number = share if options.fuzz is None else max(1, options.fuzz // cost)
    for one in range(options.fuzz_from, options.fuzz_from + number):
        yield one, random.Random(f"{request.node.name} {options.seed} {one}")


def test_mutated_car_files_are_refused_or_read(request):
    """One sentence with file and key, never another error; what is read is written and read back the same."""
    for number, rng in cases(request, 60):
        text = mutate.text(rng.choice(DEMOS).read_text(encoding="utf-8"), rng)
        try:
            car = carfile.read_text(text.encode("utf-8", "surrogatepass"), "mutated.yaml")
        except SourceError as error:
            assert str(error).startswith("mutated.yaml") and "\n" not in str(error), (number, str(error))
            continue
        assert carfile.read_text(carfile.write_text(car)).car == car.car, number


def test_mutated_rule_files_are_refused_or_read(request, tmp_path):
    for number, rng in cases(request, 30):
        path = tmp_path / "mutated_rules.yaml"
        path.write_bytes(mutate.text(rng.choice(RULES).read_text(encoding="utf-8"), rng).encode("utf-8", "surrogatepass"))
        try:
            rule_file.read(str(path))
        except SourceError as error:
            assert "mutated_rules.yaml" in str(error) and "\n" not in str(error), (number, str(error))


@pytest.fixture(scope="module")
def saved():
    import cars
    return cars.saved(cars.AUTOMATIC)


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


def test_broken_documents_end_in_a_sentence(request, saved, tmp_path):
    """Cut short, with bits turned, or with a file inside mutated: the run ends by itself, and never as an internal error."""
    for number, rng in cases(request, 0, 60):
        path = tmp_path / "broken.FCStd"
        how = rng.choice((mutate.broken, mutate.entry))(saved, path, rng)
        code, said = run(["check", str(path), "--quiet", "--remedies", "none"], 600.0)
        assert code in (0, 1, 3, 4), (number, how, code, said)


def test_a_build_that_is_killed_leaves_nothing_half(request, tmp_path):
    """What stands in the folder afterwards is whole: a report is there only with every file that it lists, as it lists it."""
    for number, rng in cases(request, 0, 60):
        out = tmp_path / str(number)
        run(["build", str(DEMOS[0]), "--out", str(out), "--quiet", "--remedies", "none"], 600.0, rng.uniform(0.3, 40.0))
        report = out / "report.json"
        if report.exists():
            for name, digest in json.loads(report.read_text(encoding="utf-8"))["files"].items():
                assert hashlib.sha256((out / name).read_bytes()).hexdigest() == digest, (number, name)


@cache
def sound(path: Path):
    """A demo car and its findings of numbers, by rule and subjects."""
    car = carfile.read(path)
    return car, told(car)


def told(car):
    """(rule, subjects) of everything that is open or not evaluated without shapes."""
    findings = checks.run(Snapshot(car, scene.of(car), ())).findings
    return {(item.rule, item.subjects, item.discriminator) for item in findings if item.state.value == "open"}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_dangerous_fault_is_found(fault):
    """On each demo car: a rule that the fault names has a finding that the sound car has not."""
    for path in DEMOS:
        car, before = sound(path)
        new = told(fault.inject(car)) - before
        rules = {rule for rule, _subjects, _how in new}
        assert any(rule == name or (name.endswith("*") and rule.startswith(name[:-1])) for rule in rules for name in fault.told_by), \
            f"{path.stem}: {fault.name} was not found; new findings: {sorted(rules)}"
