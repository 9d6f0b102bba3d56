"""workbench/run: what the user types arrives, only our own word decides the exit code, and a host that is not there is one sentence.

The checkout under test is a temporary copy with a stand-in for crankline.headless, so that every ending can be provoked.
"""
import io
import json
import os
import pathlib
import shutil
import signal
import stat
import subprocess
import tempfile
import time

import pytest
from conftest import HANGS, ROOT

STAND_IN = '''
import json, os, signal, sys, time

def run_from_environment():
    arguments = os.environ["CRANKLINE_ARGV"].split("\\x1f")[:-1]
    out, err, done = int(os.environ["CRANKLINE_FD"]), int(os.environ["CRANKLINE_ERR_FD"]), os.environ["CRANKLINE_DONE"]
    print("noise of the host", flush=True)
    print("noise of the host", file=sys.stderr, flush=True)
    how = arguments[0]
    if how == "echo":
        os.write(out, json.dumps({"arguments": arguments, "cwd": os.getcwd(), "pid": os.getpid(), "home": os.environ["FREECAD_USER_HOME"],
                                  "file": __file__, "numpy": "numpy" in sys.modules}).encode() + b"\\n")
        os.write(err, b"progress\\n")
        how, arguments = "leave", ["leave", "0"]
    if how == "leave":
        with open(done, "w") as file:
            file.write(arguments[1])
        os._exit(0)
    if how == "sleep":
        with open(arguments[1], "w") as file:
            file.write(str(os.getpid()))
        time.sleep(60)
    if how == "raise":
        raise RuntimeError("a fault of ours")
    if how == "crash while measuring":
        with open(done + ".about", "w") as file:
            file.write("Loop, front")
        os.kill(os.getpid(), signal.SIGSEGV)
    if how == "crash":
        os.kill(os.getpid(), signal.SIGSEGV)
    if how == "exit":
        sys.exit(0)
    if how == "silent":
        os._exit(0)
    # "return": nothing at all
'''


def copy_checkout(folder: pathlib.Path) -> pathlib.Path:
    """The smallest add-on that starts: our start files, our shell, the empty package and the stand-in."""
    (folder / "workbench" / "crankline").mkdir(parents=True)
    for name in ("Init.py", "package.xml", "workbench/run", "workbench/headless_main.py", "workbench/host.sh", "workbench/environment.yml",
                 "workbench/crankline/__init__.py"):
        shutil.copy(ROOT / name, folder / name)
    (folder / "workbench" / "crankline" / "headless.py").write_text(STAND_IN)
    return folder


@pytest.fixture
def checkout(tmp_path):
    return copy_checkout(tmp_path / "checkout")


def real_host() -> str:
    host = os.environ.get("CRANKLINE_FREECAD") or shutil.which("FreeCADCmd") or shutil.which("freecadcmd")
    assert host, "no FreeCAD: run the tests by 'bash tests/run', which installs it"
    return host


def one_sentence(finished):
    """The error output is one line of ours and no traceback."""
    lines = finished.stderr.splitlines()
    assert len(lines) == 1 and lines[0].startswith("crankline: ") and lines[0].endswith("."), finished
    assert "Traceback" not in finished.log
    return lines[0]


# ---------------------------------------------------------------------------------------------- arguments and output

AWKWARD = ["echo", "with spaces", "it's", 'double "quotes"', "$HOME", "`date`", "$(date)", "", "two\nlines\n", "\n", "-M", "-c", "--help",
           "*", "a\\b",
           "--out=x y", "Grüße 💥", ""]


def test_every_argument_arrives_as_it_was_typed(checkout, run_cli):
    finished = run_cli(*AWKWARD, root=checkout)
    assert finished.returncode == 0, finished
    assert json.loads(finished.stdout)["arguments"] == AWKWARD


def test_separator_inside_an_argument_is_refused(checkout, run_cli):
    finished = run_cli("echo", "a\x1fb", root=checkout)
    assert finished.returncode == 2
    assert "0x1f" in one_sentence(finished)


