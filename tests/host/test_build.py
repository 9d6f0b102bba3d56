"""The command line from outside: what is written, what is promised of it, and what happens to wrong input.

One demo is built by a process of its own; the other one, and what the other commands do, is asked of the command line in this process
(``here``), where what any test has built and measured is there. That exit codes and texts come out of the process as they are is in
test_run_script.py.
"""
from __future__ import annotations

import contextlib
import hashlib
import io
import json
import pathlib
import shutil
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass

import pypdf
import pytest
from conftest import ROOT

from crankline.batch import baselines
from crankline.reports import compare

DEMOS = {"full_bodied_automatic": "Demo A (invented)", "open_clutch": "Demo B (invented)"}

DAY = "2026-12-01"


@contextlib.contextmanager
def in_this_process():
    """The command line in this very process: ``run(*arguments)`` -> (exit code, results, errors). What any test has measured is not
    measured again, and pictures of instruction steps, which test_step_pictures.py looks at, are left blank."""
    import cars
    import FreeCAD as App

    from crankline import headless
    from crankline.measure import host_measurer
    from crankline.sheets.step_pictures import StepPictures

    def run(*arguments, quiet=True):
        out, err = io.StringIO(), io.StringIO()
        code = headless.main([*map(str, arguments), *["--quiet"] * quiet], out, err)
        return code, out.getvalue(), err.getvalue()

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(host_measurer, "Kept", lambda: cars.measurer().kept)
        patched.setattr(StepPictures, "__call__", lambda _self, _step, _box: [])
        yield run
    for name in list(App.listDocuments()):
        App.closeDocument(name)


@dataclass(frozen=True)
class Built:
    """What a build wrote, where, and what it said."""
    folder: pathlib.Path
    returncode: int
    log: str


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Both demos, built once by the command line: name -> Built; one by a process of its own. Of the other one it looks for remedies, as it
    does where it is not told otherwise."""
    from conftest import run_process
    folder = tmp_path_factory.mktemp("built")
    clutch, automatic = (folder / name for name in ("open_clutch", "full_bodied_automatic"))
    done = run_process(["bash", ROOT / "workbench" / "run", "build", ROOT / "demo_assemblies" / "open_clutch.yaml", "--out", clutch,
                        "--remedies", "none", "--event-date", DAY])
    assert "Traceback" not in done.log
    with in_this_process() as run:
        code, out, err = run("build", ROOT / "demo_assemblies" / "full_bodied_automatic.yaml", "--out", automatic, "--event-date", DAY,
                             quiet=False)
    return {"open_clutch": Built(clutch, done.returncode, done.log), "full_bodied_automatic": Built(automatic, code, out + err)}


@pytest.fixture
def quick(tmp_path):
    """``quick(name, old, new)``: a demo's car file with something replaced in it, judged by few rules: those about its document."""
    def write(name, old="", new="", sets="document_health"):
        text = (ROOT / "demo_assemblies" / f"{name}.yaml").read_text(encoding="utf-8")
        for found, other in ((old, new), ("sets: [invented_demo, clearance]", f"sets: [{sets}]")):
            assert not found or text.count(found) == 1
            text = text.replace(found, other) if found else text
        path = tmp_path / "quick.yaml"
        path.write_text(text, encoding="utf-8")
        return path
    return write


@pytest.fixture
def opened():
    """``opened(name)``: a copy of a demo's document in this process, to be changed and saved elsewhere."""
    import cars
    import FreeCAD as App
    documents = []

    def one(name):
        documents.append(cars.document(name))
        return documents[-1]

    yield one
    for document in documents:
        App.closeDocument(document.Name)


def report_of(built, name):
    return json.loads((built[name].folder / "report.json").read_text(encoding="utf-8"))


