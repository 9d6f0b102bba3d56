"""Windows and macOS, as far as it can be told from here: no call that only POSIX has, places of the host as data."""
from __future__ import annotations

import ast
import ntpath
import posixpath
import subprocess

import pytest
import source_trees
from conftest import WORKBENCH

ONLY_POSIX = {
    "os": {"fork", "forkpty", "getuid", "geteuid", "getgid", "getegid", "getpgid", "setsid", "killpg", "nice", "uname", "mkfifo", "chown",
           "sync", "pread", "pwrite", "sched_getaffinity", "wait", "waitpid", "WNOHANG", "getloadavg", "O_DIRECTORY", "posix_spawn"},
    "signal": {"SIGKILL", "SIGHUP", "SIGALRM", "SIGPROF", "SIGUSR1", "setitimer", "alarm", "pause", "ITIMER_PROF", "ITIMER_REAL"}}
MODULES = {"fcntl", "pwd", "grp", "resource", "termios", "pty", "tty", "posix", "syslog", "crypt"}
ARGUMENTS = {"preexec_fn", "start_new_session", "pass_fds"}

SUBSTITUTES = {
    ("time_limit.py", "signal.SIGPROF"): "asked for first: hasattr(signal, 'setitimer'); elsewhere --timeout stops a car of many",
    ("time_limit.py", "signal.setitimer"): "the same", ("time_limit.py", "signal.ITIMER_PROF"): "the same",
    ("batch/pool.py", "os.sched_getaffinity"): "except AttributeError: os.cpu_count"}
"""Every call that only POSIX has, and what is done where there is none."""


def test_no_call_is_only_for_posix_without_a_substitute():
    found = set()
    for path in [*sorted((WORKBENCH / "crankline").rglob("*.py")), WORKBENCH / "headless_main.py"]:
        name = path.relative_to(WORKBENCH / "crankline").as_posix() if "crankline" in path.relative_to(WORKBENCH).parts else path.name
        for node in source_trees.of_kind(path, ast.Attribute, ast.Import, ast.ImportFrom, ast.keyword):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.attr in ONLY_POSIX.get(node.value.id, ()):
                found.add((name, f"{node.value.id}.{node.attr}"))
            if isinstance(node, (ast.Import, ast.ImportFrom)):
                names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [alias.name for alias in node.names]
                found.update((name, one) for one in names if one.split(".")[0] in MODULES)
            if isinstance(node, ast.keyword) and node.arg in ARGUMENTS:
                found.add((name, node.arg))
    assert found == set(SUBSTITUTES)


def places():
    lines = (WORKBENCH / "host_places.txt").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def test_places_of_the_host_are_absolute_and_end_in_its_program():
    assert {name for name, one in (("windows", "C:"), ("macos", "/Applications"), ("linux", "/opt")) if any(
        line.startswith(one) for line in places())} == {"windows", "macos", "linux"}
    for line in places():
        assert (ntpath if line[1:2] == ":" else posixpath).isabs(line), line
        assert line.rpartition("/")[2].lower() in ("freecadcmd", "freecadcmd.exe", "freecad.cmd"), line


@pytest.mark.parametrize(("there", "found"), [
    (["Program Files/FreeCAD 0.21/bin/FreeCADCmd.exe", "Program Files/FreeCAD 1.0/bin/FreeCADCmd.exe"], "FreeCAD 1.0"), ([], "")])
def test_the_shell_takes_the_last_program_of_a_place_with_spaces(tmp_path, there, found):
    (tmp_path / "places").write_text(f"# a remark\n\n{tmp_path}/nowhere/freecadcmd\n{tmp_path}/Program Files/FreeCAD*/bin/FreeCADCmd.exe\n",
                                     encoding="utf-8")
    for name in there:
        place = tmp_path / name
        place.parent.mkdir(parents=True)
        place.write_text("", encoding="utf-8")
        place.chmod(0o755)
    shell = '. "$1"; host_in_places "$2" && printf "%s" "$host"'
    done = subprocess.run(["sh", "-c", shell, "sh", str(WORKBENCH / "host.sh"), str(tmp_path / "places")], capture_output=True, text=True)
    assert (found in done.stdout and done.returncode == 0) if found else (done.returncode == 1 and not done.stdout)
