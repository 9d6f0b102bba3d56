"""What ``fit`` does: readings of the real car to where its powertrain is, what passes there and what to move; the form for readings."""
from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from . import checks, model, outputs, units
from .as_built import fitted, moves, readings, report, verdicts
from .command_line import Refused, folder_of, fresh
from .exit_codes import CLEAN, INCOMPLETE
from .mechanics import scene as scenes
from .mechanics.scene import Scene, SceneError
from .replacing import replacing
from .session import Session
from .sheets.set_up import value_text
from .snapshot import Snapshot

FORM = "readings.yaml"

CarOf = Callable[[str], tuple[model.Car, Scene]]
"""A car file or document to the car and where it is placed."""
Looked = Callable[[model.Car], tuple[Any, Snapshot, checks.Outcome]]
"""A car to the layout of its document, its snapshot and what a whole check of it finds."""


def run(session: Session, options, car_of: CarOf, looked: Looked) -> int:
    """Fit, or write the form; the exit code."""
    try:
        car, scene = fitted.designed(*car_of(options.car))
    except SceneError as error:
        raise Refused(f"fit: {error}") from None
    with units.read_in(car.car.units):
        if options.template:
            return _template(session, options, car, scene)
        if options.readings is None or not options.out:
            raise Refused("fit: give a readings file and --out DIR; 'fit --template CAR.yaml' writes the form for one")
        return _fit(session, options, car, scene, looked)


def _template(session: Session, options, car: model.Car, scene: Scene) -> int:
    text = readings.template(car, scene, value_text)
    if not options.out:
        session.out.write(text)
        return CLEAN
    folder = folder_of(session, options.out)
    target = fresh("fit", folder / FORM)
    folder.mkdir(parents=True, exist_ok=True)
    with replacing(target) as temporary:
        temporary.write_text(text, encoding="utf-8")
    session.say(str(target))
    return CLEAN


def _fit(session: Session, options, car: model.Car, scene: Scene, looked: Looked) -> int:
    folder = folder_of(session, options.out)
    day = checks.day(options.event_date) if options.event_date else None
    session.stage(f"reading {Path(options.readings).name}")
    found = fitted.of(car, *readings.read(options.readings, car, scene))
    try:
        built = scenes.of(found.as_built)
    except SceneError as error:
        raise Refused(f"fit: by these readings there is no driveline: {error}") from None
    layout, shot, whole = None, Snapshot(found.as_built, built, ()), None
    if found.determined and not options.only_numbers:
        layout, shot, whole = looked(found.as_built)
    session.stage("how surely what follows from numbers passes")
    told = verdicts.of(found, None if whole is None else whole.findings, shot.parts, day, options.rules)
    outcome = report.Outcome(found, told, moves.correct(found, shot.parts, day, options.rules), found.wanted, built, options.fail_on)
    for line in report.text(outcome):
        session.say(line)
    job = outputs.Job(layout, shot, whole, size=options.size, form=options.format, fitted=outcome)
    written = outputs.export(job, outputs.FITTED, folder, session.stage, session.placed)
    for name in written.files:
        session.say(str(folder / name))
    outputs.say_missing(session, written)
    return INCOMPLETE if written.missing else outcome.exit_code
