"""A command over many cars: kept results are taken over, the others run side by side, and a summary tells what came of each."""
from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from ..exit_codes import INTERNAL, NO_REPORT, WORDS
from ..session import Session
from . import inputs, pool, summary
from .cars import Entry
from .summary import Row, Summary


def over(session: Session, entries: Sequence[Entry], listed: Sequence[Entry], command: Callable[[Path, Path], list[str]],
         told: Callable[[Path], dict[str, str]], host: dict[str, str], folder: Path, jobs: int, timeout: float, resume: bool) -> Summary:
    """Run a command over cars, and tell what came of each.

    entries: those to run, of all that are listed; command: car and folder to the words of its command line; told: car to what a report says
    of its input; folder: for results, a sub-folder a car. resume: what is there of the same input, version and host is kept.
    """
    rows: dict[str, Row] = {}
    waiting = []
    for entry in entries:
        held = _kept(folder / entry.name, entry, told, host) if resume else None
        if held is None:
            waiting.append(entry)
        else:
            rows[entry.name] = summary.row(entry.name, str(entry.path), held["exit"], held["run"]["seconds"], held, "", kept=True)
    if rows:
        session.stage(f"{len(rows)} of {len(entries)} cars kept, because nothing they depend on has changed")
    files, begun = {entry.name: entry.path for entry in waiting}, time.monotonic()

    def ended(name: str, answer: pool.Answer) -> None:
        # A car that failed has no report of this run, but may have one of an earlier: it does not speak for this one.
        failed = answer.code in NO_REPORT
        report = None if failed else summary.report_in(folder / name)
        if report is None:
            _put_aside(folder / name)
        sentence = "" if report is not None else summary.sentence_of(answer.err) or "it ended without a report or a message"
        code = answer.code if failed or report is not None else INTERNAL
        rows[name] = summary.row(name, str(files[name]), code, answer.seconds, report, sentence)
        done = sum(one in rows for one in files)
        left = (time.monotonic() - begun) / done * (len(files) - done)
        why, rest = f", {sentence}" * bool(sentence), f"; about {left:.0f} s left" * (done < len(files))
        session.stage(f"{done} of {len(files)}: {name}: {code} {WORDS[code]}{why}{rest}")

    pool.run({entry.name: command(entry.path, folder / entry.name) for entry in waiting}, jobs, timeout, ended)
    return Summary(tuple(rows[name] for name in sorted(rows)), tuple(entry.name for entry in listed))


def _kept(folder: Path, entry: Entry, told: Callable[[Path], dict[str, str]], host: dict[str, str]) -> dict[str, Any] | None:
    """The report of a car that need not run again; nothing where it must."""
    report = summary.report_in(folder)
    try:
        good = report is not None and inputs.unchanged(report, told(entry.path), host)
    except OSError:
        return None     # it is told when it runs
    if not good or report is None or not report.get("run"):
        return None
    return report if all((folder / name).is_file() for name in report["files"]) else None


def _put_aside(folder: Path) -> None:
    """What an earlier run says of a car that now failed is put aside, so that nobody takes it for this run's."""
    place = folder / "report.json"
    if place.is_file():
        place.replace(folder / "report-of-an-earlier-run.json")
