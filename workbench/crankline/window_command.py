"""What ``window`` does: where the powertrain of a car may stand, as table, JSON and pictures, and in words."""
from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from . import checks, model, placement_window, records, schema, source, units
from .batch import variants
from .checks import RuleError
from .command_line import Refused, folder_of
from .exit_codes import CLEAN, FINDINGS, INCOMPLETE, WORST_FIRST
from .mechanics.placement import PITCH_MODES
from .mechanics.scene import SceneError
from .placement_window import Point, Window, WindowError, exact, plots, region, tables, words
from .record import entries
from .reports import console
from .session import Session
from .staging import Staging

Checked = Callable[[model.Car], checks.Outcome]
"""A car to what the check of its document finds."""
NAMES = tuple(f"window.{form}" for form in ("csv", "json", *plots.FORMS))


def run(session: Session, options: Any, car: model.Car, checked: Checked) -> int:
    """The window of a car; the exit code: 0 where some placement meets every rule that counts (and the one of ``--at``
    does), 4 where one of these could not be evaluated and no placement is known to meet it, else 1."""
    folder = folder_of(session, options.out)
    weights = _weights(options.weights) if options.weights else dict(region.DEFAULT)
    pitches = options.pitch if options.pitch in PITCH_MODES else _values(options.pitch, "pitch", "--pitch")
    chosen = None if options.at is None else _at(options.at)
    collection, told = _records(session, options.records)
    session.stage("placing")
    try:
        window = placement_window.grid(car, _values(options.axle_to_block, "axle_to_block", "--axle-to-block"),
                                       _values(options.crank_height, "crank_height", "--crank-height"), pitches, options.level,
                                       options.ignore, options.rules)
        own = placement_window.at(window.judge, window.judge.car.placement.axle_to_block, window.judge.car.placement.crank_height)
        points: dict[str, Point | None] = {"as the car file has it": own, "best": window.best(weights, options.front_share)}
        if chosen is not None:
            pitch = window.pitches if isinstance(window.pitches, str) else window.pitches[0]
            points["chosen"] = placement_window.at(window.judge, *chosen, pitch)
    except (WindowError, SceneError, RuleError) as error:
        raise Refused(str(error).replace("ignored:", "--ignore:", 1)) from None
    dots = [(one.x, one.z, "records, INVENTED" if one.invented else "records of cars") for one in placement_window.dots(collection, window)]
    with Staging(folder, session.placed) as staging:
        session.stage("writing table and pictures")
        (staging.folder / "window.csv").write_text(tables.csv_text(window), encoding="utf-8", newline="")
        found = tables.data(window, points, weights, options.border, len(dots))
        (staging.folder / "window.json").write_text(tables.json_text(found), encoding="utf-8")
        for form in plots.FORMS:
            made = placement_window.figure(window, points.get("chosen"), dots, best=points["best"])
            (staging.folder / f"window.{form}").write_bytes(plots.image(made, form))
        written, _removed = staging.publish(NAMES.__contains__)
    for line in words.lines(window, points, weights):
        session.say(line)
    codes: list[int] = [CLEAN if window.allowed.any() else FINDINGS, told]
    if any(window.unknown(row) for row in window.nowhere):
        codes.append(INCOMPLETE)
    if chosen is not None:
        codes.append(_exact(session, points["chosen"], options.level, checked))
    if options.exact_border:
        codes.append(_exact_border(session, window, points["best"] if chosen is None else points["chosen"], options, checked))
    for name in written:
        session.say(str(folder / name))
    return min(codes, key=WORST_FIRST.index)


def _exact(session: Session, point: Point | None, level: str, checked: Checked) -> int:
    """The chosen placement with its parts made and every rule checked, clearances too."""
    assert point is not None
    if not point.solved:
        return FINDINGS
    session.stage("making the car at the chosen placement")
    outcome = checked(point.car)
    session.say("chosen, with its parts made and every rule checked:")
    for line in console.lines(outcome.findings, str(point.judge.car.car.units), outcome.notes):
        session.say(f"  {line}")
    return FINDINGS if _open(outcome, level) else outcome.exit_code


def _open(outcome: checks.Outcome, level: str) -> tuple[str, ...]:
    """Ids of the rules that are open at a level."""
    least = checks.SEVERITIES.index(level)
    return tuple(sorted({one.rule for one in outcome.findings
                         if one.unresolved and checks.SEVERITIES.index(one.severity) <= least}))


def _exact_border(session: Session, window: Window, start: Point | None, options: Any, checked: Checked) -> int:
    """The border along four ways out of a placement, by the whole check; told in words."""
    if start is None or not start.solved:
        session.say("exact border: there is no placement to start from")
        return FINDINGS

    def opened(car: model.Car) -> tuple[str, ...]:
        session.stage(f"checking at axle-to-block {units.sized(car.placement.axle_to_block)}, crank height "
                      f"{units.sized(car.placement.crank_height)}")
        return tuple(rule for rule in _open(checked(car), options.level) if rule not in window.ignored)
    with units.read_in(window.judge.car.car.units):
        there = opened(start.car)
        if there:
            session.say(f"exact border: not looked for, because at {words.where(start)} itself these are open: {', '.join(there)}")
            return FINDINGS
        for way in exact.ways(window, start, opened):
            where = f"axle-to-block {units.sized(way.last[0], 2)}, crank height {units.sized(way.last[1], 2)}"
            session.say(f"exact border, {words.EDGES[way.side]}: {where}; " + (
                f"beyond it {', '.join(way.rules)}" if way.rules else "nothing open to the end of the window"))
    return CLEAN


# --- what the options say ---------------------------------------------------------------------------------------------


def _values(text: str | None, field: str, option: str) -> Any:
    """Values of a range or a list with units, inside units, of a field of the placement and within what a car file may say of it; None
    where nothing was asked for."""
    if text is None:
        return None
    try:
        return [_value(value, field, option) for value in variants.axis(f"value={text}").values]
    except variants.VariantError as error:
        raise Refused(str(error).replace("--set", option).replace("'value=", "'")) from None


def _value(text: str, field: str, option: str) -> Any:
    return schema.Typing().value(source.Node("scalar", text, option, 0, ""), entries(model.Placement)[field])


def _at(text: str) -> tuple[float, float]:
    """Axle-to-block and crank height."""
    parts = text.split(",")
    try:
        for part in parts:
            units.parse(part.strip(), "length")
        x, z = parts
    except ValueError:
        raise Refused(f"--at: {text!r} was found; give axle-to-block and crank height, such as '83.5 in, 10 in'") from None
    return _value(x.strip(), "axle_to_block", "--at"), _value(z.strip(), "crank_height", "--at")


def _weights(text: str) -> dict[str, float]:
    """Weights by name."""
    found = {}
    for part in text.split(","):
        name, _equals, number = part.partition("=")
        try:
            value = float(number)
        except ValueError:
            value = -1.0
        if name.strip() not in region.WEIGHTS or not 0.0 <= value < np.inf:
            raise Refused(f"--weights: {part!r} was found; give NAME=NUMBER with one of {', '.join(region.WEIGHTS)}, 0 or above, such as "
                          "border=1,residual=0.5")
        found[name.strip()] = value
    return found


# --- records ----------------------------------------------------------------------------------------------------------


def _records(session: Session, folders: Sequence[str]) -> tuple[records.Collection, int]:
    """The records of the folders that are named here or by the environment, and the exit code of what could not be read."""
    found = records.load(tuple(folders) or records.of_environment())
    for problem in found.problems:
        session.fail(str(problem))
    return found, INCOMPLETE if found.problems else CLEAN
