"""What all tests share: the paths, FreeCAD in this very process, and fixtures that start it in a fresh one.

Run through ``bash tests/run``, which puts FreeCAD's modules on the path. In plain
Python no add-on folder is known to FreeCAD, so it is told here; otherwise it would refuse to restore our objects.
"""
from __future__ import annotations

import atexit
import gc
import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
from dataclasses import dataclass

import pytest
import shares
import windows

ROOT = pathlib.Path(os.path.abspath(__file__)).parent.parent
WORKBENCH = ROOT / "workbench"

# Nothing of the user's FreeCAD (add-ons, settings) is read or written by a test, in this process or in those it starts.
_home = tempfile.mkdtemp(prefix="crankline-test-home-")
atexit.register(shutil.rmtree, _home, ignore_errors=True)
os.environ["FREECAD_USER_HOME"] = _home
os.environ["XDG_RUNTIME_DIR"] = _home
os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.chmod(_home, 0o700)

try:
    import hypothesis
except ImportError:
    pass                    # its tests fail at their own import
else:
    # A loaded machine is slow, not wrong; and a build server must not fail by the draw: there the examples are always the same. No test
    # names a target: that phase would spend half of the examples on making the first half smaller.
    hypothesis.settings.register_profile("crankline", deadline=None, derandomize=bool(os.environ.get("CI")),
                                         phases=[phase for phase in hypothesis.Phase if phase is not hypothesis.Phase.target])
    hypothesis.settings.load_profile("crankline")

if str(WORKBENCH) not in sys.path:
    sys.path.insert(0, str(WORKBENCH))
for _folder in ("/usr/lib/freecad-python3/lib", "/usr/lib/freecad/lib", os.environ.get("CONDA_PREFIX", "/nowhere") + "/lib"):
    # Only for those who call pytest themselves; tests/run has asked the host for the right folders.
    if "PYTHONPATH" not in os.environ and os.path.exists(os.path.join(_folder, "FreeCAD.so")):
        sys.path += [_folder, "/usr/share/freecad/Ext"]
        break
try:
    import FreeCAD
except ImportError:
    FreeCAD = None          # tests/mechanics can do without; every test that needs the host fails at its own import
else:
    if str(ROOT) not in getattr(FreeCAD, "__ModDirs__", []):
        FreeCAD.__ModDirs__ = [*getattr(FreeCAD, "__ModDirs__", []), str(ROOT)]


# ---------------------------------------------------------------------------------------------------- sweeps

def pytest_addoption(parser, pluginmanager):
    """How far the seeded sweeps over random cars go: small by default, all of them by hand before a release."""
    pluginmanager.register(shares)
    group = parser.getgroup("crankline")
    group.addoption("--solids", type=int, default=None, metavar="N",
                    help="random cars of each demo of which a sweep makes solids (default: what each sweep states)")
    group.addoption("--fuzz", type=int, default=None, metavar="N", help="mutated files of each kind (default: a short share)")
    group.addoption("--fuzz-state", metavar="FILE", help="keeps how far each kind of them has come: a run is gone on with from there")
    group.addoption("--seed", type=int, default=None, metavar="S", help="seed of those cars (default: what each sweep states)")


@pytest.fixture
def closes_documents():
    """Documents that a test opens, such as by a command of the command line in this process, are closed after it."""
    import FreeCAD as App
    before = set(App.listDocuments())
    yield
    for name in set(App.listDocuments()) - before:
        App.closeDocument(name)


@pytest.fixture
def solids(request):
    """``solids(default)``: how many cars a sweep makes solids of."""
    given = request.config.getoption("--solids")
    return lambda default: default if given is None else given


@pytest.fixture
def seed(request):
    """``seed(default)``: the seed of a sweep's cars."""
    given = request.config.getoption("--seed")
    return lambda default: default if given is None else given


# ---------------------------------------------------------------------------------------------------- shapes

@pytest.fixture(scope="session", autouse=True)
def _shapes_kept(request):
    """What one test has built no other test builds again (``cars.remembering``): shapes are functions of their frozen specs."""
    if FreeCAD is None or not any("host" in item.path.parts for item in request.session.items):
        yield
        return
    import cars
    with cars.remembering():
        yield


