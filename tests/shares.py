"""How a run of tests is shared out, and what its tests cost: a plugin of pytest that conftest.py registers.

``bash tests/run`` starts as many processes as the machine has cores (pytest-xdist). Each takes whole files, in which what tests have in
common is made once, the dearest first, so that the last ones to end are cheap ones. A run of a single file stays in one process.
"""
from __future__ import annotations

import atexit
import os
import shutil
import tempfile

import pytest

DEAREST = (
    "host/test_service.py", "host/test_every_rule_shapes.py", "host/test_build.py", "gui/test_findings_dock.py", "gui/test_by_hand.py",
    "host/test_geometry_tubes.py", "mechanics/test_every_rule.py", "host/test_remedies_shapes.py", "host/test_absurd_cars.py",
    "host/test_containment.py", "host/test_bounds.py", "host/test_interference_sweep.py", "host/test_document.py",
    "host/test_sweep_mounts.py", "gui/test_edit_parts.py", "gui/test_files.py", "gui/test_place_panel.py", "host/test_geometry_plates.py",
    "host/test_containment_parts.py", "host/test_mounts.py", "host/test_checks_shapes.py", "host/test_old_documents.py",
    "host/test_clearance.py", "host/test_sweep_driveline.py", "host/test_geometry_loops.py", "host/test_run_script.py",
    "gui/test_headless_document.py", "gui/test_fit_panel.py", "gui/test_start_car.py", "gui/test_example_car.py",
    "gui/test_window_panel.py", "gui/test_own_catalog.py", "gui/test_demo_picture.py")
"""The files that take the longest, from ``--cpu``; the others come as they are found. The order only decides how well a run is balanced."""

FOLDER = "CRANKLINE_TEST_CARS"
"""Variable that names the folder in which the processes of a run keep the documents that any of them has made (cars.py)."""

_costs: dict[str, float] = {}
"""Test to the seconds of the processor that it took, those of the processes that it started and its fixtures included."""

_shares: dict[str, float] = {}
"""The same for each process of the run, collecting and all."""

_BEGAN, _COST = pytest.StashKey[float](), "seconds of the processor"


def pytest_addoption(parser):
    parser.getgroup("crankline").addoption(
        "--cpu", type=int, default=0, metavar="N",
        help="list the N tests and the N files that cost the most seconds of the processor, what they start included, and what each "
        "process does")


def pytest_configure(config):
    if FOLDER not in os.environ:
        os.environ[FOLDER] = tempfile.mkdtemp(prefix="crankline-test-cars-")
        atexit.register(shutil.rmtree, os.environ[FOLDER], ignore_errors=True)
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False          # newer versions would begin with the files that have the most tests


MOST = 4
"""Processes that are taken by themselves: each is a FreeCAD with documents of its own, and window tests beside many others are slow."""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config):
    """None for one file: two processes would collect the same and one of them run it. At most ``MOST``."""
    paths = {arg.partition("::")[0] for arg in config.args}
    return 0 if len(paths) == 1 and paths.pop().endswith(".py") else min(MOST, len(os.sched_getaffinity(0)))


def pytest_collection_modifyitems(config, items):
    if hasattr(config, "workerinput"):
        place = {name: number for number, name in enumerate(DEAREST)}
        items.sort(key=lambda item: place.get("/".join(item.path.parts[-2:]), len(place)))


# ---------------------------------------------------------------------------------------------------- costs

def _spent() -> float:
    return sum(os.times()[:4])


@pytest.hookimpl(hookwrapper=True, tryfirst=True)
def pytest_runtest_protocol(item):
    item.stash[_BEGAN] = _spent()
    yield


@pytest.hookimpl(hookwrapper=True, trylast=True)
def pytest_runtest_makereport(item, call):
    """The last report of a test brings along what the test cost: seconds of the processor, which a loaded machine does not stretch as it
    does the clock's."""
    outcome = yield
    if call.when == "teardown":
        outcome.get_result().user_properties.append((_COST, _spent() - item.stash[_BEGAN]))


def pytest_runtest_logreport(report):
    """In the process that the others of a run report to, or the only one."""
    if report.when == "teardown":
        _costs[report.nodeid] = dict(report.user_properties).get(_COST, 0.0)


def pytest_sessionfinish(session):
    if (output := getattr(session.config, "workeroutput", None)) is not None:
        output["spent"] = _spent()


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node, error):
    """What a process of the run has spent; one that has crashed tells nothing."""
    _shares[node.gateway.id] = getattr(node, "workeroutput", {}).get("spent", float("nan"))


def pytest_terminal_summary(terminalreporter, config):
    if wanted := config.getoption("--cpu"):
        files: dict[str, float] = {}
        for test, cost in _costs.items():
            files[test.partition("::")[0]] = files.get(test.partition("::")[0], 0.0) + cost
        terminalreporter.section("seconds of the processor")
        for costs in (_costs, files):
            for name, cost in sorted(costs.items(), key=lambda item: -item[1])[:wanted]:
                terminalreporter.write_line(f"{cost:8.2f} {name}")
        for name, cost in (_shares or {"this process": _spent()}).items():
            terminalreporter.write_line(f"{cost:8.2f} {name}, collecting included")
        terminalreporter.write_line(f"{sum(files.values()):8.2f} all")
