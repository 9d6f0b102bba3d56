"""As-built fit in a real window: readings are typed or opened, OK keeps the placement as built, either placement is shown."""
import math
import pathlib

import cars
import pytest

from crankline import carfile
from crankline.as_built import fitted, readings
from crankline.mechanics import scene

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "fit_panel.py"
ROOT = pathlib.Path(__file__).parent.parent.parent
DEMO = ROOT / "demo_assemblies" / "readings"


def test_readings_are_fitted(gui_run, tmp_path):
    car = carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml")
    designed, placed = fitted.designed(car, scene.of(car))
    wanted = fitted.of(designed, *readings.read(DEMO / "good.yaml", designed, placed)).record
    steps = iter(gui_run(SCRIPT, cars.copy(cars.AUTOMATIC), DEMO, tmp_path).reported)
    few = next(steps)
    assert few["begun"] == [few["begun"][0]] and few["begun"][0].startswith("Type what was measured")
    assert few["few"][0][-1].startswith("? Not determined: ") and few["few"][1] == 1
    assert "do not say where the powertrain is" in few["refused"] and "Read also" in few["refused"] and few["open"]
    assert "comma" in next(steps)["wrong"]
    assert next(steps) == {"changed": [], "undo": 0, "preview": 0, "docks": 0}
    told = next(steps)
    assert "Probably" in told["wrong face"] and "face" in told["wrong face"].partition("Probably")[2]
    assert told["shown"] == "as_built" and told["said"] == ["✓ The readings say where the powertrain is"] and told["changed"] == []
    assert "Moves, in this order:" in told["page"] and "pass surely" in told["page"] and told["preview"] == 1
    assert {"as-built.pdf", "as-built.json", "readings.yaml"} <= set(told["written"])
    done = next(steps)
    assert done["undo"] == ["As-Built Fit"] and done["shown"] == "as_built" and done["errors"] == [] and not done["open"]
    assert done["as built"] == pytest.approx([wanted.axle_to_block, wanted.crank_height, wanted.pitch], abs=1e-6)
    assert done["designed"] == pytest.approx(83.5 * 25.4) and done["crank"] == pytest.approx(wanted.crank_height, abs=1e-6)
    place = next(steps)
    assert place["note"].startswith("The car is shown as built")
    assert [place["first"], place["typed"]] == [f"{value - 0.125 * math.cos(math.radians(2.0)):.3f} in" for value in (83.5, 82.5)]
    back = next(steps)
    # Read twice, 83 13/16 and 83 3/4 in: the field shows the mean, and both stay in the readings.
    assert back["again"] == "83.78125 in" and back["shown"] == "as_designed" and back["kept"] and back["crank"] == pytest.approx(254.0)
    assert next(steps) == {"undone": []}
    saved, measured = readings.read(tmp_path / "readings.yaml", designed, placed)
    assert [one.read for one in saved.readings] == pytest.approx([one.read for one in readings.read(DEMO / "good.yaml", designed, placed)[
        0].readings if one.read]) and all(math.isfinite(one.within) for one in measured)
    assert next(steps, None) is None