def unlike(a, b, path):
    """Paths at which two reports differ; numbers by more than the twelve digits that a document keeps."""
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        for key in a:
            yield from unlike(a[key], b[key], f"{path}.{key}")
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for number, pair in enumerate(zip(a, b)):
            yield from unlike(*pair, f"{path}[{number}]")
    elif isinstance(a, float) and isinstance(b, float):
        if a != pytest.approx(b, rel=1e-9, abs=1e-8):
            yield f"{path}: {a} != {b}"
    elif a != b:
        yield f"{path}: {a} != {b}"


@pytest.mark.parametrize("name", DEMOS)
def test_the_outputs_of_the_contract_are_there_and_hold(built, name):
    folder, done = built[name].folder, built[name]
    report = report_of(built, name)
    assert done.returncode == report["exit"] and done.returncode in (0, 1), done.log
    files = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert {"car.FCStd", "report.json", "checks.xml", "car.step", "side-view.pdf", "flat/MP-1.dxf", "flat/flats.csv"} <= files
    assert set(report["files"]) == files - {"report.json"}
    for file, digest in report["files"].items():
        assert hashlib.sha256((folder / file).read_bytes()).hexdigest() == digest
    assert not list(folder.glob(".crankline*")), "nothing half made stays"
    assert "AXLE TO BLOCK" in pypdf.PdfReader(str(folder / "side-view.pdf")).pages[0].extract_text()
    drawings = "".join(page.extract_text() for page in pypdf.PdfReader(str(folder / "part-drawings.pdf")).pages)
    loops = {"full_bodied_automatic": 2, "open_clutch": 1}[name]      # split ones, and the cross member between the same tubes
    assert drawings.count("tube floor left, floor right, 2 places") == loops + 1 and "RC-1 receiver" in drawings


@pytest.mark.one_host
def test_another_process_writes_equal_files(built, opened, tmp_path):
    """No clock, no random name, no count of the host's and no order of a set is in what is drawn, cut, listed and told: here after other
    cars, there as the first of a process. Of STEP see test_header.py."""
    import cars

    from crankline import checks, compat, outputs, remedies, reports
    from crankline.features import read
    from crankline.progress import drained
    folder, before = built["open_clutch"].folder, report_of(built, "open_clutch")
    layout = read.only_layout(opened("open_clutch"))
    shot = read.snapshot(layout)
    outcome = checks.run(shot, event_date=before["event_date"], measurer=cars.measurer())
    outcome = drained(remedies.steps(outcome, shot, 0, 0))
    report = reports.report(outcome, shot, compat.host())
    report["exit"] = before["exit"]
    told = ("set_up", "shaft_order", "flats", "tubes", "contents", "csv", "html", "report")
    written = outputs.export(outputs.Job(layout, shot, outcome, report), told, tmp_path)
    assert {"set-up.pdf", "flat/MP-1.dxf", "flat/TN-1.dxf", "flat/flats.csv", "tubes.csv", "kit.csv", "kit-contents.pdf",
            "findings.csv", "findings.html"} <= set(written.files)
    for name in set(written.files) - {"report.json"}:
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes(), name
    after = json.loads((tmp_path / "report.json").read_text(encoding="utf-8"))
    for one in (before, after):
        del one["run"], one["input"], one["files"]
        for row in one["findings"]:
            del row["points"]
    # A document keeps twelve digits, and where two bodies are nearest hangs on all of them; of two runs see test_batch.py.
    assert not list(unlike(after, before, "report"))


@pytest.mark.parametrize("name", DEMOS)
def test_every_host_finds_what_was_taken_for_good(built, name):
    """Figures, findings and margins are equal to a millionth; shapes by the digest of what they are built from."""
    told = compare.compare(name, baselines.read(ROOT / "tests/baselines", name), report_of(built, name))
    assert told.equal, "\n".join([*compare.text(told), "if it is meant so: bash workbench/run baseline accept demo_assemblies --baseline "
                                  f"tests/baselines --event-date {DAY} --remedies none --reason '...'"])


