"""Cars with numbers that nobody would build: refused with a sentence, or made, judged, reported and drawn, and nothing else.

Each car is a demo with one to four of its numbers changed by up to fivefold. ``--solids N`` takes N cars instead of four.
"""
from __future__ import annotations

import dataclasses
import random

import cars
import FreeCAD as App
import pytest
from conftest import ROOT

from crankline import carfile, checks, compat, outputs, reports, sheets
from crankline.features import plan, read
from crankline.mechanics.scene import SceneError

DEMOS = ("full_bodied_automatic", "open_clutch")
REFUSALS = (carfile.CarFileError, plan.MakeError, SceneError, read.ReadError)


def numbers(record, path=()):
    """Paths of all numbers in a car, those of masses and paperwork apart."""
    for field in dataclasses.fields(record):
        value, here = getattr(record, field.name), (*path, field.name)
        if dataclasses.is_dataclass(value):
            yield from numbers(value, here)
        elif isinstance(value, float):
            yield here
        elif field.name == "loops":
            for index, item in enumerate(value or ()):
                yield from numbers(item, (*here, index))


def value_at(record, path):
    for step in path:
        record = record[step] if isinstance(step, int) else getattr(record, step)
    return record


def changed(record, path, value):
    if not path:
        return value
    if isinstance(path[0], int):
        items = list(record)
        items[path[0]] = changed(items[path[0]], path[1:], value)
        return tuple(items)
    return dataclasses.replace(record, **{path[0]: changed(getattr(record, path[0]), path[1:], value)})


def absurd(rng):
    """(what was changed, the car)."""
    car = carfile.read(ROOT / "demo_assemblies" / f"{rng.choice(DEMOS)}.yaml")
    told, paths = [car.car.name], [path for path in numbers(car) if path[0] not in ("rules", "protective_items")]
    for _ in range(rng.randint(1, 4)):
        path = rng.choice(paths)
        old = value_at(car, path)
        new = rng.choice((old * rng.uniform(0.2, 5.0), old * rng.uniform(0.7, 1.4), old + rng.choice((-1.0, 1.0)) * rng.uniform(1.0, 250.0),
                          -old if rng.random() < 0.2 else 2.0 * old))
        car = changed(car, path, new)
        told.append(f"{'.'.join(map(str, path))}: {old:.6g} -> {new:.6g}")
    return told, car


def test_an_absurd_car_is_refused_in_a_sentence_or_judged(solids, tmp_path):
    count, made = solids(4), 0
    seed = 0
    while made < count:
        rng = random.Random(f"absurd {seed}")
        seed += 1
        told, car = absurd(rng)
        try:
            car = carfile.read_text(carfile.write_text(car))
        except carfile.CarFileError as error:
            assert "\n" not in str(error) and len(str(error)) < 400, told
            continue
        made += 1
        document = None
        try:
            document = cars.document(car, f"absurd_{seed}")
            layout = read.only_layout(document)
            shot = read.snapshot(layout)
            outcome = checks.run(shot, event_date="2026-06-01", measurer=cars.measurer())
            assert outcome.exit_code in (0, 1, 3, 4), told
            report = reports.report(outcome, shot, compat.host())
            assert reports.html_text(report) and reports.csv_text(report) and reports.junit_text(report)
            folder = tmp_path / str(seed)
            folder.mkdir()
            job = outputs.Job(layout, shot, outcome)
            for name in ("sheets", "flats"):
                outputs.PRODUCTS[name].write(job, folder)
        except (*REFUSALS, sheets.SheetError) as error:
            assert "\n" not in str(error) and len(str(error)) < 400, told
        except Exception as error:
            pytest.fail(f"{told}: {type(error).__name__}: {error}\n{_where(error)}", pytrace=False)
        finally:
            if document is not None:
                App.closeDocument(document.Name)


def _where(error):
    import traceback
    return "".join(traceback.format_tb(error.__traceback__)[-3:])
