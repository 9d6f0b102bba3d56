"""The commands that read and write files, in a real window."""
import json
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
    (refused, opened, whole, formula, page, help_, chosen, fractions, keys, rebuilt, repaired, part,
     drawn, partly) = gui_run(SCRIPTS / "files.py", good, bad, folder).reported
    assert refused["documents"] == []
    assert "bad.yaml:" in refused["bad"] and "placement.axle_to_block" in refused["bad"] and "\n" not in refused["bad"]
    assert opened["open"][0] == "open_clutch" and opened["open"][1] > 30 and opened["open"][2]

    assert ["Nothing is chosen" in text for text in whole["nothing"]] == [True]
    assert ["folder is missing" in text for text in whole["homeless"]] == [True] and "YYYY-MM-DD" in whole["wrong"]
    wanted = {"car.yaml", "made-parts.step", "side-view.pdf", "flat/MP-1.dxf", "flat/flats.csv", "findings.html", "report.json"}
    assert wanted <= set(whole["all"])
    assert whole["said"] == [] and not whole["open"] and whole["car"]
    assert whole["kept"] == ["Night Shift Chassis", "B", "2026-11-29"] and whole["undo"] == 1
    text = pypdf.PdfReader(str(folder / "all" / "side-view.pdf")).pages[0].extract_text()
    assert "AXLE TO BLOCK" in text and "Night Shift Chassis" in text
    written = json.loads((folder / "all" / "report.json").read_text("utf-8"))
    assert set(written["files"]) == set(whole["all"]) - {"report.json"} and written["title_block"]["revision"] == "B"
    assert "formulas" in formula["formula"] and formula["folder"] == [str(folder / "all")] and formula["shop"] == "Night Shift Chassis"

    assert page["page"] == ["Side view of Demo B (invented)"] and page["undo"] == 1 and page["field"] == "Night Shift Chassis"
    assert help_ == {"help": "Crankline", "still": []}
    assert chosen["visible"] and chosen["preferences"] == [
        "mm", True, "Late Shift Chassis", ["clearance", "containment", "driveline", "practice", "stack", "strength"]]
    exact, odd, small = fractions["fractions"]
    assert exact == ["82 1/2 in", 2095.5] and odd == ["82.503937 in", 2095.6] and small == ["1/8 in", 3.175], "nothing is rounded"
    assert keys["keys"] > 5 and keys["taken"] == []

    assert rebuilt == {"rebuilt": True, "undo": 1, "name": "Rebuild shapes"}
    assert repaired["repaired"] == ["FixedLoop", "ViewProvider", True]
    assert part["part"] == ["findings.html"] and len(part["said"]) == 1
    assert "Parts to make (STEP), Flat patterns (DXF) not written" in part["said"][0] and "nclosure" in part["said"][0]
    assert drawn["forms"] == ["pdf", "svg", "png"] and drawn["kept"] == "svg" and drawn["size"] == "A3"
    pages = [name for name in drawn["written"] if name.startswith("set-up")]
    assert pages == drawn["written"] and pages and all(name.endswith(".svg") for name in pages)
    assert all('width="420mm"' in (folder / "as_svg" / name).read_text("utf-8")[:2000] for name in pages)
    assert partly["partly"] == ["findings.csv"] and partly["said"] == ["flat patterns need ezdxf"]