def test_only_our_own_output_is_seen(checkout, run_cli):
    finished = run_cli("echo", root=checkout)
    assert finished.stdout.count("\n") == 1 and finished.stderr == "progress\n", finished


def test_relative_paths_are_those_of_the_user(checkout, run_cli, tmp_path):
    elsewhere = tmp_path / "else where"
    elsewhere.mkdir()
    assert json.loads(run_cli("echo", root=checkout, cwd=elsewhere).stdout)["cwd"] == str(elsewhere)


def test_called_by_a_relative_path_and_through_a_link(checkout, tmp_path):
    (tmp_path / "crankline-run").symlink_to("checkout/workbench/run")
    for cwd, script in ((checkout, "workbench/run"), (checkout / "workbench", "run"), (tmp_path, "crankline-run")):
        out = subprocess.run(["bash", script, "echo"], cwd=cwd, capture_output=True, text=True)
        assert out.returncode == 0, out
        assert json.loads(out.stdout)["file"] == str(checkout / "workbench" / "crankline" / "headless.py")


@pytest.mark.parametrize("name", ["re po's (1)", "$HOME `x` \"q\"", "Prüfstand,a"])
def test_checkout_in_a_folder_with_an_odd_name(tmp_path, run_cli, name):
    odd = copy_checkout(tmp_path / name)
    finished = run_cli("echo", root=odd)
    assert finished.returncode == 0, finished
    assert json.loads(finished.stdout)["file"].startswith(str(odd))


def test_checkout_in_a_folder_that_the_host_would_take_for_two(tmp_path, run_cli):
    finished = run_cli("echo", root=copy_checkout(tmp_path / "a;b"))
    assert finished.returncode == 2 and "a;b" in one_sentence(finished)


def test_help_needs_no_host(checkout, run_cli, tmp_path):
    env = {"PATH": str(tools(tmp_path / "bin")), "HOME": str(tmp_path)}
    for word in ("--help", "-h", "help"):
        finished = run_cli(word, root=checkout, env=env)
        assert finished.returncode == 0 and "Usage: bash workbench/run" in finished.stdout and finished.stderr == ""
    finished = run_cli(root=checkout, env=env)
    assert finished.returncode == 2 and finished.stdout == "" and "Usage:" in finished.stderr


def test_help_lists_the_commands_that_there_are(run_cli):
    """The shell prints its text without starting the host, so the two lists are held together here."""
    from crankline import command_line, headless
    top = command_line.parser(headless.Session(io.StringIO(), io.StringIO()))
    commands = next(action.choices for action in top._actions if action.choices)
    listed = [line.split()[0] for line in run_cli("--help").stdout.splitlines() if line.startswith("  ") and line.split()[0].isalpha()
              and line.split()[0].islower()]
    assert listed == list(commands)
    for command in commands:
        out, err = io.StringIO(), io.StringIO()
        assert headless.main([command, "--help"], out, err) == 0 and f"run {command}" in out.getvalue() and err.getvalue() == "", command
    # The shell hands on whatever it is given: one that it starts the host for says the same.
    finished = run_cli(command, "--help")
    assert (finished.returncode, finished.stdout, finished.stderr) == (0, out.getvalue(), ""), finished


# ---------------------------------------------------------------------------------------------- exit codes

@pytest.mark.parametrize("code", range(6))
def test_exit_code_is_the_one_we_wrote(checkout, run_cli, code):
    assert run_cli("leave", str(code), root=checkout).returncode == code


def test_a_host_that_dies_while_it_measures_is_the_documents_fault(checkout, run_cli):
    """Or is ended by the time limit of a call: exit 3, with the name of the part."""
    finished = run_cli("crash while measuring", root=checkout)
    assert finished.returncode == 3 and "did not come back from Loop, front" in one_sentence(finished)


@pytest.mark.parametrize("ending", [["raise"], ["crash"], ["exit"], ["silent"], ["return"], ["leave", ""], ["leave", "7"],
                                    ["leave", "0 or so"]])
