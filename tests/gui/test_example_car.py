"""The workbench and its example car in a real window: nothing heavy at activation, everything visible, proxies alive."""
import pathlib

SCRIPTS = pathlib.Path(__file__).parent / "scripts"
COMMANDS = ["AsBuiltFit", "Car", "ChassisSketches", "CheckCar", "DuplicatePart", "EditPart", "ExampleCar", "Export", "Findings", "Help",
            "OpenCarFile", "OwnCatalog", "PlacePowertrain", "PlacementWindow", "Rebuild", "RemovePart", "RepairDocument", "StartCar"]


def test_example_car(gui_run):
    start, idle, made, undone, copied, reopened, empty = gui_run(SCRIPTS / "example_car.py", as_used=True, fresh=True).reported
    assert start["commands"] == [f"Crankline_{name}" for name in COMMANDS]
    print(f"activation: {1000.0 * start['seconds']:.0f} ms of the processor")
    assert start["seconds"] < 0.3
    assert not [name for name in start["loaded"] if name.startswith(("numpy", "pivy", "crankline.features", "crankline.mechanics"))]
    assert idle["active without a document"] == ["Crankline_Car", "Crankline_ExampleCar", "Crankline_Help", "Crankline_OpenCarFile",
                                                 "Crankline_OwnCatalog", "Crankline_StartCar"]

    assert made["hidden"] == [] and made["sketches"] == [True, True] and made["undressed"] == [] and made["not valid"] == []
    assert {"layout", "engine", "transmission", "mid_plate", "rail_tab", "driveshaft", "split_loop", "fixed_loop",
            "enclosure", "chassis_tube"} <= set(made["kinds"])
    assert made["count"] > 30 and made["undo"] == ["Open car file"]
    assert made["icons"] == len(made["kinds"]) - 1             # all but the containers' kind; each its own
    number, commonest = made["colors"]
    assert number > 200 and commonest < 0.9        # a picture with a car on it, not a bare background

    assert undone == {"after undo": 0, "after redo": True, "dead": []}
    key, original, proxy, provider, visible, valid = copied["copy"]
    assert key != original and proxy == "SplitLoop" and provider == "ViewProvider" and visible and valid

    assert reopened == {"hidden engine": True, "color": [0.6, 0.2, 0.4], "others hidden": [], "touched": [], "dead": [],
                        "modified": False}
    assert "there is no car in this document" in empty["no car"] and "Traceback" not in empty["no car"]
