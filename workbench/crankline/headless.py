"""The command line inside the host: ``build``, ``check``, ``collect``, ``rules``, ``sheets``, ``picture`` and ``example``.

``run_from_environment`` is what ``headless_main.py`` starts. Under the shell script the host's own exit status and standard output prove
nothing (it exits 0 on an uncaught exception and prints progress of its own), so the code goes to a file that the script names and our text
to descriptors that it opened.
"""
from __future__ import annotations

import errno
import os
import re
import sys
from pathlib import Path
from typing import TextIO

from . import checks, rules_command, time_limit
from .batch import commands, worker
from .catalog import shop
from .command_line import Help, Refused, file_of, folder_of, fresh, parser
from .document_files import OutputError
from .exit_codes import BROKEN, CLEAN, INCOMPLETE, INTERNAL, REFUSED
from .measure.host_measurer import HostMeasurer
from .measure.kept import Kept
from .outputs import BUILT, DRAWN, TOLD, Job, export, say_missing
from .progress import working_on
from .replacing import replacing
from .session import Session
from .source import SourceError
from .staging import Staging

EXAMPLE = "full_bodied_automatic.yaml"
"""The example car that is written where none is asked for by name."""


class Broken(Exception):
    """A document that cannot be opened or recomputed; one sentence; exit code 3."""


def main(arguments: list[str], out: TextIO, err: TextIO, kept: Kept | None = None) -> int:
    """Run one command and return its exit code (design: 0 clean, 1 findings, 2 refused, 3 broken, 4 incomplete, 5 internal). kept: of one
    car of many, what was measured of the others."""
    session = Session(out, err, kept)
    try:
        options = parser(session).parse_args(arguments)
        if options.command is None:
            raise Refused(f"run: no command was given; use {', '.join(ACTIONS)}; see run --help")
        session.quiet = options.quiet
        shop.use([*shop.of_environment(), *options.catalog])
        return ACTIONS[options.command](session, options)
    except Help as text:
        session.out.write(str(text))
        return CLEAN
    except (Refused, SourceError) as error:
        session.fail(str(error))
        return REFUSED
    except Broken as error:
        session.fail(str(error))
        return BROKEN
    except BrokenPipeError:
        session.fail(f"run: what reads the results went away before all of them were printed; {session.written_so_far()}")
        return REFUSED
    except OSError as error:
        session.fail(f"run: {_about_file(error, session)}; {session.written_so_far()}")
        return REFUSED
    except (KeyboardInterrupt, MemoryError) as error:
        session.fail(f"run: stopped by {type(error).__name__}; {session.written_so_far()}")
        return INTERNAL
    except OutputError as error:
        session.fail(f"run: {error}" + (f"; {session.written_so_far()}" if session.placed else ""))
        return INTERNAL
    except Exception as error:   # the last net: a traceback goes to the log, a sentence to the user
        import traceback
        traceback.print_exc()
        session.fail(f"run: an internal error stopped the run ({type(error).__name__}: {' '.join(str(error).split())[:200]}); "
                     f"{session.written_so_far()}; please report it with the car file")
        return INTERNAL


def _about_file(error: OSError, session: Session) -> str:
    """What the system refused, on which file, and the way out."""
    names = [os.path.abspath(os.fsdecode(name)) for name in (error.filename2, error.filename)
             if isinstance(name, (str, bytes, os.PathLike))]
    told = f"{names[0] if names else 'a file'}: {error.strerror or error}"
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"{told}; free some space, or give another folder with --out"
    target = session.target and os.path.abspath(session.target)
    # The folder itself, what is in it, and what it would stand in.
    if target and any((name + os.sep).startswith(target + os.sep) or target.startswith(name + os.sep) for name in names):
        return f"{told}; make it a writable folder, or give another one with --out"
    return f"{told}; check that it exists and can be read" if names else told


def build(session: Session, options) -> int:
    """Car file to document, findings, report, sheets and STEP; of many cars, each by itself."""
    folder = folder_of(session, options.out)
    _check_date(options.event_date)
    if (cars := commands.several(options, documents=False)) is not None:
        return commands.over(session, options, cars, folder)
    path = Path(options.files[0])
    return _check(session, _made(session, path, options.rules), path, folder, options, with_document=True)


