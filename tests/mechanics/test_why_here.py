"""The sheet that says why the powertrain is where it is: its figures are the window's and the report's, and no invented record is on it."""
from __future__ import annotations

from dataclasses import replace

import pytest
from conftest import ROOT

from crankline import carfile, model, placement_window, record, records, units
from crankline.mechanics import car_balance, scene
from crankline.record import filled
from crankline.records import Collection
from crankline.sheets import why_here
from crankline.sheets.drawing import Polyline, SheetError
from crankline.snapshot import Snapshot


def shot_of(name, **changes):
    car = replace(carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml"), **changes)
    return Snapshot(car, scene.of(car), ())


@pytest.fixture(scope="module")
def invented():
    return records.load([ROOT / "demo_assemblies" / "records"])


def own(collection):
    return Collection(tuple(replace(entry, record=replace(entry.record, basis="measured")) for entry in collection.entries))


def page(shot, collection, size="B"):
    with units.read_in(shot.car.car.units):
        (sheet,) = why_here.sheets(shot, collection, size)
    return sheet, " ".join(sheet.texts())


def test_it_says_what_window_and_balance_say(invented):
    shot = shot_of("full_bodied_automatic")
    sheet, told = page(shot, invented)
    assert "axle-to-block 83.500 in, crank height 10.000 in, pitch 2.00 deg" in told
    point = placement_window.at(shot.car, shot.car.placement.axle_to_block, shot.car.placement.crank_height)
    slope = point.slopes()["shaft_length"][0]
    for text in (f"{point.figures['shaft_length'] / 25.4:.3f} in", f"{slope:+.3f} in", "Support tube reaches its uprights", "2750 lb",
                 f"{float(car_balance.of(filled(shot.car), shot.scene).wheelstand):.2f} g", "12.1 in forward", "allowed"):
        assert text in told, text
    assert any(isinstance(item, Polyline) and item.kind == "border" and len(item.points) > 60 for item in sheet.items)


def test_no_invented_record_is_on_it_and_own_ones_are(invented):
    shot = shot_of("open_clutch")
    _sheet, told = page(shot, invented)
    assert len(invented.entries) >= 60 and "INVENTED" not in told and "Invented car" not in told
    assert "no placement records of the shop's own were given" in told
    _sheet, told = page(shot, own(invented), "A3")
    near = records.nearest(records.of_car(shot.car, shot.scene), own(invented), why_here.NEAREST)
    assert len(near) == 4 and all(one.entry.record.car in told for one in near) and "small circles: own records" in told


def test_what_was_not_evaluated_is_told_and_not_allowed(invented):
    sheet, told = page(shot_of("minimal"), invented)
    assert "Not evaluated: Joint angle" in told and "met by no placement where it is evaluated" in told and "allowed" not in sheet.texts()
    assert "no list of masses is given" in told


def test_a_car_of_millimeters_is_told_in_millimeters(invented):
    shot = shot_of("full_bodied_automatic")
    car = replace(shot.car, car=replace(shot.car.car, units="mm", front_track=1500.0, rear_track=1300.0))
    sheet, told = page(replace(shot, car=car), invented, "A3")
    assert "25 mm forward" in told and "Left front, without wedge" in told
    assert not any(text.endswith((" in", " lb")) for text in sheet.texts())


def test_a_sheet_that_is_too_small_is_refused(invented):
    with pytest.raises(SheetError, match="choose a larger"):
        page(shot_of("full_bodied_automatic"), invented, "A4")


def test_a_car_shown_as_built_has_the_page_of_its_design(invented):
    """Window and balance of one placement, and the page says which: only the head differs."""
    shot = shot_of("full_bodied_automatic")
    built = record.sparse(model.AsBuilt, axle_to_block=2200.0, crank_height=257.9, pitch=0.045)
    car = replace(shot.car, placement=replace(shot.car.placement, as_built=built, shown="as_built"))
    (_sheet, designed), (_other, told) = page(shot, invented), page(Snapshot(car, scene.of(car), ()), invented)
    assert "Where the engine is designed to be: axle-to-block 83.500 in" in told and "Demo A (invented), as designed" in told
    assert "AS BUILT" not in told and told.partition("What a move does")[2].partition("Same split")[0] == designed.partition(
        "What a move does")[2].partition("Same split")[0]
