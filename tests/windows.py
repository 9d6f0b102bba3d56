"""FreeCAD's real window, in which tests run scripts: started once and kept for the scripts that come after (``gui/scripts/serve.py``).

A window in which a script failed, or that has crashed, is thrown away with all that it is: that test fails, and the next one gets a new
window. A test of what a new window is asks for a fresh one; so does whoever runs a single file.
"""
from __future__ import annotations

import json
import os
import pathlib
import select
import signal
import subprocess
from collections.abc import Mapping

import shares

# Without this file FreeCAD opens its start page (which ends 0.20.2 when root runs it) or waits at a first-run dialog.
_USER_CFG = """<?xml version="1.0" encoding="UTF-8" standalone="no" ?>
<FCParameters>
  <FCParamGroup Name="Root"><FCParamGroup Name="BaseApp"><FCParamGroup Name="Preferences">
    <FCParamGroup Name="General"><FCText Name="AutoloadModule">PartWorkbench</FCText><FCBool Name="ShowSplasher" Value="0"/></FCParamGroup>
    <FCParamGroup Name="NotificationArea">
      <FCBool Name="NotificationAreaEnabled" Value="0"/><FCBool Name="NonIntrusiveNotificationsEnabled" Value="0"/>
    </FCParamGroup>
    <FCParamGroup Name="View"><FCBool Name="UseNavigationAnimations" Value="0"/></FCParamGroup>
    <FCParamGroup Name="Mod"><FCParamGroup Name="Start">
      <FCBool Name="ShowOnStartup" Value="0"/><FCBool Name="FirstStart2024" Value="0"/>
    </FCParamGroup></FCParamGroup>
  </FCParamGroup></FCParamGroup></FCParamGroup>
</FCParameters>
"""

_MOD = """    <FCParamGroup Name="Mod">"""
_VIEW = """<FCBool Name="UseNavigationAnimations" Value="0"/>"""
"""A view turns at once, on every host: where a click lands hangs on no speed."""

# Where nobody looks at the view: a recompute does not draw it again after each object, in software the most of what it costs; no cube of
# views stands in it; shapes are drawn with few triangles. They stand in the places of _VIEW and _MOD.
_NO_CUBE = f"""{_VIEW}<FCBool Name="ShowNaviCube" Value="0"/>"""
_DRAWN_LITTLE = """    <FCParamGroup Name="Document"><FCBool Name="CanAbortRecompute" Value="0"/></FCParamGroup>
    <FCParamGroup Name="Mod"><FCParamGroup Name="Part">
      <FCFloat Name="MeshDeviation" Value="5.0"/><FCFloat Name="MeshAngularDeflection" Value="60.0"/>
    </FCParamGroup>"""


