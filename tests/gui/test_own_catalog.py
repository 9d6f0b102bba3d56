"""Rows are picked in the window, ours and those of a shop's own folder; a name stands beside its own figures, or what departs is told."""
import os
import pathlib

import cars

from crankline import catalog

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "own_catalog.py"
TUBE = ("catalog: 1\nrows:\n  1.5x0.109: {source: mill sheet, date: 2026-05-04, basis: published, outer_diameter: 1.5 in, "
        "wall: 0.109 in}\n")


def folder(tmp_path):
    with open(os.path.join(catalog.FOLDER, "engines.yaml"), encoding="utf-8") as stream:
        row = stream.read().split("  demo_short_deck_iron:\n")[1]
    row = row.replace("basis: invented", "basis: measured\n    date: 2026-05-04")
    (tmp_path / "engines.yaml").write_text(f"catalog: 1\nrows:\n  shop_iron:\n{row}")
    (tmp_path / "sections.yaml").write_text(TUBE)
    return tmp_path


def test_rows_are_picked_and_go_with_their_figures(gui_run, tmp_path):
    steps = iter(gui_run(SCRIPT, cars.copy(cars.AUTOMATIC), folder(tmp_path)).reported)
    first = next(steps)
    use = "demo_tall_deck_aluminium"
    assert first["engine"] == [use, [*catalog.ours("engines"), "shop_iron"], ""]
    assert first["changed"].startswith(f"{use}, with mass of its own.") and first["sizes"].endswith("peak torque 980 lbf.ft, mass 700 lb")
    picked = next(steps)
    assert picked["picked"] == ["8.95 in", "560 lb"] and picked["departs"] == ""
    assert "deck height 8.95 in" in picked["sizes"] and picked["origin"] == "From your own catalog: invented for the demo, 2026-05-04"
    held = next(steps)
    assert held["held"] == ["shop_iron", "2026-05-04", ["mass"]]
    assert held["told"] == ["Engine data: shop_iron, with mass of its own"]
    tube = next(steps)
    assert tube["stock"] == "another size" or "x" in tube["stock"]
    assert tube["sizes"] == ["1.5 in", "0.109 in"]
    assert tube["material"].startswith("alloy steel, density 7833 kg/m3, modulus 200 GPa, yield 413")
    assert next(steps) == {"another": "another size"}
    assert next(steps) == {"undone": use}
