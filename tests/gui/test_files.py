"""The commands that read and write files, in a real window."""
import pathlib

import pypdf

SCRIPTS = pathlib.Path(__file__).parent / "scripts"
ROOT = pathlib.Path(__file__).parent.parent.parent


def test_files(gui_run, tmp_path):
    good = ROOT / "demo_assemblies" / "open_clutch.yaml"
    bad = tmp_path / "bad.yaml"
    bad.write_text(good.read_text("utf-8").replace("axle_to_block: 80.5 in", "axle_to_block: 80.5"), "utf-8")
    folder = tmp_path / "out"
    folder.mkdir()
    refused, opened, written, formula, rebuilt, repaired, sheets, partly = gui_run(SCRIPTS / "files.py", good, bad, folder).reported
    assert refused["documents"] == []
    assert "bad.yaml:" in refused["bad"] and "placement.axle_to_block" in refused["bad"] and "\n" not in refused["bad"]
    assert opened["open"][0] == "open_clutch" and opened["open"][1] > 30 and opened["open"][2]
    assert written["written"]
    assert "formulas" in formula["formula"]
    assert rebuilt == {"rebuilt": True, "undo": 1, "name": "Rebuild shapes"}
    assert repaired["repaired"] == ["FixedLoop", "ViewProvider", True]
    assert sheets["said"] == [] and {"side-view.pdf", "flat/MP-1.dxf", "flat/flats.csv"} <= set(sheets["sheets"])
    assert "AXLE TO BLOCK" in pypdf.PdfReader(str(folder / "side-view.pdf")).pages[0].extract_text()
    assert partly["sheets"] == ["side-view.pdf"]
    assert len(partly["said"]) == 1 and "flat patterns need ezdxf; side-view.pdf was written to" in partly["said"][0]
