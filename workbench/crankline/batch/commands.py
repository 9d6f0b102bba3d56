"""What ``build``, ``check``, ``collect``, ``vary``, ``compare`` and ``baseline`` do with many cars."""
from __future__ import annotations

import datetime
import glob
import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from .. import carfile, compat, source
from ..catalog import shop
from ..command_line import Refused, folder_of
from ..exit_codes import CLEAN, FINDINGS, INCOMPLETE, NO_REPORT, WORST_FIRST
from ..replacing import replacing
from ..reports import compare as comparing
from ..reports import csv_table, parquet_table
from ..session import Session
from . import baselines, cars, inputs, pool, run, summary, variants
from .cars import Entry
from .summary import Summary


def several(options, documents: bool) -> tuple[Entry, ...] | None:
    """The cars of a run over many; nothing where it is over one file."""
    if not (cars.several(options.files) or options.shard or options.resume or options.baseline):
        return None
    try:
        return cars.gather(options.files, documents, Path(options.out) if options.out else None)
    except cars.CarsError as error:
        raise Refused(str(error)) from None


def over(session: Session, options, listed: Sequence[Entry], folder: Path | None) -> int:
    """A run over many cars, held against baselines where they are given; the exit code."""
    if folder is None and options.resume:
        raise Refused("--resume: there is no folder with earlier results; give it with --out")
    if options.baseline is not None and not Path(options.baseline).is_dir():
        raise Refused(f"--baseline: there is no folder {options.baseline}; 'baseline accept' makes one")
    with _results(folder) as results:
        found = _run(session, options, listed, results, options.command)
        # Of a share the rest is not missing: another machine has it.
        _summarized(session, found, Summary(found.rows), folder, options.sarif)
        if options.baseline is None:
            return found.code
        try:
            pairs, new = baselines.compared(found, results, Path(options.baseline), options.tolerance)
        except (baselines.BaselineError, comparing.CompareError) as error:
            raise Refused(str(error)) from None
        for pair in pairs:
            for line in comparing.text(pair):
                session.say(line)
        for name in new:
            session.say(f"{name}: there is no baseline of it in {options.baseline}; take one with 'baseline accept'")
        if folder is not None:
            _write(session, folder, [(pair, baselines.read(Path(options.baseline), pair.name), summary.report_in(folder / pair.name))
                                     for pair in pairs])
    worst = min((row.code for row in found.rows if row.code in NO_REPORT), key=WORST_FIRST.index, default=CLEAN)
    return worst or (FINDINGS if new or not all(pair.equal for pair in pairs) else CLEAN)


@contextmanager
def _results(folder: Path | None) -> Iterator[Path]:
    """A folder for results: the one that was asked for, or one that goes with the run."""
    if folder is not None:
        yield folder
    else:
        with tempfile.TemporaryDirectory(prefix="crankline-results-") as place:
            yield Path(place)


def _summarized(session: Session, found: Summary, shown: Summary, folder: Path | None, with_sarif: bool = False) -> None:
    """Write what came of the cars, where there is a folder for it, and show it."""
    if folder is not None:
        session.placed += [path.name for path in summary.write(found, folder, with_sarif)]
    for line in summary.table(shown):
        session.say(line)


def _run(session: Session, options, listed: Sequence[Entry], folder: Path, command: str) -> Summary:
    try:
        mine = cars.shard(listed, options.shard) if options.shard else listed
    except cars.CarsError as error:
        raise Refused(str(error)) from None

    def words(path: Path, place: Path) -> list[str]:
        found = [command, str(path), "--out", str(place), "--fail-on", options.fail_on, "--remedies", options.remedies.text]
        found += ["--event-date", options.event_date] if options.event_date else []
        return found + [word for name, values in (("--rules", options.rules), ("--catalog", options.catalog)) for one in values
                        for word in (name, one)]

    return run.over(session, mine, listed, words, lambda path: input_of(path, options, command), compat.host(), folder,
                    options.jobs or pool.jobs_of_machine(), options.timeout, options.resume)