def pytest_collection_finish(session):
    """What is there by now stays there: the collector of garbage need not walk through it again and again, nor at every few objects."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


# ---------------------------------------------------------------------------------------------------- processes

@dataclass(frozen=True)
class Finished:
    """A process that has ended: exit code, what it printed, and the objects it reported (GUI scripts: ``report(x)``)."""
    returncode: int
    stdout: str
    stderr: str
    reported: tuple = ()

    @property
    def log(self) -> str:
        return self.stdout + self.stderr


_TRACEBACK = "Traceback (most recent call last)"

NOT_HANDED_ON = ("PYTHONPATH", "DISPLAY", "WAYLAND_DISPLAY")
"""Variables that no host is given: FreeCAD 1.x ignores the first anyway."""

HANGS = 3600.0
"""Seconds of the clock after which a process is taken to hang. No verdict hangs on it: whatever ends, ends in a small part of that, also on
a machine that does ten other things."""


def run_process(command, cwd=None, env=None, timeout=HANGS) -> Finished:
    """Run a command to its end with no standard input; where it hangs its whole process group is ended and the test fails."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        process = subprocess.Popen([os.fspath(part) for part in command], stdin=subprocess.DEVNULL, stdout=out, stderr=err,
                                   cwd=cwd, env=env, start_new_session=True)
        try:
            process.wait(timeout)
            late = False
        except subprocess.TimeoutExpired:
            late = True
        finally:
            try:
                os.killpg(process.pid, signal.SIGKILL)      # also what the process left running
            except ProcessLookupError:
                pass
            process.wait()
        texts = []
        for file in (out, err):
            file.seek(0)
            texts.append(file.read().decode("utf-8", "replace"))
    if late:
        pytest.fail(f"{command[0]} did not end within {timeout} s\n--- stdout\n{texts[0]}\n--- stderr\n{texts[1]}", pytrace=False)
    return Finished(process.returncode, *texts)


def _require(finished: Finished, what: str) -> Finished:
    if finished.returncode != 0 or _TRACEBACK in finished.log:
        pytest.fail(f"{what} ended with {finished.returncode}\n--- stdout\n{finished.stdout}\n--- stderr\n{finished.stderr}", pytrace=False)
    return finished


def _program(*names: str) -> str:
    host = os.environ.get("CRANKLINE_FREECAD")
    beside = [os.path.join(os.path.dirname(host), name) for name in names] if host and os.path.isfile(host) else []
    for name in [*beside, *names]:
        if found := shutil.which(name):
            return found
    pytest.fail(f"{' or '.join(names)} is not installed: run the tests by 'bash tests/run', which installs it", pytrace=False)


@pytest.fixture
def host_environment(tmp_path):
    """Environment of a process with a FreeCAD home of its own, and no display."""
    home = tmp_path / "freecad-home"
    home.mkdir(mode=0o700, exist_ok=True)
    env = {name: value for name, value in os.environ.items() if name not in NOT_HANDED_ON}
    return env | {"FREECAD_USER_HOME": str(home), "XDG_RUNTIME_DIR": str(home), "QT_QPA_PLATFORM": "offscreen", "LC_ALL": "C.UTF-8"}


# The only way that has the right exit code, __main__ and no second run on every host. Its output is flushed line by line,
# because 1.x loses what is still in the buffer at sys.exit. The text after -c stays short, because 1.1 takes it for a file
# name first and dies of one that is too long (255 bytes).
_RUNNER = """import json, os, runpy, sys
sys.stdout = sys.__stdout__
sys.stdout.reconfigure(line_buffering=True)
sys.argv = json.loads(os.environ["CRANKLINE_TEST_ARGV"])
runpy.run_path(sys.argv[0], run_name="__main__")
sys.exit(0)
"""
_RUN_RUNNER = 'import os, runpy; runpy.run_path(os.environ["CRANKLINE_TEST_RUNNER"])'


@pytest.fixture
def freecadcmd(tmp_path, host_environment):
    """Runner of Python in a fresh FreeCAD without a window: ``freecadcmd(code_or_path, *args)`` -> Finished.

    ``code_or_path``: a str is code, a pathlib.Path a script; either runs as ``__main__`` with ``args`` in sys.argv[1:].
    ``addons``: add-on folders the host loads (default: this checkout); ``env`` adds variables. An exit code other than 0
    or a traceback fails the test, unless ``check=False``.
    """
    count = 0

    def run(code_or_path, *args, addons=(ROOT,), check=True, cwd=None, env=None):
        nonlocal count
        if isinstance(code_or_path, str):
            count += 1
            script = tmp_path / f"freecadcmd_{count}.py"
            script.write_text(code_or_path, encoding="utf-8")
        else:
            script = pathlib.Path(code_or_path).absolute()
        runner = tmp_path / "freecadcmd_runner.py"
        runner.write_text(_RUNNER, encoding="utf-8")
        command = [_program("freecadcmd", "FreeCADCmd"), "-c", _RUN_RUNNER]
        for addon in addons:
            command += ["-M", os.path.abspath(addon)]
        given = {"CRANKLINE_TEST_ARGV": json.dumps([str(script), *map(str, args)]), "CRANKLINE_TEST_RUNNER": str(runner)}
        finished = run_process(command, cwd, host_environment | given | (env or {}))
        return _require(finished, f"FreeCAD running {script.name}") if check else finished

    return run