def _made(session: Session, path: Path, rule_files: list[str]):
    """The document of a car file, not saved anywhere."""
    from . import carfile
    from .record import filled
    from .rules import rule_sets as sets
    session.stage(f"reading {path.name}")
    try:
        car = carfile.read(path)
        sets.select(filled(car).rules.sets, rule_files)   # a wrong rule set is told before anything is made
    except carfile.CarFileError as error:
        raise Refused(str(error)) from None
    except sets.RuleError as error:
        # Of a further rule file the car file knows nothing, so no line of it is to blame.
        raise (Refused(str(error)) if str(error).startswith("--rules") else _refusal(path, str(error), "rules.sets")) from None
    return _document_of(session, car, path)


def _document_of(session: Session, car, path: Path):
    """The document of a car whose file, or the file that it was read from, is given."""
    from .features import make, sketches
    from .features.plan import MakeError
    from .mechanics.scene import SceneError
    session.stage("building the document")
    try:
        document = make.document(car, "car", path.resolve().parent)
    except (MakeError, sketches.RoleError, SceneError) as error:
        raise _refusal(path, str(error)) from None
    document.Label = path.stem
    return document


def _refusal(path: Path, message: str, key: str = "chassis.sketches") -> Refused:
    """A refusal that came from making the document, with the line of the key that it names (or of ``key``)."""
    from . import source
    named = re.match(r"([a-z_]+(?:\.[a-z_0-9]+)+)", message)
    keys = (named.group(1) if named else key).split(".")
    line = source.read(path).at(*keys).line
    return Refused(f"{path}:{line}: {message if named else f'{key}: {message}'}")


def check(session: Session, options) -> int:
    """Car file or saved document to findings and report; the file itself is not written."""
    folder = folder_of(session, options.out) if options.out else None
    if options.sarif and folder is None:
        raise Refused("--sarif: there is no folder for checks.sarif; give one with --out")
    _check_date(options.event_date)
    if (cars := commands.several(options, documents=True)) is not None:
        return commands.over(session, options, cars, folder)
    path = Path(options.files[0])
    return _check(session, _document(session, options.files[0], options.rules), path, folder, options, with_document=False)


def records(session: Session, options) -> int:
    """Placement records of past cars, and what they say of a car."""
    from . import record_commands
    return record_commands.run(session, options, lambda name: _placed_car(session, name))


def _placed_car(session: Session, name: str):
    """A car and its scene, of a car file or a document; of a car file a document is made only where sketches give its chassis."""
    from . import carfile
    from .mechanics import scene
    path = Path(name)
    if path.is_file() and path.suffix.lower() in (".yaml", ".yml"):
        car = carfile.read(path)
        if car.chassis.sketches is None:
            try:
                return car, scene.of(car)
            except scene.SceneError as error:
                raise _refusal(path, str(error)) from None
    shot = _snapshot(_layout(_document(session, name, [])))
    if shot.scene is None:
        raise Broken(f"{name}: its placement has no solution; change axle-to-block, crank height or pitch")
    return shot.car, shot.scene


def window(session: Session, options) -> int:
    """Where the powertrain of a car may stand."""
    from . import window_command
    path = file_of(options.car)
    car, _scene = _placed_car(session, options.car)
    kept = Kept()   # what does not move with the powertrain is measured once

    def checked(placed):
        import FreeCAD as App
        layout, _shot, outcome = _looked(session, placed, path, rule_files=options.rules, measurer=HostMeasurer(kept))
        App.closeDocument(layout.Document.Name)
        return outcome
    return window_command.run(session, options, car, checked)


def fit(session: Session, options) -> int:
    """Readings of the real car to where its powertrain is, what passes there, and what to move."""
    from . import fit_command
    _check_date(options.event_date)
    return fit_command.run(session, options, lambda name: _placed_car(session, name), lambda car: _looked(
        session, car, Path(options.car), fail_on=options.fail_on, event_date=options.event_date, rule_files=options.rules))


