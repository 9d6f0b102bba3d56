"""The intake sheet and the car file that it is typed into: same keys, same numbers; blanks are told; a filled one is the car."""
from __future__ import annotations

import re
from dataclasses import replace

import pytest
from snapshot_fakes import automatic, clutch

from crankline import carfile, units
from crankline.carfile import template
from crankline.record import by_key
from crankline.sheets import intake, intake_pictures
from crankline.sheets.drawing import Text
from crankline.sheets.intake_items import asked
from crankline.source import SourceErrors


def held(car, key):
    """What a car has at a key of the car file."""
    for name in key.split("."):
        if car is None:
            return None
        car = getattr(car, by_key(type(car))[name])
    return car


def written(car, key):
    """The value at a key as a customer writes it; "" where the car has none, or a list."""
    value, entry = held(car, key), template.described(key)
    if value is None or entry.kind in ("holes", "records"):
        return ""
    if entry.kind in units.UNITS:
        return units.write(value, entry.kind)
    return f'"{value}"' if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else f"{value:g}"


def test_all_blanks_of_the_template_are_told_at_once():
    with pytest.raises(SourceErrors) as refusal:
        carfile.read_text(intake.template())
    needed = [one.key for one in asked() if one.needed and one.key != "car.units"]
    assert sorted(error.path for error in refusal.value.errors) == sorted(needed)
    assert all("nothing was found" in error.problem and "1000" not in error.problem for error in refusal.value.errors)


@pytest.mark.parametrize("car", [automatic(), clutch()], ids=["automatic", "clutch"])
def test_a_filled_form_is_the_car_that_it_was_filled_from(car):
    own = ("shop.source", "shop.date")
    rows = [replace(one, given=written(car, one.key) if not one.key.endswith(own) else "") for one in asked()]
    rows = [replace(one, given="parallel") if one.key == "placement.pitch" and car.placement.pitch_mode != "fixed" else one for one in rows]
    given = [one for one in rows if one.given]
    assert len(given) > 90
    # Engine and transmission are in the catalog: their figures need not be typed in.
    short = [one for one in given if not one.key.startswith(("engine.", "transmission.")) or one.key.endswith(".use")]
    read = carfile.read_text(template.text(short, tail=intake.TAIL))
    for one in short:
        assert held(read, one.key) == pytest.approx(held(car, one.key)), one.key
    assert read.placement.pitch_mode == car.placement.pitch_mode and read.engine == car.engine


def test_numbers_of_the_template_are_those_of_the_form():
    found = (re.match(r"(.*\S)\s+# (\d+)  (.*)$", line) for line in intake.template("mm").splitlines())
    by_number = {int(match[2]): match[0] for match in found if match}
    assert sorted(by_number) == list(range(1, len(asked()) + 1))
    for number, one in enumerate(asked(), 1):
        assert f"{one.key.rpartition('.')[2]}:" in by_number[number] and one.text in by_number[number]
    assert "units: mm" in intake.template("mm")


@pytest.mark.parametrize("size", ["A4", "A", "A3", "B"])
def test_pages_ask_every_number_once_and_tell_none_of_the_example(size):
    pages = intake.sheets(automatic(), "in", size)
    texts = [item for page in pages for item in page.items if isinstance(item, Text)]
    said = [item.text for item in texts]
    wrapped = " ".join(said)
    for number, one in enumerate(asked(), 1):
        assert any(item.text == str(number) and item.anchor == "right" for item in texts), one.key
        assert one.text.split(" (")[0].split(",")[0] in wrapped
    # Captions of the title block apart.
    captions = {"Shop", "Title", "Projection", "Drawn by", "Car", "Car data", "Scale", "Approved by", "Document type", "Dwg no.", "Rev.",
                "Date of issue", "Units", "Sheet"}
    assert {item.text for item in texts if item.height < 2.5} <= captions
    numbers = {token for text in said for token in text.replace("/", " ").split() if token.replace(".", "").isdigit()}
    assert all(float(token) <= len(asked()) and "." not in token.rstrip(".") for token in numbers)


def test_drawings_point_at_what_the_form_asks():
    keys = {one.key for one in asked()}
    for car in (automatic(), clutch()):
        for drawing in intake_pictures.of(car).values():
            assert drawing.flags and all(key in keys for flag in drawing.flags for key in flag.keys)


def test_a_drawing_follows_the_example_it_is_made_from():
    """The rear cross member moved forward by 100 mm moves its flag, and nothing but it and its outlines, in the side view."""
    car = automatic()
    tube = replace(car.chassis.rear_cross_member, x=car.chassis.rear_cross_member.x + 100.0)
    moved = replace(car, chassis=replace(car.chassis, rear_cross_member=tube))
    before, after = ({flag.keys: flag.at for flag in intake_pictures.of(one)["side"].flags} for one in (car, moved))
    assert {keys for keys in before if before[keys] != after[keys]} == {("chassis.rear_cross_member.x", "chassis.rear_cross_member.z")}


def test_a_key_that_there_is_not_is_refused():
    with pytest.raises(KeyError):
        template.described("chassis.rails.color")
