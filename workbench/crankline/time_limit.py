"""Ends a run whose host does not come back from a call: a shape of nonsense numbers can keep it busy for ever, and no Python runs then.

The system's timer counts the seconds of the processor since the last sign of life and then ends the process; what the host was asked about
stands in a file beside the answer, where the shell script finds it.
"""
from __future__ import annotations

import os
import signal

from . import progress

SECONDS = 100.0
"""Of the processor, for one call: fifty times what the longest piece of work of the demo cars takes (common practice, no source)."""


def watch(answer: str) -> None:
    """End the process where no sign of life comes for so long; ``answer``: file of the run's answer, to which ``.about`` is added."""
    if not hasattr(signal, "setitimer"):
        return
    try:
        limit = float(os.environ.get("CRANKLINE_LIMIT", SECONDS))
    except ValueError:
        limit = SECONDS
    signal.signal(signal.SIGPROF, signal.SIG_DFL)

    def alive(about: str) -> None:
        with open(f"{answer}.about", "w", encoding="utf-8") as file:
            file.write(about)
        signal.setitimer(signal.ITIMER_PROF, limit)

    progress.listen(alive)
