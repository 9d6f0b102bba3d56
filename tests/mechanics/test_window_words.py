"""What the window says beside the placement window and the readings, without a window."""
import html
import re
from dataclasses import replace

import pytest
from conftest import ROOT

from crankline import carfile, records, source, units
from crankline.as_built import fitted, readings
from crankline.gui import fit_form, window_words
from crankline.mechanics import scene
from crankline.placement_window import at
from crankline.record import sparse
from crankline.records import INVENTED

DEMOS = ROOT / "demo_assemblies"


def test_a_begun_car_and_one_of_millimeters_have_a_page():
    """Of a car that lacks what figures follow from these are left out; nothing that is not known is told as allowed."""
    collection = records.load([DEMOS / "records"])
    for name, system in (("minimal", "in"), ("open_clutch", "mm")):
        car = carfile.read(DEMOS / f"{name}.yaml")
        car = replace(car, car=replace(car.car, units=system))
        place = car.placement
        asked = type("Asked", (), dict(axle_to_block_from=place.axle_to_block - 50.0, axle_to_block_to=place.axle_to_block + 50.0,
                                       crank_height_from=place.crank_height - 20.0, crank_height_to=place.crank_height + 20.0,
                                       closed_by="warning"))
        with units.read_in(system):
            window = window_words.grid(car, asked, (9, 5))
            point = at(window.judge, place.axle_to_block, place.crank_height)
            said = window_words.suggested(car, scene.of(car), collection)
            text = html.unescape(re.sub(r"<[^>]*>", " ", window_words.page(window, point, said)))
        assert ("✓ Allowed" in text) == bool(window.allowed[4, 2, 0]) and "Placement records" in text, name
        assert INVENTED in text and f" {system}" in text and "nan" not in text, text
        assert [dot[2] for dot in window_words.dots(collection)] == [f"record, {INVENTED}"] * len(collection.entries)


@pytest.mark.parametrize("name", ["good", "wrong_face"])
def test_readings_come_back_from_the_form_and_its_file(name):
    """A file to the form, the form to readings, these to a file again: nothing is lost, and what several readings were stays."""
    car, placed = fitted.designed(found := carfile.read(DEMOS / "full_bodied_automatic.yaml"), scene.of(found))
    with units.read_in("in"):
        given, _measured = readings.read(DEMOS / "readings" / f"{name}.yaml", car, placed)
        form = fit_form.of(car, placed, given)
        back = form.readings(form.shown(), "track", measured=given.measured, measured_by=given.measured_by, car=given.car)
        again, _measured = readings.of_nodes(source.parse(form.text(back, car), "readings"), car, placed)
    taken = {one.name: one for one in given.readings if one.read}
    assert {one.name: one for one in back.readings} == taken and len(form.rows) >= len(taken)
    for one in again.readings:
        assert one.read == pytest.approx(taken[one.name].read, abs=1e-9) and one.kind == taken[one.name].kind


def test_a_height_from_the_rail_is_the_same_height():
    """What is typed from the top of the rail fits as what is typed from the track; a width is measured from neither."""
    car, placed = fitted.designed(found := carfile.read(DEMOS / "full_bodied_automatic.yaml"), scene.of(found))
    with units.read_in("in"):
        form = fit_form.of(car, placed)
        height = next(row for row in form.rows if row.rail and row.reading.name.startswith("Crank above track, rear"))
        wide = next(row for row in form.rows if not row.rail)
        typed = sparse(form.kind, **{height.field: 100.0, wide.field: 300.0})
        track, rail = (form.readings(typed, datum).readings for datum in ("track", "rail"))
    assert {one.name: one.datum for one in track} == {height.reading.name: None, wide.reading.name: None}
    assert {one.name: one.datum for one in rail} == {height.reading.name: "rail", wide.reading.name: None}
