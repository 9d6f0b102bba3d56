"""What ``records`` does: placement records of past cars, and what they say of a car."""
from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from . import model, records, schema, source
from .command_line import Refused
from .exit_codes import CLEAN, FINDINGS, INCOMPLETE
from .mechanics import scene
from .record import by_key, difference
from .records import collection, csv_rows, screening, suggestion, wording
from .records.placement_record import PlacementRecord, entry_of
from .reports import csv_table
from .session import Session

CarOf = Callable[[str], tuple[model.Car, scene.Scene]]
"""A car file or document to the car and where it is placed."""


def run(session: Session, options, car_of: CarOf) -> int:
    """One of the commands on records; the exit code."""
    return {"add": _add, "list": _list, "show": _show, "import": _import, "check": _check, "suggest": _suggest}[options.what](
        session, options, car_of)


def _folders(options) -> Sequence[str]:
    found = options.records or records.of_environment()
    if not found:
        raise Refused(f"records {options.what}: no folder of records was named; give one with --records DIR, or name it in "
                      f"{collection.VARIABLE}")
    return tuple(found)


def _collection(session: Session, options) -> tuple[records.Collection, int]:
    """The records, and the exit code that what could not be read makes; that is told."""
    return _loaded(session, _folders(options))


def _loaded(session: Session, folders: Sequence[str]) -> tuple[records.Collection, int]:
    found = records.load(folders)
    for problem in found.problems:
        session.fail(str(problem))
    return found, INCOMPLETE if found.problems else CLEAN


def _target(session: Session, options) -> Path:
    name = Path(options.file)
    if name.name != options.file or name.suffix.lower() not in (".yaml", ".yml") or options.file.startswith("."):
        raise Refused(f"--file: {source.quoted(options.file)} was found; give the name of a .yaml file in the folder of records")
    session.target = Path(_folders(options)[0])
    return session.target / options.file


def fields(texts: Sequence[str], option: str) -> dict[str, Any]:
    """``FIELD=VALUE`` of the command line, typed; a time may be without its unit. SourceError names everything that is wrong."""
    keys, found, problems = by_key(PlacementRecord), {}, source.Problems()
    for text in texts:
        key, equals, value = text.partition("=")
        key, value = key.strip(), value.strip()
        with problems.gathered():
            node = source.Node("scalar", value, option, 0, key)
            if not equals:
                raise node.error(f"{source.quoted(text)} was found; write FIELD=VALUE, such as sixty_foot=1.32")
            if key not in keys:
                raise schema.unknown(node, key, tuple(keys))
            if keys[key] in found:
                raise node.error("the field is given twice; give it once")
            entry = entry_of(keys[key])
            if entry.kind == "time" and value.replace(".", "", 1).isdecimal():
                node = source.Node("scalar", f"{value} s", option, 0, key)
            found[keys[key]] = schema.Typing().value(node, entry)
    problems.tell()
    return found


def _add(session: Session, options, car_of: CarOf) -> int:
    target, given = _target(session, options), fields(options.result, "--result")
    held, code = _collection_of(session, options)
    car, place = car_of(options.car)
    record = records.of_car(car, _as_it_ran(options.car, car, place), **given)
    name = options.name if options.name is not None else collection.free_name(record.car, held.by_name)
    if wrong := collection.wrong_name(name):
        raise Refused(f"--name: {wrong}")
    _taken(held, name, "--name")
    records.add(target, {name: record}, car.car.units or "in")
    session.placed.append(target.name)
    session.say(f"added: {name} in {target}")
    return code


def _as_it_ran(name: str, car: model.Car, place: scene.Scene) -> scene.Scene:
    """Of a car that was measured, the scene as it was built, whichever is shown."""
    if car.placement.as_built is None or place.as_built:
        return place
    try:
        return scene.of(replace(car, placement=replace(car.placement, shown="as_built")))
    except scene.SceneError as error:
        raise Refused(f"{name}: {error}") from None


def _collection_of(session: Session, options) -> tuple[records.Collection, int]:
    """The records before some are added: the first folder may not be there yet."""
    return _loaded(session, [folder for i, folder in enumerate(_folders(options)) if i or Path(folder).is_dir()])