def test_host_that_leaves_without_our_word_is_an_internal_error(checkout, run_cli, ending):
    finished = run_cli(*ending, root=checkout)
    assert finished.returncode == 5, finished
    sentence = one_sentence(finished)
    log = pathlib.Path(sentence.split("kept in ")[1].rstrip("."))
    try:
        assert "noise of the host" in log.read_text()
    finally:
        log.unlink()


def test_end_by_signal_takes_the_host_with_it_and_cleans_up(checkout, tmp_path):
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    mark = tmp_path / "pid"
    process = subprocess.Popen(["bash", str(checkout / "workbench/run"), "sleep", str(mark)], env=os.environ | {"TMPDIR": str(scratch)})
    try:
        limit = time.monotonic() + HANGS
        while not (mark.exists() and mark.read_text()) and time.monotonic() < limit:
            time.sleep(0.05)
        pid = int(mark.read_text())
        process.send_signal(signal.SIGTERM)
        assert process.wait(HANGS) == 143
    finally:
        process.kill()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
    assert list(scratch.iterdir()) == []


# ---------------------------------------------------------------------------------------------- isolation

def test_add_ons_of_the_user_and_other_copies_stay_out(checkout, run_cli, tmp_path):
    user = tmp_path / "user"
    mark = tmp_path / "mark"
    for folder in (user / "Mod" / "Other", user / ".local/share/FreeCAD/Mod/Other"):
        folder.mkdir(parents=True)
        (folder / "Init.py").write_text(f"open({str(mark)!r}, 'w').close()\n")
    second = tmp_path / "second" / "crankline"
    second.mkdir(parents=True)
    (second / "__init__.py").write_text("raise RuntimeError('the wrong copy')\n")
    (tmp_path / "yaml.py").write_text("raise RuntimeError('a file of the user')\n")
    env = os.environ | {"FREECAD_USER_HOME": str(user), "HOME": str(user), "PYTHONPATH": str(second.parent)}
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 0, finished
    said = json.loads(finished.stdout)
    assert not mark.exists()
    assert said["file"].startswith(str(checkout)) and not said["home"].startswith(str(user))
    assert not os.path.exists(said["home"])     # the private home is gone afterwards


def test_checkout_that_may_not_be_written_by_a_user_without_a_home(run_cli):
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        checkout = copy_checkout(pathlib.Path(folder) / "checkout")
        for path in [checkout, *checkout.rglob("*")]:
            path.chmod(0o555 if path.is_dir() else 0o444)
        command = ["bash", str(checkout / "workbench/run"), "echo"]
        if os.getuid() == 0:        # for root nothing is read-only
            command = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", *command]
        env = {"PATH": os.environ["PATH"], "HOME": "/nonexistent"}
        out = subprocess.run(command, env=env, cwd="/", capture_output=True, text=True)
        for path in [checkout, *checkout.rglob("*")]:
            path.chmod(0o755)
        assert out.returncode == 0, out
        assert json.loads(out.stdout)["cwd"] == "/"


# ---------------------------------------------------------------------------------------------- finding and installing the host

TOOLS = ("bash", "sh", "cat", "dirname", "readlink", "mktemp", "rm", "mkdir", "id", "tail", "cp", "env", "flock", "basename", "touch", "ln",
         "chmod")


def tools(folder: pathlib.Path, **scripts: str) -> pathlib.Path:
    """A folder for PATH that holds the ordinary tools, and the given scripts under their names; no FreeCAD, apt-get, sudo or conda."""
    folder.mkdir()
    for name in TOOLS:
        (folder / name).symlink_to(shutil.which(name))
    for name, text in scripts.items():
        (folder / name).unlink(missing_ok=True)
        script(folder / name.replace("_", "-"), text)
    return folder


