"""Rows are picked in the window, ours and those of a shop's own folder; a name stands beside its own figures, or what departs is told."""
import pathlib

import cars
from shop_tables import TUBE, engine

from crankline import catalog

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "own_catalog.py"


def folder(tmp_path):
    (tmp_path / "engines.yaml").write_text(engine())
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
