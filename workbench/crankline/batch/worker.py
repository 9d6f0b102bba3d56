"""One process of a run over many cars: takes a command line after the other from its input, and leaves the answer of each as a file.

The host is started once for all of them, and shapes and measurements that equal cars share are made once.
"""
from __future__ import annotations

import io
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TextIO

from .. import time_limit
from ..features import shared_shapes
from ..measure.kept import Kept
from ..replacing import replacing

VARIABLE = "CRANKLINE_WORKER"
"""Variable of the environment that names the folder of answers."""


def serve(main: Callable[[list[str], TextIO, TextIO, Kept], int], folder: Path) -> None:
    """Run what comes in until nothing more does. main: the command line; folder: for answers, ``<number>.json``.

    A line of input is ``{"number": ..., "arguments": [...]}``; an answer ``{"code", "out", "err", "seconds"}``. Where the host does not
    come back from a call, the process ends and ``now.about`` in the folder says what the host was asked.
    """
    kept = Kept()
    shared_shapes.share()
    time_limit.watch(str(folder / "now"))
    for line in sys.stdin:
        job = json.loads(line)
        out, err, begun = io.StringIO(), io.StringIO(), time.monotonic()
        code = main(job["arguments"], out, err, kept)
        _close()
        answer = {"code": code, "out": out.getvalue(), "err": err.getvalue(), "seconds": time.monotonic() - begun}
        with replacing(folder / f"{job['number']}.json") as beside:
            beside.write_text(json.dumps(answer), encoding="utf-8")
    # The host has a console of its own after this, and nobody to talk to.
    os._exit(0)


def _close() -> None:
    """Close every document, so that the next car finds the host as the first did."""
    import FreeCAD as App
    for name in list(App.listDocuments()):
        App.closeDocument(name)