@pytest.fixture
def run_cli(tmp_path):
    """Runner of our command line: ``run_cli("build", car, "--out", folder)`` -> Finished; the exit code is the caller's to judge.

    ``root`` is the checkout whose ``workbench/run`` is called; ``env`` replaces the whole environment; ``cwd`` defaults to tmp_path.
    """
    def run(*args, cwd=None, env=None, root=ROOT):
        return run_process(["bash", os.path.join(root, "workbench", "run"), *args], cwd or tmp_path, env)

    return run


# ---------------------------------------------------------------------------------------------------- windows

@pytest.fixture
def screenshots(tmp_path):
    """Folder for screenshots: CRANKLINE_KEEP, so that they can be looked at afterwards, else a temporary one."""
    folder = pathlib.Path(os.environ.get("CRANKLINE_KEEP") or tmp_path / "screenshots").absolute()
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def _windows(tmp_path_factory):
    """The windows of this process's tests (``windows.py``)."""
    def make(as_used):
        given = {name: value for name, value in os.environ.items() if name not in NOT_HANDED_ON}
        return windows.Window(tmp_path_factory.mktemp("window"), (_program("freecad", "FreeCAD"), _program("Xvfb")), ROOT,
                              given | {"LC_ALL": "C.UTF-8"}, as_used)

    kept = windows.Windows(make)
    yield kept
    kept.close()


@pytest.fixture
def gui_run(_windows, tmp_path, screenshots):
    """Runner of a script in a real FreeCAD window: ``gui_run(code_or_path, *args)`` -> Finished.

    The script runs as ``__main__`` when the window is up, in one in which others may have run before it and which was tidied since
    (``gui/scripts/serve.py``); ``fresh``: in a new one. It may import what ``gui/scripts/window.py`` has: ``report(json_value)``
    (see Finished.reported), ``pump(seconds)`` and so on. A traceback anywhere, an exit code other than 0 or a window that hangs fail the
    test. ``as_used``: the window draws all that a user's does, as it does where screenshots are kept.
    """
    count = 0

    def run(code_or_path, *args, as_used=False, fresh=False):
        nonlocal count
        count += 1
        script, reports = tmp_path / f"gui_script_{count}.py", tmp_path / f"reports_{count}"
        if isinstance(code_or_path, str):
            script.write_text(code_or_path, encoding="utf-8")
        else:
            script = pathlib.Path(code_or_path).absolute()
        as_used = as_used or bool(os.environ.get("CRANKLINE_KEEP"))
        window = _windows.take(as_used, fresh)
        before = window.scripts
        code, out, err = window.run([str(script), *map(str, args)], {
            "CRANKLINE_TEST_REPORT": str(reports), "CRANKLINE_KEEP": str(screenshots),
            "CRANKLINE_TEST_KEPT": os.environ.get("CRANKLINE_KEEP", "")}, HANGS)
        what = f"{script.name}, script {before + 1} of a FreeCAD window,"
        if code != 0 or _TRACEBACK in out + err:
            _windows.drop(as_used)
        if code is None:
            pytest.fail(f"{what} did not end within {HANGS} s\n--- stdout\n{out}\n--- stderr\n{err}", pytrace=False)
        lines = reports.read_text("utf-8").splitlines() if reports.exists() else []
        return _require(Finished(code, out, err, tuple(json.loads(line) for line in lines)), what)

    return run


@pytest.fixture
def exchange():
    """Folder through which runs with different hosts hand each other documents (CRANKLINE_EXCHANGE), or None."""
    folder = os.environ.get("CRANKLINE_EXCHANGE")
    if not folder:
        return None
    os.makedirs(folder, exist_ok=True)
    return pathlib.Path(folder)