@pytest.mark.parametrize("name", DEMOS)
def test_exit_code_is_what_the_findings_demand(built, name):
    report = report_of(built, name)
    errors = [f for f in report["findings"] if f["state"] in ("open", "waiver-void") and f["severity"] == "error"
              and not f.get("to_confirm")]
    blind = [f for f in report["findings"] if f["state"] == "not-evaluated" and not f.get("to_confirm")]
    assert built[name].returncode == (4 if blind else 1 if errors else 0)


def test_report_of_car_a_holds_the_figures_of_its_closed_form(built):
    """Independent arithmetic: engine frame by hand for 83.5 in, 10 in, 2 deg, base drop 0.25 in, stack 0.375 in."""
    from math import cos, radians, sin
    digit = 1e-5     # mm: half of the ninth digit that the report has of meters
    report, inch = report_of(built, "full_bodied_automatic"), 25.4
    pitch = radians(2.0)
    crank = (83.5 + 0.25 * sin(pitch)) * inch
    setback = (0.375 + 25.40 + 4.00) * inch
    place, points = report["placement"], report["points"]
    assert place["axle_to_block_mm"] == pytest.approx(83.5 * inch, abs=digit)
    assert place["pitch_deg"] == pytest.approx(2.0, abs=1e-9)
    assert points["crank_rear"] == pytest.approx([crank, 0, 254.0], abs=digit)
    assert points["front_joint"] == pytest.approx([crank - setback * cos(pitch), 0, 254.0 + setback * sin(pitch)], abs=digit)
    assert place["crank_height_front_mm"] == pytest.approx(254.0 - 21.9 * inch * sin(pitch), abs=digit)
    assert place["number_one_plug_mm"] == pytest.approx(crank + (18.6 * cos(pitch) + 9.6 * sin(pitch)) * inch, abs=digit)


def test_step_holds_every_part_once(built):
    import Part
    folder = built["full_bodied_automatic"].folder
    shape = Part.Shape()
    shape.read(str(folder / "car.step"))
    parts = [p for p in report_of(built, "full_bodied_automatic")["parts"] if p["kind"] != "shaft_envelope"]
    assert len(shape.Solids) == len(parts)
    assert sum(s.Volume for s in shape.Solids) == pytest.approx(sum(p["volume_mm3"] for p in parts), rel=1e-6)


def test_checks_xml_counts_what_the_report_counts(built):
    folder = built["open_clutch"].folder
    cases = list(ElementTree.parse(folder / "checks.xml").iter("testcase"))
    assert len(cases) == len(report_of(built, "open_clutch")["findings"])


def test_check_of_the_saved_document_reports_the_same(built, here, tmp_path):
    folder, done = built["full_bodied_automatic"].folder, built["full_bodied_automatic"]
    code, out, err = here("check", folder / "car.FCStd", "--out", tmp_path / "again")
    assert code == done.returncode, out + err
    first, second = report_of(built, "full_bodied_automatic"), json.loads((tmp_path / "again" / "report.json").read_text())
    for name in ("placement", "points", "driveline", "poses", "balance", "parts"):
        assert list(unlike(first[name], second[name], name)) == []
    assert [(f["id"], f["state"]) for f in first["findings"]] == [(f["id"], f["state"]) for f in second["findings"]]


def test_quiet_says_no_stage(here, tmp_path, opened):
    document = opened("open_clutch")
    next(obj for obj in document.Objects if getattr(obj, "Kind", "") == "car").Sets = ["document_health"]
    document.saveCopy(str(tmp_path / "car.FCStd"))
    (code, out, err), loud = here("check", tmp_path / "car.FCStd"), here("check", tmp_path / "car.FCStd", quiet=False)
    assert (code, out, err) == (0, loud[1], "") and loud[0] == 0
    assert "opening car.FCStd" in loud[2] and "checking" in loud[2]