def input_of(path: Path, options, command: str = "") -> dict[str, str]:
    """What a run was given, as a report has it. command: what is done with each car, where that is another than the run's own."""
    asked = {"command": command or options.command, "fail_on": options.fail_on, "event_date": options.event_date,
             "remedies": options.remedies.text}
    return inputs.identity(path, asked, options.rules, [*shop.of_environment(), *options.catalog])


def collect(session: Session, options) -> int:
    """Several folders of results to one summary."""
    folder = folder_of(session, options.out)
    try:
        found = summary.together([Path(name) for name in options.folders], folder)
    except summary.SummaryError as error:
        raise Refused(str(error)) from None
    _summarized(session, found, found, folder, options.sarif)
    return found.code if not found.missing else min(found.code, INCOMPLETE, key=WORST_FIRST.index)


def vary(session: Session, options) -> int:
    """A car file with some values others, in every combination: the car files, their checks, and a table."""
    path, folder = Path(options.car), folder_of(session, options.out)
    try:
        axes = [variants.axis(text) for text in options.set]
        grid = variants.grid(axes)
        root = source.read(path)
        made = {name: variants.changed(root, values) for name, values in grid.items()}
    except variants.VariantError as error:
        raise Refused(str(error)) from None
    place = folder / "cars"
    place.mkdir(parents=True, exist_ok=True)
    entries = []
    for name, car in made.items():
        entries.append(Entry(name, place / f"{name}.yaml"))
        _beside(path, car, place)
        text = carfile.write_text(car)
        # One that is the same stays, so that its result may.
        if not entries[-1].path.is_file() or entries[-1].path.read_text(encoding="utf-8") != text:
            carfile.save(car, entries[-1].path)
    if options.only_write:
        for entry in entries:
            session.say(str(entry.path))
        return CLEAN
    found = _run(session, options, sorted(entries, key=lambda entry: entry.name), folder, "check")
    _summarized(session, found, Summary(found.rows), folder)
    rows = variants.table(axes, grid, {row.name: row.code for row in found.rows},
                          {row.name: summary.report_in(folder / row.folder) for row in found.rows})
    with replacing(folder / "variants.csv") as beside:
        beside.write_text(csv_table.lines(rows), encoding="utf-8-sig", newline="")
    session.say(str(folder / "variants.csv"))
    if parquet_table.there():
        with replacing(folder / "variants.parquet") as beside:
            parquet_table.write(rows, beside)
        session.say(str(folder / "variants.parquet"))
    return found.code


def _beside(path: Path, car, place: Path) -> None:
    """The document with the chassis' sketches goes where the variants are."""
    if car.chassis.sketches is not None:
        name = car.chassis.sketches.file
        data = (path.parent / name).read_bytes()
        if not (place / name).is_file() or (place / name).read_bytes() != data:
            with replacing(place / name) as beside:
                beside.write_bytes(data)


def compare(session: Session, options) -> int:
    """Two reports, cars, or folders of them: what differs; 0 where nothing does, 1 where something does, 4 where a car of a folder of
    results has no report in either."""
    folder = folder_of(session, options.out) if options.out else None
    _there(options.before, options.after)
    (before, lacking), (after, lacking_too) = (_reports(session, options, name) for name in (options.before, options.after))
    unseen = [name for name in dict.fromkeys([*lacking, *lacking_too]) if name not in before and name not in after]
    if len(before) == len(after) == 1:
        name = " and ".join(dict.fromkeys([*before, *after]))
        before, after = {name: next(iter(before.values()))}, {name: next(iter(after.values()))}
    only = [(name, where) for held, other, where in ((before, after, options.before), (after, before, options.after))
            for name in held if name not in other]
    try:
        pairs = [(comparing.compare(name, before[name], after[name], options.tolerance), before[name], after[name])
                 for name in before if name in after]
    except comparing.CompareError as error:
        raise Refused(str(error)) from None
    if folder is not None:
        _write(session, folder, pairs)
    for pair, _before, _after in pairs:
        for line in comparing.text(pair, None if options.all else comparing.MOST):
            session.say(line)
    for name, where in only:
        session.say(f"{name}: it is only in {where}")
    for name in unseen:
        session.say(f"{name}: not compared, because it has no report: {lacking.get(name) or lacking_too[name]}")
    if unseen:
        return INCOMPLETE
    return FINDINGS if only or not all(pair.equal for pair, _before, _after in pairs) else CLEAN


