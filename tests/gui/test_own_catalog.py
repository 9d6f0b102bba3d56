"""Rows are picked in the window, ours and those of a shop's own folder; a name stands beside its own figures, or what departs is told."""
import pathlib

import cars
import FreeCAD as App
import Part
import pytest
from shop_tables import TUBE, engine

from crankline import catalog, units

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "own_catalog.py"


SOLID = """
    solid: {file: iron.brep, origin: {x: 0 mm, y: 0 mm, z: 0 mm}, forward: {x: 9 mm, y: 0 mm, z: 0 mm}, left: {x: 1 mm, y: 5 mm, z: 0 mm}}
"""


def folder(tmp_path):
    block = Part.makeBox(490, 430, 240, App.Vector(1, -215, -2))
    heads = [Part.makeBox(440, 130, 180, App.Vector(30, y, 230)) for y in (-240, 110)]
    Part.Compound([block.fuse(heads), Part.makeCylinder(90, 100, App.Vector(491, 0, 0), App.Vector(1, 0, 0))]).exportBrep(
        str(tmp_path / "iron.brep"))
    (tmp_path / "engines.yaml").write_text(engine().rstrip() + SOLID)
    (tmp_path / "sections.yaml").write_text(TUBE)
    return tmp_path


def test_rows_are_picked_and_go_with_their_figures(gui_run, tmp_path):
    steps = iter(gui_run(SCRIPT, cars.copy(cars.AUTOMATIC), folder(tmp_path)).reported)
    edited = next(steps)
    assert edited["buttons"] == [[True, False, False], [True, True, True]]
    assert [bool(told) for told in edited["row"]] == [True, True, True, False]
    assert edited["row"][0].startswith("Source: nothing was given") and "is not a name for a row" in edited["row"][1]
    assert "a row of this name is in " in edited["row"][2]
    assert edited["rows"] == ["1.5x0.109", "1.5x0.119"]
    text = (tmp_path / "sections.yaml").read_text()
    assert text.startswith(TUBE) and "1.5x0.119: {source: mill sheet 7, basis: measured, date: 20" in text and "wall: 0.119 in}" in text
    first = next(steps)
    use = "demo_tall_deck_aluminium"
    assert first["engine"] == [use, [*catalog.ours("engines"), "shop_iron"], ""]
    assert first["changed"].startswith(f"{use}, with mass of its own.") and first["sizes"].endswith("peak torque 980 lbf.ft, mass 700 lb")
    picked = next(steps)
    assert picked["picked"] == ["8.95 in", "560 lb"] and picked["departs"] == ""
    assert "deck height 8.95 in" in picked["sizes"] and picked["origin"] == "From your own catalog: invented for the demo, 2026-05-04"
    clicked = next(steps)
    assert [units.parse(text, "length") for text in clicked["fields"]] == pytest.approx(clicked["point"], abs=1e-4)
    assert clicked["told"] == "X 18.504 in, Y -9.449 in, Z 16.142 in"      # 470, -240 and 410 mm
    assert next(steps) == {"solids": [2]}
    held = next(steps)
    assert held["held"] == ["shop_iron", "2026-05-04", ["mass"]]
    assert held["told"] == ["Engine data: shop_iron, with mass of its own"]
    tube = next(steps)
    assert tube["stock"] == "another size" or "x" in tube["stock"]
    assert tube["sizes"] == ["1.5 in", "0.109 in"]
    assert tube["material"].startswith("alloy steel, density 0.283 lb/in3, modulus 29,008 ksi, yield 60 ksi")
    assert next(steps) == {"another": "another size"}
    assert next(steps) == {"undone": use}