@pytest.mark.one_host
def test_one_inch_in_the_car_file(built, quick, here, tmp_path):
    here("check", quick("full_bodied_automatic", "axle_to_block: 83.5 in", "axle_to_block: 84.5 in"), "--out", tmp_path / "moved")
    before, after = report_of(built, "full_bodied_automatic"), json.loads((tmp_path / "moved" / "report.json").read_text())
    for point in ("block_base_rear", "crank_rear", "crank_front", "front_joint"):
        assert [b - a for a, b in zip(before["points"][point], after["points"][point])] == pytest.approx([25.4, 0, 0], abs=1e-9)
    assert before["points"]["rear_joint"] == after["points"]["rear_joint"]
    boxes = {p["key"]: p["bbox_mm"] for p in before["parts"]}
    for part in after["parts"]:
        first, second = boxes[part["key"]], part["bbox_mm"]
        stem = part["key"].split("/")[0]
        if stem in ("rail", "upright", "footwell_tube", "rear_cross_member", "upper_fore_aft", "loop", "cross_member"):
            assert second == first, part["key"]
        elif stem in ("engine", "transmission", "mid_plate", "protector", "front_plate", "firewall", "rail_tab", "plate_foot"):
            assert [b - a for a, b in zip(first, second)] == pytest.approx([25.4, 0, 0, 25.4, 0, 0], abs=2e-3), part["key"]


@pytest.mark.one_host
@pytest.mark.parametrize("arguments, wording", [
    (("build",), "required"), (("build", "nowhere.yaml", "--out", "out"), "nowhere.yaml"), (("bake",), "invalid choice"),
    (("check", "nowhere.FCStd"), "no such file"), (("build", "nowhere.yaml", "--out", "out", "--fail-on", "never"), "invalid choice")])
def test_wrong_use_is_one_sentence(here, arguments, wording):
    code, out, err = here(*arguments)
    line, = err.splitlines()
    assert code == 2 and wording in line and out == "", out


def test_a_rule_file_named_like_a_set_is_refused_and_both_are_told(here, tmp_path):
    own = tmp_path / "document_health.yaml"
    own.write_text('rule_set: 1\ntitle: t\nedition: "1"\nrules: []\n')
    code, _out, err = here("check", ROOT / "demo_assemblies" / "open_clutch.yaml", "--rules", own)
    sentence, = err.splitlines()
    assert code == 2 and sentence.startswith(f"--rules: {own} would be") and "catalog/rules/document_health.yaml" in sentence


def test_a_refused_car_leaves_an_earlier_output_untouched(built, here, tmp_path):
    out = tmp_path / "out"
    shutil.copytree(built["open_clutch"].folder, out)
    before = {p: p.read_bytes() for p in out.rglob("*") if p.is_file()}
    bad = tmp_path / "bad.yaml"
    text = (ROOT / "demo_assemblies" / "open_clutch.yaml").read_text(encoding="utf-8")
    bad.write_text(text.replace("crank_height: 10.0 in", "crank_height: 10.0"), encoding="utf-8")
    code, said, err = here("build", bad, "--out", out)
    assert code == 2 and "bad.yaml:" in err and "placement.crank_height" in err and "Traceback" not in said + err
    assert {p: p.read_bytes() for p in out.rglob("*") if p.is_file()} == before


def test_a_missing_role_in_a_named_document_is_refused_with_the_line(here, tmp_path):
    import cars
    import FreeCAD as App

    from crankline.features import chassis_drawing
    drawn, document = cars.demo("open_clutch"), App.newDocument("source")
    side, plan = (document.addObject("Sketcher::SketchObject", name) for name in ("Side", "Plan"))
    chassis_drawing.draw(side, plan, drawn.chassis, drawn.rear_end, drawn.car.wheelbase)
    index = next(i for i, c in enumerate(side.Constraints) if c.Name == "pinion")
    side.renameConstraint(index, "forgotten")
    document.recompute()
    document.saveAs(str(tmp_path / "chassis.FCStd"))
    App.closeDocument(document.Name)
    text = (ROOT / "demo_assemblies" / "open_clutch.yaml").read_text(encoding="utf-8")
    car = tmp_path / "car.yaml"
    car.write_text(text.replace("chassis:\n", "chassis:\n  sketches: {file: chassis.FCStd, side: Side, plan: Plan}\n"), encoding="utf-8")
    code, out, err = here("build", car, "--out", tmp_path / "out")
    line = next(n for n, row in enumerate(car.read_text().splitlines(), 1) if "sketches:" in row)
    assert code == 2 and f"car.yaml:{line}: chassis.sketches" in err, out + err
    assert "'pinion' is missing" in err
    assert not (tmp_path / "out" / "report.json").exists()