class Window:
    """FreeCAD on an X server of its own (1600 x 1000, 96 dpi, software GL). folder: for its files; programs: FreeCAD's and the server's;
    environment: what the host is given; as_used: it draws all that a user's does, over all of the screen; else it has the size of a small
    one, because software draws all of it anew for every letter that is typed."""

    def __init__(self, folder: pathlib.Path, programs: tuple[str, str], addon: pathlib.Path, environment: Mapping[str, str], as_used: bool):
        program, xvfb = programs
        home = folder / "freecad-home"
        home.mkdir(mode=0o700)
        cfg = _USER_CFG if as_used else _USER_CFG.replace(_VIEW, _NO_CUBE).replace(_MOD, _DRAWN_LITTLE)
        (home / "user.cfg").write_text(cfg, encoding="utf-8")
        self.out, self.err = folder / "out", folder / "err"
        self.spent, self.scripts = 0.0, 0
        # 96 dpi: without it 0.20.2 scales its window and clicks land elsewhere. The server picks a free number itself,
        # which holds between test runs at the same time, in other root folders too.
        read_end, write_end = os.pipe()
        with open(folder / "xvfb.log", "wb") as log:
            self._server = subprocess.Popen([xvfb, "-displayfd", str(write_end), "-screen", "0", "1600x1000x24", "-dpi", "96",
                                             "+extension", "GLX", "-nolisten", "tcp", "-noreset"],
                                            stdin=subprocess.DEVNULL, stdout=log, stderr=log, pass_fds=(write_end,))
        os.close(write_end)
        with os.fdopen(read_end) as pipe:
            number = pipe.readline().strip()
        if not number:
            self._server.wait()
            raise RuntimeError("Xvfb did not start:\n" + (folder / "xvfb.log").read_text("utf-8", "replace"))
        scripts = addon / "tests" / "gui" / "scripts"
        jobs, self._jobs = os.pipe()
        self._answers, answers = os.pipe()
        given = dict(environment) | {
            "FREECAD_USER_HOME": str(home), "XDG_RUNTIME_DIR": str(home), "DISPLAY": f":{number}", "QT_QPA_PLATFORM": "xcb",
            "LIBGL_ALWAYS_SOFTWARE": "1", "QTWEBENGINE_DISABLE_SANDBOX": "1",
            "CRANKLINE_TEST_JOBS": str(jobs), "CRANKLINE_TEST_ANSWERS": str(answers), "CRANKLINE_TEST_SIZE": "" if as_used else "1366 768"}
        with open(self.out, "ab") as out, open(self.err, "ab") as err:
            # The script before -M: 0.20.2 takes it for one more option otherwise.
            self._process = subprocess.Popen([program, str(scripts / "serve.py"), "-M", str(addon)], stdin=subprocess.DEVNULL, stdout=out,
                                             stderr=err, env=given, pass_fds=(jobs, answers), start_new_session=True)
        os.close(jobs)
        os.close(answers)
        shares.others.append(self)

    def run(self, argv: list[str], environment: Mapping[str, str], seconds: float) -> tuple[int, str, str]:
        """Run a script: (exit code, output, errors). Where the window dies over it, the code is its own, or
        -1; None where it hangs."""
        out, err = (path if not self.scripts else path.with_name(f"{path.name}_{self.scripts}") for path in (self.out, self.err))
        # The first one is told what the window said when it started too.
        job = {"argv": argv, "environment": dict(environment), "out": str(out), "err": str(err), "shares": self.scripts > 0}
        self.scripts += 1
        code, text = None, b""
        try:
            os.write(self._jobs, json.dumps(job).encode() + b"\n")
        except BrokenPipeError:
            pass
        while not text.endswith(b"\n"):
            if not select.select([self._answers], [], [], seconds)[0]:
                break
            more = os.read(self._answers, 1 << 16)
            if not more:
                code = self.end() or -1
                break
            text += more
        else:
            answer = json.loads(text)
            code, self.spent = answer["code"], answer["spent"]
        return code, *(path.read_text("utf-8", "replace") if path.exists() else "" for path in (out, err))

    def end(self) -> int:
        """Close the window, with whatever its scripts left running; the exit code of its process."""
        if self in shares.others:
            shares.others.remove(self)
            os.close(self._jobs)
            try:
                self._process.wait(20.0)
            except subprocess.TimeoutExpired:
                pass
            try:
                os.killpg(self._process.pid, signal.SIGKILL)
            except ProcessLookupError:
                pass
            self._process.wait()
            os.close(self._answers)
            self._server.terminate()
            self._server.wait()
        return self._process.returncode


class Windows:
    """The windows of a session of tests: one that draws little and one that draws all, each started when it is first asked for."""

    def __init__(self, make):
        self._make, self._kept = make, {}

    def take(self, as_used: bool, fresh: bool) -> Window:
        """One that is kept, unless none is or a fresh one is asked for."""
        if fresh:
            self.drop(as_used)
        if as_used not in self._kept:
            self._kept[as_used] = self._make(as_used)
        return self._kept[as_used]

    def drop(self, as_used: bool) -> None:
        """Throw one away."""
        if (window := self._kept.pop(as_used, None)) is not None:
            window.end()

    def close(self) -> None:
        """Close all."""
        for as_used in list(self._kept):
            self.drop(as_used)