def _taken(held: records.Collection, name: str, about: str) -> None:
    if name in held.by_name:
        raise Refused(f"{about}: a record named {source.quoted(name)} is in {held.by_name[name].where} already; give this one another name")


def _list(session: Session, options, car_of: CarOf) -> int:
    found, code = _collection(session, options)
    system = options.units or "in"
    if options.csv and options.json:
        raise Refused("records list: --csv and --json were given; give one of them")
    if options.csv:
        session.out.write(csv_table.lines(csv_rows.table(found.entries, system)))
    elif options.json:
        session.say(_json([wording.plain(entry) for entry in found.entries]))
    else:
        for line in wording.listing(found, system):
            session.say(line)
    return code


def _show(session: Session, options, car_of: CarOf) -> int:
    found, code = _collection(session, options)
    for name in options.names:
        if name not in found.by_name:
            raise Refused(f"records show: there is no record {source.quoted(name)}{schema.closest(name, tuple(found.by_name))}; "
                          "'records list' names them")
    listed = [found.by_name[name] for name in options.names]
    if options.json:
        session.say(_json([wording.plain(entry) for entry in listed]))
    else:
        for entry in listed:
            for line in wording.record(entry, options.units or "in"):
                session.say(line)
    return code


def _import(session: Session, options, car_of: CarOf) -> int:
    target = _target(session, options)
    held, code = _collection_of(session, options)
    new: dict[str, PlacementRecord] = {}
    there = 0
    for row in csv_rows.read(options.csv, options.basis):
        wrong = row if isinstance(row, source.SourceError) else _refused(row, held, new, options.csv)
        if isinstance(row, source.SourceError) or wrong is not None:
            code = INCOMPLETE
            session.fail(str(wrong))
        elif row.name in held.by_name:
            there += 1
        else:
            new[row.name or collection.free_name(row.record.car, [*held.by_name, *new])] = row.record
    if new:
        records.add(target, new)
        session.placed.append(target.name)
    session.say(f"imported: {wording.counted(len(new), sum(record.invented for record in new.values()))} to {target}"
                + (f"; {there} there already" if there else ""))
    return code


def _refused(row: csv_rows.Row, held: records.Collection, new: dict[str, PlacementRecord], file: str) -> source.SourceError | None:
    """Why a row that was read is not taken; nothing where it is, or where it is there already."""
    if not row.name:
        return None
    if wrong := collection.wrong_name(row.name):
        return source.SourceError(file, row.line, "name", wrong)
    if row.name in new:
        return source.SourceError(file, row.line, "name", f"{source.quoted(row.name)} names a row before this one too; give each its own")
    other = held.by_name.get(row.name)
    if other is not None and difference(other.record, row.record):
        return source.SourceError(file, row.line, "name", f"the record {source.quoted(row.name)} in {other.where} says otherwise; give "
                                  "this one another name, or change that one by hand")
    return None


def _check(session: Session, options, car_of: CarOf) -> int:
    found, _code = _collection(session, options)
    screened = screening.screen(found)
    system = options.units or "in"
    if options.json:
        session.say(_json({"remarks": [{"kind": one.kind, "name": one.entry.name, "invented": one.entry.record.invented,
                                        "file": one.entry.file, "line": one.entry.line,
                                        "field": entry_of(one.field).key if one.field else None, "text": one.text(system)}
                                       for one in screened.remarks],
                           "not_looked_at": screened.not_looked_at, "unreadable": [str(problem) for problem in found.problems]}))
    else:
        for line in wording.screening(screened, found, system):
            session.say(line)
    return INCOMPLETE if found.problems or (screened.not_looked_at and not screened.remarks) else FINDINGS if screened.remarks else CLEAN


def _suggest(session: Session, options, car_of: CarOf) -> int:
    given = fields(options.given, "--given")
    held, code = _collection(session, options)
    car, place = car_of(options.car)
    found = records.suggest(records.of_car(car, place, **given), held, options.nearest)
    if options.json:
        session.say(_json(suggestion.to_json(found)))
    else:
        for line in wording.suggestion(found, options.units or car.car.units or "in"):
            session.say(line)
    return INCOMPLETE if found.refused else code


def _json(value: Any) -> str:
    return json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False)