def test_a_broken_document_is_exit_3(here, tmp_path):
    path = tmp_path / "no.FCStd"
    path.write_bytes(b"this is no zip")
    code, _out, err = here("check", path)
    assert code == 3 and "neither a car file (.yaml) nor a FreeCAD document" in err


@pytest.mark.one_host
def test_a_car_file_is_judged_without_writing_anything(here, built, quick, tmp_path, monkeypatch):
    """The same findings as of the document that it makes, of those rules that both are judged by; what is not looked at because of the
    chosen sets is another thing for each."""
    report = report_of(built, "full_bodied_automatic")
    kept = tmp_path / "kept"
    monkeypatch.chdir(tmp_path)
    code, out, err = here("check", quick("full_bodied_automatic", sets="invented_demo"), "--out", kept)
    assert code == 0, out + err
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".FCStd"] == []
    again = json.loads((kept / "report.json").read_text("utf-8"))
    rules = {item["rule"] for item in again["findings"]} - {"PRO-SCREENED"}
    told = [(item["id"], item["state"]) for item in again["findings"] if item["rule"] in rules]
    assert len(rules) > 10 and told == [(item["id"], item["state"]) for item in report["findings"] if item["rule"] in rules]


@pytest.mark.one_host
def test_what_waits_for_a_part_in_error_says_for_which(here, quick):
    code, out, err = here("check", quick("full_bodied_automatic", "{use: demo_tall_deck_aluminium}",
                                           "{use: demo_tall_deck_aluminium, front_holes: []}",
                                           "document_health, strength"))
    assert code == 4, out + err
    assert "engine.front_holes is missing" in out and "Plate foot, left waits for Front plate" in out


def test_a_document_without_a_car_is_exit_3(here, tmp_path):
    import FreeCAD as App
    path = tmp_path / "empty.FCStd"
    document = App.newDocument("x")
    document.addObject("App::Part", "P")
    document.saveAs(str(path))
    App.closeDocument(document.Name)
    code, _out, err = here("check", path)
    assert code == 3 and "holds no car" in err


def test_a_layout_in_error_is_exit_3_and_nothing_is_renamed(here, tmp_path, opened):
    path = tmp_path / "bad.FCStd"
    document = opened("open_clutch")
    document.getObject("Layout").AxleToBlock = 500
    document.saveCopy(str(path))
    for command in ("check", "sheets"):
        code, out, err = here(command, path, "--out", tmp_path / "out")
        assert code == 3, out + err
        assert not list((tmp_path / "out").rglob("*"))


def test_a_document_that_names_an_unknown_rule_set_is_refused_by_check_and_sheets_alike(here, tmp_path, opened):
    document = opened("open_clutch")
    next(obj for obj in document.Objects if getattr(obj, "Kind", "") == "car").Sets = ["practise"]
    document.saveCopy(str(tmp_path / "car.FCStd"))
    told = [here(*arguments) for arguments in (("check", tmp_path / "car.FCStd"),
                                               ("sheets", tmp_path / "car.FCStd", "--out", tmp_path / "out"))]
    assert [code for code, _out, _err in told] == [2, 2], told
    assert told[0][2] == told[1][2] and "did you mean practice" in told[0][2] and not list((tmp_path / "out").glob("*"))


@pytest.fixture
def here():
    """``here(*arguments)``: the command line in this very process; (exit code, results, errors)."""
    with in_this_process() as run:
        yield run


