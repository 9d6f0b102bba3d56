"""The command ``fit``: the form, the fit of the demo readings, what is written and which exit code; a whole check of the car as built."""
from __future__ import annotations

import io
import json
import re

import pytest
from conftest import ROOT

from crankline import carfile, headless, source
from crankline.as_built import readings, verdicts
from crankline.mechanics import scene as scenes
from crankline.units import INCH

pytestmark = pytest.mark.usefixtures("closes_documents")
DEMOS = ROOT / "demo_assemblies"
CAR = DEMOS / "full_bodied_automatic.yaml"


def run(*words):
    """(exit code, what was printed, what was said)."""
    out, err = io.StringIO(), io.StringIO()
    code = headless.main(["fit", *map(str, words), "--quiet"], out, err)
    return code, out.getvalue(), err.getvalue()


def test_the_form_is_printed_or_written_and_never_overwritten(tmp_path):
    code, printed, _err = run("--template", CAR)
    assert code == 0 and '- name: "Axle to rear face of block, at its base"' in printed
    code, _out, _err = run("--template", CAR, "--out", tmp_path)
    assert code == 0 and (tmp_path / "readings.yaml").read_text(encoding="utf-8") == printed
    code, _out, err = run("--template", CAR, "--out", tmp_path)
    assert code == 2 and "was not overwritten" in err
    run("--template", DEMOS / "minimal.yaml", "--out", tmp_path / "small")
    code, out, _err = run(DEMOS / "minimal.yaml", tmp_path / "small" / "readings.yaml", "--out", tmp_path, "--only-numbers")
    assert code == 4 and "Not determined by these readings: fore and aft, side to side, height, roll, pitch, yaw" in out


@pytest.mark.one_host
@pytest.mark.parametrize("name, exit_code, told", [
    ("wrong_face", 0, "taken at the rear face of the mid plate"), ("too_few", 4, "roll, yaw")])
def test_demo_readings(name, exit_code, told, tmp_path):
    code, out, err = run(CAR, DEMOS / "readings" / f"{name}.yaml", "--out", tmp_path, "--only-numbers")
    assert (code, err) == (exit_code, "") and told in out
    plain = json.loads((tmp_path / "as-built.json").read_text(encoding="utf-8"))
    assert plain["exit"] == exit_code and (tmp_path / "as-built.pdf").read_bytes().startswith(b"%PDF")
    kept = tmp_path / "as-built.yaml"
    assert kept.exists() == (name != "too_few")
    if kept.exists():
        placement = carfile.read(kept).placement
        assert placement.shown == "as_built" and placement.axle_to_block == pytest.approx(83.5 * INCH)
        assert placement.as_built.axle_to_block == pytest.approx(plain["placement"]["axle_to_block_mm"]["as_built"], abs=0.002)
        # In the car's unit, with no more digits than a person reads.
        text = kept.read_text(encoding="utf-8")
        assert re.search(r"as_built:\n    axle_to_block: \d+\.?\d{0,4} in\n", text) and " rad" not in text


def test_what_is_refused_says_file_and_line(tmp_path):
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("crankline_readings: 1\nreadings:\n  - {name: Rear joint above track, read: 13}\n", encoding="utf-8")
    code, _out, err = run(CAR, wrong, "--out", tmp_path)
    assert code == 2 and "wrong.yaml:3: readings[1].read: '13' has no unit" in err
    code, _out, err = run(CAR)
    assert code == 2 and "give a readings file" in err


def test_what_is_measured_on_shapes_is_told_of_the_fitted_placement_only(tmp_path):
    """The smallest car, measured 1/8 in ahead of where it should be: its document is made there, and the check of shapes is of there."""
    path = DEMOS / "minimal.yaml"
    car = carfile.read(path)
    scene = scenes.of(car)
    _none, measured = readings.of_nodes(source.parse(readings.template(car, scene, lambda one: ""), "readings"), car, scene)
    lines = ["crankline_readings: 1", "readings:"]
    for one in measured:
        ahead = INCH / 8.0 if one.kind == "along" and one.sight is not None else 0.0
        if one.reading.kind is None:
            lines.append(f"  - {{name: \"{one.reading.name}\", read: {one.wanted + ahead!r} {'rad' if one.quantity == 'angle' else 'mm'}}}")
    (tmp_path / "readings.yaml").write_text("\n".join(line for line in lines if "Joint to joint" not in line) + "\n", encoding="utf-8")
    code, out, _err = run(path, tmp_path / "readings.yaml", "--out", tmp_path)
    plain = json.loads((tmp_path / "as-built.json").read_text(encoding="utf-8"))
    assert code == 4 and any(one["verdict"] == verdicts.UNKNOWN for one in plain["findings"]), "it has no mid plate yet"
    assert plain["placement"]["axle_to_block_mm"]["as_built"] - plain["placement"]["axle_to_block_mm"]["designed"] == pytest.approx(
        3.175, abs=0.05)
    shapes = [one for one in plain["findings"] if one["verdict"] == verdicts.HERE]
    assert shapes and all(one["margin_95"] is None for one in shapes) and verdicts.HERE in out
    assert plain["moves"]["moves"][0]["what"].startswith("Slide the powertrain back 1/8 in")
