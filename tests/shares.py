"""How a run of tests is shared out, and what its tests cost: a plugin of pytest that conftest.py registers.

``bash tests/run`` starts as many processes as the machine has cores (pytest-xdist), and one more for the tests of the window, which wait
for much of their time: the cores have work meanwhile, and all scripts of the window find it open (windows.py). Each process takes whole
files, in which what tests have in common is made once, the dearest first, so that the last ones to end are cheap ones; whoever has none of
his own left takes those of the others. A run of a single file stays in one process.
"""
from __future__ import annotations

import atexit
import os
import pathlib
import shutil
import tempfile

import pytest

DEAREST = (
    "host/test_service.py", "host/test_every_rule_shapes.py", "host/test_build.py", "host/test_geometry_tubes.py",
    "mechanics/test_every_rule.py", "host/test_remedies_shapes.py", "host/test_absurd_cars.py", "host/test_containment.py",
    "host/test_bounds.py", "host/test_interference_sweep.py", "host/test_document.py", "host/test_sweep_mounts.py",
    "host/test_geometry_plates.py", "host/test_containment_parts.py", "host/test_mounts.py", "host/test_checks_shapes.py",
    "host/test_old_documents.py", "host/test_clearance.py", "host/test_sweep_driveline.py", "host/test_geometry_loops.py")
"""The files that take the longest, from ``--cpu``; the others come as they are found. The order only decides how well a run is balanced."""

WINDOWS = (
    "gui/test_windows.py", "gui/test_start.py", "gui/test_example_car.py", "gui/test_findings_dock.py", "gui/test_by_hand.py",
    "gui/test_edit_parts.py", "gui/test_place_panel.py", "gui/test_start_car.py", "gui/test_chassis_sketches.py", "gui/test_fit_panel.py",
    "gui/test_headless_document.py", "gui/test_own_catalog.py", "gui/test_window_panel.py", "gui/test_demo_picture.py",
    "gui/test_files.py")
"""The files that run scripts in FreeCAD's window, those first that ask for a fresh one: it is open then for the others."""

GUI = pathlib.Path(__file__).absolute().parent / "gui"

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
"""Processes that are taken by themselves, but for that of the window: each is a FreeCAD with documents of its own."""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config):
    """None for one file: two processes would collect the same and one of them run it. Else one a core, at most ``MOST``, and one for the
    window where its tests are asked for."""
    paths = {pathlib.Path(arg.partition("::")[0]).absolute() for arg in config.args}
    if len(paths) == 1 and next(iter(paths)).suffix == ".py":
        return 0
    asked = any(one.parent == GUI or one in (GUI, *GUI.parents) for one in paths)
    return min(MOST, len(os.sched_getaffinity(0))) + asked


def _short(name: str | os.PathLike) -> str:
    """A file of tests as it stands in the lists above."""
    return "/".join(pathlib.PurePath(name).parts[-2:])


def pytest_collection_modifyitems(config, items):
    if hasattr(config, "workerinput"):
        place = {name: number for number, name in enumerate(WINDOWS + DEAREST)}
        items.sort(key=lambda item: place.get(_short(item.path), len(place)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Files shared out as pytest-xdist does it, but that the last process takes those of the window and the others take the rest, each
    as long as there are any."""
    from xdist.scheduler import LoadFileScheduling

    class Scheduling(LoadFileScheduling):
        def _assign_work_unit(self, node):
            windowed = len(self.nodes) > 1 and node is self.nodes[-1]
            own = next((scope for scope in self.workqueue if (_short(scope) in WINDOWS) == windowed), None)
            if own is not None:
                self.workqueue.move_to_end(own, last=False)
            super()._assign_work_unit(node)

    return Scheduling(config, log) if config.getvalue("dist") == "loadfile" else None


# ---------------------------------------------------------------------------------------------------- costs

others: list = []
"""Processes that this one has started and keeps (``windows.py``), each with the seconds of the processor that it has ``spent``: the system
tells of them when they have ended."""


def _spent() -> float:
    return sum(os.times()[:4]) + sum(one.spent for one in others)


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