def script(path: pathlib.Path, text: str) -> None:
    path.write_text("#!/bin/sh\n" + text + "\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR | stat.S_IXGRP | stat.S_IXOTH)


def machine(tmp_path, **scripts):
    """Environment of a made-up machine; every script appends its name and arguments to ``calls``."""
    calls = tmp_path / "calls"
    calls.write_text("")
    noted = {name: f'echo "{name.replace("_", "-")} $*" >>"{calls}"\n{text}' for name, text in scripts.items()}
    return {"PATH": str(tools(tmp_path / "bin", **noted)), "HOME": str(tmp_path), "CRANKLINE_CACHE": str(tmp_path / "cache")}, calls


USER = "echo 1000"


@pytest.mark.parametrize("named", ["/nowhere/freecadcmd", "no-such-program", "/etc"])
def test_named_host_that_is_not_there(checkout, run_cli, named):
    finished = run_cli("echo", root=checkout, env=os.environ | {"CRANKLINE_FREECAD": named})
    assert finished.returncode == 2 and finished.stdout == ""
    assert named in one_sentence(finished)


def test_host_named_as_program_as_word_and_as_folder(checkout, run_cli, tmp_path):
    prefix = tmp_path / "some prefix"
    (prefix / "bin").mkdir(parents=True)
    script(prefix / "bin" / "FreeCADCmd", f'exec "{real_host()}" "$@"')
    for named in (prefix, prefix / "bin/FreeCADCmd", "FreeCADCmd"):
        env = os.environ | {"CRANKLINE_FREECAD": str(named), "PATH": f"{prefix}/bin:{os.environ['PATH']}"}
        assert run_cli("echo", root=checkout, env=env).returncode == 0
        assert run_cli("--host", root=checkout, env=env).stdout.strip() == str(prefix / "bin" / "FreeCADCmd")


def test_conda_environment_that_is_active(checkout, run_cli, tmp_path):
    env, _ = machine(tmp_path)
    (tmp_path / "active" / "bin").mkdir(parents=True)
    script(tmp_path / "active" / "bin" / "freecadcmd", f'exec "{real_host()}" "$@"')
    assert run_cli("echo", root=checkout, env=env | {"CONDA_PREFIX": str(tmp_path / "active")}).returncode == 0


def test_no_host_and_nothing_to_install_it_with(checkout, run_cli, tmp_path):
    env, _ = machine(tmp_path)
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 2 and "FreeCAD is not installed" in one_sentence(finished)


@pytest.mark.parametrize("sudo", [None, "exit 1"])
def test_user_who_would_be_asked_for_a_password(checkout, run_cli, tmp_path, sudo):
    env, calls = machine(tmp_path, id=USER, apt_get="exit 0", **({"sudo": sudo} if sudo else {}))
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 2
    assert "sudo apt-get install freecad python3-numpy python3-yaml" in one_sentence(finished)
    lines = calls.read_text().splitlines()
    assert not [line for line in lines if line.startswith("apt-get")]
    assert all(line.startswith("sudo -n ") for line in lines if line.startswith("sudo"))


def installing_apt(tmp_path):
    """An apt-get whose install puts the real host on the made-up machine's PATH."""
    program = f"{tmp_path}/bin/freecadcmd"
    return (f'case "$*" in *" install "*freecad*) printf \'#!/bin/sh\\nexec "{real_host()}" "$@"\\n\' >"{program}"; '
            f'chmod 755 "{program}";; esac')


@pytest.mark.parametrize("who", ["root", "user with sudo"])
def test_distribution_package_is_installed_once(checkout, run_cli, tmp_path, who):
    if who == "root":
        env, calls = machine(tmp_path, id="echo 0", apt_get=installing_apt(tmp_path))
    else:
        env, calls = machine(tmp_path, id=USER, apt_get=installing_apt(tmp_path), sudo='shift; exec "$@"')
    first = run_cli("echo", root=checkout, env=env)
    assert first.returncode == 0, first
    assert first.stderr.startswith("crankline: installing with apt-get (once): freecad python3-numpy python3-yaml python3-ezdxf\n")
    assert json.loads(first.stdout)["arguments"] == ["echo"]
    before = calls.read_text()
    assert before.count(" install ") == (1 if who == "root" else 2)        # sudo notes its call too
    second = run_cli("echo", root=checkout, env=env)
    assert second.returncode == 0 and second.stderr == "progress\n" and " install " not in calls.read_text()[len(before):]


def test_package_that_cannot_be_installed(checkout, run_cli, tmp_path):
    env, _ = machine(tmp_path, id="echo 0", apt_get="echo 'E: no such package'; exit 100")
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 2
    assert "E: no such package" in finished.stderr and finished.stderr.splitlines()[-1].startswith("crankline: FreeCAD is not installed")


@pytest.mark.parametrize("client, verb", [("micromamba", "create"), ("mamba", "env create"), ("conda", "env create")])
def test_conda_forge_comes_first_where_a_client_answers(checkout, run_cli, tmp_path, client, verb):
    prefix = tmp_path / "cache" / "conda"
    making = (f'[ "$1" = --version ] && exit 0\nmkdir -p "{prefix}/bin"; echo chatter\n'
              f'printf \'#!/bin/sh\\nexec "{real_host()}" "$@"\\n\' >"{prefix}/bin/freecadcmd"; chmod 755 "{prefix}/bin/freecadcmd"')
    env, calls = machine(tmp_path, id="echo 0", apt_get="exit 100", **{client: making})
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 0, finished
    assert len(finished.stdout.splitlines()) == 1       # the client's words do not mix with ours
    assert f"{client} {verb} -p {prefix} -f {checkout}/workbench/environment.yml" in calls.read_text()
    before = calls.read_text()
    assert run_cli("echo", root=checkout, env=env).stderr == "progress\n" and calls.read_text() == before


def test_conda_client_that_fails_gives_way_to_the_distribution(checkout, run_cli, tmp_path):
    env, calls = machine(tmp_path, id="echo 0", apt_get=installing_apt(tmp_path),
                         conda='[ "$1" = --version ] && exit 0\nexit 1', mamba="exit 127")
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 0, finished
    assert "conda could not make the environment" in finished.stderr and "mamba env create" not in calls.read_text().splitlines()


def hide(checkout, *modules):
    """Let the host of this checkout lack Python modules."""
    entry = checkout / "workbench" / "headless_main.py"
    text = entry.read_text(encoding="utf-8")
    entry.write_text(text.replace("\n\nstart()", "\n\nimportlib.util.find_spec = lambda name, find=importlib.util.find_spec, "
                                  f"hidden={modules!r}: None if name in hidden else find(name)\nstart()"), encoding="utf-8")


def test_host_that_lacks_a_module_which_cannot_be_given_to_it(checkout, run_cli, tmp_path):
    script(tmp_path / "host", f'exec "{real_host()}" "$@"')       # not the distribution's, so apt-get is no help
    env = os.environ | {"CRANKLINE_FREECAD": str(tmp_path / "host")}
    hide(checkout, "yaml", "ezdxf")
    finished = run_cli("echo", root=checkout, env=env)
    assert finished.returncode == 2 and "lacks yaml and" in one_sentence(finished)


def test_host_without_ezdxf_still_runs(checkout, run_cli, tmp_path):
    script(tmp_path / "host", f'exec "{real_host()}" "$@"')
    hide(checkout, "ezdxf")
    finished = run_cli("echo", root=checkout, env=os.environ | {"CRANKLINE_FREECAD": str(tmp_path / "host")})
    assert finished.returncode == 0 and finished.stderr == "progress\n", finished


# ---------------------------------------------------------------------------------------------- the shell itself

SHELL = [ROOT / "workbench/run", ROOT / "workbench/host.sh", ROOT / "tests/run", ROOT / ".ci/run",
         *sorted((ROOT / "tests/hosts").iterdir())]


@pytest.mark.parametrize("path", SHELL, ids=lambda path: str(path.relative_to(ROOT)))
def test_shell_is_plain(path):
    for shell in ("sh", "bash"):
        subprocess.run([shell, "-n", str(path)], check=True)
    if shutil.which("shellcheck"):
        out = subprocess.run(["shellcheck", "-x", path.relative_to(ROOT)], cwd=ROOT, capture_output=True, text=True)
        assert out.returncode == 0, out.stdout