def sheets(session: Session, options) -> int:
    """Car file or saved document to its sheets, and its findings as a page."""
    from . import compat, reports
    folder = folder_of(session, options.out)
    document = _document(session, options.document, [])
    layout = _layout(document)
    shot = _snapshot(layout)
    outcome = _outcome(session, shot)
    job = Job(layout, shot, outcome, size=options.size, form=options.format, stock=options.stock)
    job.report.update(reports.report(outcome, shot, compat.host(), marked=job.marked))
    written = export(job, DRAWN, folder, session.stage, session.placed)
    for name in written.files:
        session.say(str(folder / name))
    say_missing(session, written)
    return INCOMPLETE if written.missing else CLEAN


def picture(session: Session, options) -> int:
    """Car file or saved document to a shaded picture."""
    from .sheets import picture as painting
    target = Path(options.out)
    size = re.fullmatch(r"([1-9][0-9]{1,3})x([1-9][0-9]{1,3})", options.size)
    if target.suffix.lower() != ".png" or target.is_dir():
        raise Refused(f"--out: {target} is not the name of a picture; give a file that ends in .png")
    if size is None:
        raise Refused(f"--size: {options.size!r} was found; give width and height in pixels, 10 to 9999 each, such as 1600x900")
    session.target = target.parent
    shot = _snapshot(_layout(_document(session, options.document, [])))
    session.stage("painting")
    try:
        image = painting.draw(shot, (int(size[1]), int(size[2])), options.view)
    except ValueError as error:
        raise Broken(f"{options.document}: {error}") from None
    painting.write(image, target)
    session.say(str(target))
    return CLEAN


def example(session: Session, options) -> int:
    """An invented car file to start from."""
    import crankline
    folder = folder_of(session, options.out)
    if options.minimal and options.clutch:
        raise Refused("example: --minimal and --clutch were given; give one of them")
    name = "minimal.yaml" if options.minimal else "open_clutch.yaml" if options.clutch else EXAMPLE
    target = fresh("example", folder / name)
    folder.mkdir(parents=True, exist_ok=True)
    with replacing(target) as temporary:
        temporary.write_bytes((Path(crankline.ROOT) / "demo_assemblies" / name).read_bytes())
    session.placed.append(name)
    session.say(str(target))
    return CLEAN


def intake(session: Session, options) -> int:
    """A blank form of what is measured before a kit is made, and the car file that it is typed into."""
    import crankline

    from . import carfile
    from . import sheets as drawing
    from .sheets import SheetError, sheet_format
    from .sheets import intake as form
    folder = folder_of(session, options.out)
    example_car = carfile.read(Path(crankline.ROOT) / "demo_assemblies" / EXAMPLE)
    with Staging(folder, session.placed) as staging:
        session.stage("drawing the form")
        try:
            drawing.write_book(options.units, staging.folder, form.STEM, lambda size: form.sheets(example_car, options.units, size),
                               sheet_format.sizes_from(options.size or sheet_format.USUAL[options.units][0]), options.format)
        except SheetError as error:
            raise Broken(f"intake: {error}") from None
        (staging.folder / form.TEMPLATE).write_text(form.template(options.units), encoding="utf-8")
        for name in staging.names():
            fresh("intake", folder / name)
        written, _removed = staging.publish()
    for name in written:
        session.say(str(folder / name))
    return CLEAN


ACTIONS = {"build": build, "check": check, "collect": commands.collect, "vary": commands.vary,
           "compare": commands.compare, "baseline": commands.baseline, "rules": rules_command.run, "records": records, "window": window,
           "fit": fit, "sheets": sheets, "picture": picture, "example": example, "intake": intake}
"""Command to what does it; returns the exit code."""


def _check(session: Session, document, path: Path, folder: Path | None, options, with_document: bool) -> int:
    from . import compat, remedies, reports
    from .features import read
    from .reports import console
    layout = _layout(document)
    session.stage("reading the document")
    shot = _snapshot(layout)
    outcome = _outcome(session, shot, fail_on=options.fail_on, event_date=options.event_date, rule_files=options.rules)
    code = outcome.exit_code
    if code == BROKEN:
        raise Broken(f"{document.FileName or document.Label}: {read.root_cause(shot.unsound)}")
    outcome = session.watch("looking for remedies", remedies.steps(outcome, shot, options.remedies.effort, options.remedies.most))
    report = reports.report(outcome, shot, compat.host(), run={"input": commands.input_of(path, options), "run": session.told()})
    if folder is not None:
        # Many cars have one JUnit and one SARIF file together.
        names = [name for name in (BUILT if with_document else TOLD) if name != "junit" or not session.one_of_many]
        names += ["sarif"] if options.sarif else []
        written = export(Job(layout, shot, outcome, report), names, folder, session.stage, session.placed)
        say_missing(session, written)
        code = report["exit"]
    for line in console.lines(outcome.findings, report["car"]["units"], report["notes"], report["not_covered"]):
        session.say(line)
    return code


