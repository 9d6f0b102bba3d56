"""Processes that run cars side by side, each in a host of its own. A car that fails, hangs or ends its process costs only itself."""
from __future__ import annotations

import json
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from .. import PACKAGE, compat
from ..exit_codes import BROKEN, INTERNAL
from .worker import VARIABLE

PAUSE = 0.03
"""Seconds between two looks at the processes."""
MOST = 100
"""Cars after which a process is replaced, so that what hosts and libraries leave behind does not pile up."""
STARTING = 300.0
"""Seconds that a process may take beyond the time of its first car: the host's start."""


@dataclass(frozen=True)
class Answer:
    """What came of one car: exit code, text, errors and progress, seconds of the clock."""
    code: int
    out: str
    err: str
    seconds: float


@dataclass
class _Process:
    """A worker, and what it is at."""
    folder: Path
    process: subprocess.Popen
    orders: IO[bytes]
    log: IO[bytes]
    name: str = ""
    number: int = 0
    begun: float = 0.0
    done: int = 0


def jobs_of_machine() -> int:
    """Processors that this process may use."""
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:      # only Linux has it
        return max(1, os.cpu_count() or 1)


def run(commands: Mapping[str, Sequence[str]], jobs: int, timeout: float, told: Callable[[str, Answer], None]) -> None:
    """Run a command line for each name, ``jobs`` at a time, and tell each answer as it comes. timeout: seconds of the clock for one.

    OSError where the host cannot be started.
    """
    waiting = iter(enumerate(commands.items()))
    with ExitStack() as stack:
        place = Path(tempfile.mkdtemp(prefix="crankline-run-"))
        stack.callback(shutil.rmtree, place, ignore_errors=True)
        workers: list[_Process] = []
        stack.callback(_stop_all, workers)
        for _each in range(min(jobs, len(commands))):
            workers.append(_started(place))
            _next(workers[-1], waiting)
        while any(worker.name for worker in workers):
            time.sleep(PAUSE)
            for index, worker in enumerate(workers):
                if not worker.name:
                    continue
                answer, alive = _looked_at(worker, timeout)
                if answer is None:
                    continue
                told(worker.name, answer)
                worker.name, worker.done = "", worker.done + 1
                job = next(waiting, None)
                if job is None:
                    continue
                if not alive or worker.done >= MOST:
                    _stop_all([worker])
                    worker = workers[index] = _started(place)
                _give(worker, job)


def _next(worker: _Process, waiting: Iterator) -> None:
    job = next(waiting, None)
    if job is not None:
        _give(worker, job)


def _give(worker: _Process, job: tuple[int, tuple[str, Sequence[str]]]) -> None:
    worker.number, (worker.name, arguments) = job
    worker.begun = time.monotonic()
    line = json.dumps({"number": worker.number, "arguments": list(arguments)}) + "\n"
    try:
        worker.orders.write(line.encode("ascii"))
        worker.orders.flush()
    except OSError:
        pass        # it has died; that is seen when it is looked at


def _looked_at(worker: _Process, timeout: float) -> tuple[Answer | None, bool]:
    """What a worker has answered, nothing if it is still at it; and whether it can go on."""
    place, seconds = worker.folder / f"{worker.number}.json", time.monotonic() - worker.begun
    ended = worker.process.poll()       # before the answer is looked for: it may come between the two
    if place.is_file():
        held = json.loads(place.read_text(encoding="utf-8"))
        place.unlink()
        return Answer(held["code"], held["out"], held["err"], held["seconds"]), ended is None
    if ended is not None:
        about = worker.folder / "now.about"
        told = f" from {about.read_text(encoding='utf-8')}" if about.is_file() else ""
        return Answer(BROKEN if told else INTERNAL, "", f"run: FreeCAD ended with status {ended} and did not come back{told}; run this car "
                      "alone to see more\n", seconds), False
    if seconds > timeout + (STARTING if not worker.done else 0.0):
        worker.process.kill()
        worker.process.wait()
        return Answer(BROKEN, "", f"run: stopped after {timeout:g} s without an answer; give it more time with --timeout, or build the car "
                      "again from its car file\n", seconds), False
    return None, True


def _started(place: Path) -> _Process:
    folder = Path(tempfile.mkdtemp(dir=place))
    entry = os.path.join(os.path.dirname(PACKAGE), "headless_main.py")
    # The answer of the whole run is not theirs to give.
    environment = {name: value for name, value in os.environ.items()
                   if name not in ("CRANKLINE_ARGV", "CRANKLINE_FD", "CRANKLINE_ERR_FD", "CRANKLINE_DONE")}
    log = open(folder / "log", "wb")
    process = subprocess.Popen([compat.program(), entry], stdin=subprocess.PIPE, stdout=log, stderr=subprocess.STDOUT,
                               env={**environment, VARIABLE: str(folder)}, cwd=os.getcwd())
    assert process.stdin is not None
    return _Process(folder, process, process.stdin, log)


def _stop_all(workers: Sequence[_Process]) -> None:
    for worker in workers:
        if worker.process.poll() is None:
            worker.process.kill()
        worker.process.wait()
        for stream in (worker.orders, worker.log):
            try:
                stream.close()
            except OSError:
                pass        # what was not read by a process that has died