@pytest.mark.one_host
@pytest.mark.parametrize("command, name, told", [("sheets", "_ezdxf", "need ezdxf"), ("build", "write", "not fit to cut")])
def test_what_can_be_drawn_stays_where_cut_files_cannot_be_made(here, quick, monkeypatch, tmp_path, command, name, told):
    """Without ezdxf, and where the fourth cut file fails: the side view stands, no half set of cut files does, exit 4. ``build`` leaves out
    sheets that take long, all of which ``sheets`` draws."""
    from crankline import headless
    from crankline.sheets import dxf
    from crankline.sheets.drawing import SheetError
    write, count = dxf.write, 0

    def fails(flat, path, *etched):
        nonlocal count
        count += 1
        if count == 4:
            raise SheetError(f"{path.name}: it is not fit to cut")
        return write(flat, path, *etched)

    def absent():
        raise SheetError("flat patterns need ezdxf")

    monkeypatch.setattr(headless, "BUILT", tuple(one for one in headless.BUILT if one not in (
        "general", "instructions", "why_here", "part_drawings", "contents", "cover")))
    monkeypatch.setattr(dxf, name, {"_ezdxf": absent, "write": fails}[name])
    folder = tmp_path / "out"
    code, _out, err = here(command, quick("open_clutch"), "--out", folder)
    files = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert code == 4 and told in err and len(err.splitlines()) == 1, err
    assert "side-view.pdf" in files and not any(file.startswith("flat") for file in files)
    others = {"side-view.pdf", "general-drawings.pdf", "set-up.pdf", "driveshaft-order.pdf", "why-here.pdf", "tubes.csv",
              "cope-templates.pdf", "kit.csv", "kit-contents.pdf", "part-drawings.pdf", "instructions.pdf", "cover.pdf", "findings.html"}
    assert (files == others) is (command == "sheets")


@pytest.mark.one_host
def test_a_firewall_in_the_uprights_is_a_finding_not_a_refusal(here, quick, tmp_path):
    """What would clear it is not looked for here."""
    code, out, err = here("check", quick("full_bodied_automatic", "axle_to_block: 83.5 in", "axle_to_block: 82 in", "practice, clearance"),
                          "--remedies", "none", "--out", tmp_path / "out")
    assert code in (1, 4), out + err
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    through = [item for item in report["findings"] if item["rule"] == "CLR-INTERFERENCE" and item["state"] == "open"]
    assert ["firewall", "upright/left"] in [item["subjects"] for item in through] and all(len(item["subjects"]) == 2 for item in through)


def test_example_writes_a_car_file_that_builds_and_keeps_what_is_there(here, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, _err = here("example", "--out", "mine")
    path = tmp_path / "mine" / "full_bodied_automatic.yaml"
    assert code == 0 and out.strip() == "mine/full_bodied_automatic.yaml" and path.exists()
    path.write_text("mine", encoding="utf-8")
    code, _out, _err = here("example", "--out", "mine")
    assert code == 2 and path.read_text() == "mine"


def test_intake_writes_form_and_template_and_keeps_what_is_there(here, tmp_path):
    code, out, err = here("intake", "--units", "mm", "--out", tmp_path / "in")
    assert code == 0 and out.split() == [str(tmp_path / "in" / name) for name in ("intake.pdf", "intake.yaml")], err
    first = {path.name: path.read_bytes() for path in (tmp_path / "in").iterdir()}
    assert set(first) == {"intake.pdf", "intake.yaml"} and first["intake.pdf"].startswith(b"%PDF")
    assert here("intake", "--out", tmp_path / "in")[0] == 2
    assert {path.name: path.read_bytes() for path in (tmp_path / "in").iterdir()} == first
    code, _out, err = here("build", tmp_path / "in" / "intake.yaml", "--out", tmp_path / "out")
    assert code == 2 and err.count("nothing was found") > 25 and not (tmp_path / "out").exists()


@pytest.mark.one_host
@pytest.mark.parametrize("command", ["build", "check", "sheets", "example", "intake"])
def test_help_of_every_command(here, command):
    code, out, _err = here(command, "--help")
    assert code == 0 and command in out and "--quiet" in out and "inspector" in out