def _outcome(session: Session, shot, **options) -> checks.Outcome:
    """What the checks find; a document may name rule sets that this program does not know."""
    try:
        if session.kept is not None:
            options["measurer"] = HostMeasurer(session.kept)
        check = checks.Check(shot, **options)
    except (checks.RuleError, SourceError) as error:
        raise Refused(str(error)) from None
    session.watch("checking", check.steps())
    outcome = check.outcome()
    session.stage(f"checked; the longest single piece of work took {outcome.longest.seconds:.2f} s ({outcome.longest.about})")
    return outcome


def _looked(session: Session, car, path: Path, **options):
    """(layout, snapshot, what the checks find) of a car; path: of its file."""
    layout = _layout(_document_of(session, car, path))
    shot = _snapshot(layout)
    return layout, shot, _outcome(session, shot, **options)


def _layout(document):
    from .features import read
    try:
        return read.only_layout(document)
    except read.ReadError as error:
        raise Broken(str(error)) from None


def _snapshot(layout):
    from .features import read
    name = layout.Document.FileName or layout.Document.Label
    try:
        shot = read.snapshot(layout)
    except ValueError as error:
        raise Broken(f"{name}: {error}") from None
    if told := read.not_fit(shot):
        raise Broken(f"{name}: {told}; nothing was written")
    return shot


def _document(session: Session, name: str, rule_files: list[str]):
    """The document that a file holds, or that its car file makes."""
    import zipfile
    path = file_of(name)
    if path.suffix.lower() in (".yaml", ".yml"):
        return _made(session, path, rule_files)
    if not zipfile.is_zipfile(path):
        raise Broken(f"{path}: this is neither a car file (.yaml) nor a FreeCAD document; give one of them")
    return _opened(session, path)


def _opened(session: Session, path: Path):
    import FreeCAD as App

    from .features import read
    session.stage(f"opening {path.name}")
    working_on(f"{path.name}, while it was opened")
    try:
        document = App.openDocument(str(path.resolve()), True)
    except Exception as error:
        raise Broken(f"{path}: FreeCAD cannot open it ({' '.join(str(error).split())}); restore it from a copy") from None
    session.stage("recomputing")
    read.recompute(document)
    return document


def _check_date(text: str | None) -> None:
    """Refuse a wrong date before anything is made."""
    try:
        checks.day(text or None)
    except checks.RuleError as error:
        raise Refused(str(error)) from None


def run_from_environment() -> None:
    """Run the command in CRANKLINE_ARGV and leave the process; the exit code goes to the file CRANKLINE_DONE."""
    if folder := os.environ.get(worker.VARIABLE):
        worker.serve(main, Path(folder))
    text = os.environ.get("CRANKLINE_ARGV")
    own = sys.argv[sys.argv.index("--") + 1:] if "--" in sys.argv else []
    arguments = own if text is None else text.split("\x1f")[:-1]
    out = os.fdopen(int(os.environ.get("CRANKLINE_FD", "1")), "w", encoding="utf-8", closefd=False)
    err = os.fdopen(int(os.environ.get("CRANKLINE_ERR_FD", "2")), "w", encoding="utf-8", closefd=False)
    code = INTERNAL
    if done := os.environ.get("CRANKLINE_DONE"):
        time_limit.watch(done)
    try:
        code = main(arguments, out, err)
    finally:
        for stream in (out, err, sys.stdout, sys.stderr):
            try:
                stream.flush()
            except (OSError, ValueError):
                pass
        if done:
            with open(done, "w", encoding="ascii") as file:
                file.write(str(code))
        os._exit(code)
