"""What ``build``, ``check`` and ``collect`` do with many cars."""
from __future__ import annotations

from pathlib import Path

from .. import compat
from ..catalog import shop
from ..command_line import Refused, folder_of
from ..outputs import INCOMPLETE
from ..session import Session
from . import cars, inputs, pool, run, summary
from .cars import Entry


def several(options, documents: bool) -> tuple[Entry, ...] | None:
    """The cars of a run over many; nothing where it is over one file."""
    if not (cars.several(options.files) or options.shard or options.resume):
        return None
    try:
        return cars.gather(options.files, documents, Path(options.out) if options.out else None)
    except cars.CarsError as error:
        raise Refused(str(error)) from None


def over(session: Session, options, listed: tuple[Entry, ...], folder: Path | None) -> int:
    """A run over many cars."""
    try:
        mine = cars.shard(listed, options.shard) if options.shard else listed
    except cars.CarsError as error:
        raise Refused(str(error)) from None
    if folder is None and options.resume:
        raise Refused("--resume: there is no folder with earlier results; give it with --out")

    def words(path: Path, place: Path) -> list[str]:
        found = [options.command, str(path), "--out", str(place), "--fail-on", options.fail_on, "--remedies", options.remedies.text]
        found += ["--event-date", options.event_date] if options.event_date else []
        return found + [word for name, values in (("--rules", options.rules), ("--catalog", options.catalog)) for one in values
                        for word in (name, one)]

    return run.over(session, mine, listed, words, lambda path: input_of(path, options), compat.host(), folder,
                    options.jobs or pool.jobs_of_machine(), options.timeout, options.resume)


def input_of(path: Path, options) -> dict[str, str]:
    """What a run was given, as a report has it."""
    asked = {"command": options.command, "fail_on": options.fail_on, "event_date": options.event_date, "remedies": options.remedies.text}
    return inputs.told(path, asked, options.rules, [*shop.of_environment(), *options.catalog])


def collect(session: Session, options) -> int:
    """Several folders of results to one summary."""
    folder = folder_of(session, options.out)
    try:
        found = summary.together([Path(name) for name in options.folders], folder)
    except summary.SummaryError as error:
        raise Refused(str(error)) from None
    session.placed += [path.name for path in summary.write(found, folder)]
    for line in summary.table(found):
        session.say(line)
    return found.code if not found.missing else min(found.code, INCOMPLETE, key=summary.WORST_FIRST.index)