def _write(session: Session, folder: Path, pairs) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    texts = {"compare.json": json.dumps([pair.to_json() for pair, _before, _after in pairs], indent=1) + "\n",
             "compare.html": comparing.page(pairs)}
    for name, text in texts.items():
        with replacing(folder / name) as beside:
            beside.write_text(text, encoding="utf-8")
        session.placed.append(name)


def _there(*names: str) -> None:
    """Refused where nothing is there of what the user named, before anything is checked."""
    for name in names:
        if not Path(name).exists() and not glob.has_magic(name):
            raise Refused(f"{name}: there is no such file or folder; give a report, a folder of results or baselines, or cars")


def _reports(session: Session, options, name: str) -> tuple[Mapping[str, Mapping[str, Any]], Mapping[str, str]]:
    """Name to report of what the user named: a report, a folder of results or of baselines, or cars, which are checked first; and name to
    why of the cars of a folder of results that have none."""
    place = Path(name)
    if place.is_file() and place.suffix.lower() == ".json":
        return {place.parent.name if place.name == "report.json" else place.stem: _report(place)}, {}
    if (place / "report.json").is_file():
        return {place.name: _report(place / "report.json")}, {}
    if (place / summary.NAME).is_file():
        try:
            held = summary.read(place)
        except summary.SummaryError as error:
            raise Refused(str(error)) from None
        there = {row.name: report for row in held.rows if (report := summary.report_in(place / row.folder)) is not None}
        return there, {row.name: row.sentence or "report.json is missing or damaged" for row in held.rows if row.name not in there}
    if place.is_dir() and (files := sorted(place.glob("*.json"))):
        return {one.stem: _report(one) for one in files}, {}
    try:
        listed = cars.gather([name], True)
    except cars.CarsError as error:
        raise Refused(str(error)) from None
    with _results(None) as results:
        found = _run(session, options, listed, results, "check")
        reports = {row.name: report for row in found.rows if (report := summary.report_in(results / row.folder)) is not None}
    if missing := [row for row in found.rows if row.name not in reports]:
        raise Refused(f"{name}: {missing[0].name} has no report: {missing[0].sentence}")
    return reports, {}


def _report(place: Path) -> Mapping[str, Any]:
    try:
        held = json.loads(place.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        held = None
    if not comparing.is_report(held):
        raise Refused(f"{place}: it is not a report; give report.json, a folder of results, or a car")
    return held


def baseline(session: Session, options) -> int:
    """Results are taken for good, with a reason; 4 where a car of them has no report."""
    reports: dict[str, Mapping[str, Any]] = {}
    lacking: dict[str, str] = {}
    for name in options.results:
        found, without = _reports(session, options, name)
        lacking.update(without)
        if not found:
            raise Refused(f"{name}: there is no report in it; name a folder that build or check has written")
        if twice := next(iter(found.keys() & reports.keys()), ""):
            raise Refused(f"{name}: {twice} is in an earlier one too; give each car once")
        reports.update(found)
    try:
        taken = baselines.accept(reports, Path(options.baseline), options.reason, datetime.date.today())
    except baselines.BaselineError as error:
        raise Refused(str(error)) from None
    session.say(f"accepted: {', '.join(taken)}" if taken else "nothing was accepted, because nothing differs")
    for name, why in lacking.items():
        session.say(f"{name}: not accepted, because it has no report: {why}")
    return INCOMPLETE if lacking else CLEAN
