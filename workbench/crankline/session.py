"""Where a run of the command line sends its text, and what it has written so far."""
from __future__ import annotations

import datetime
import time
from collections.abc import Generator
from pathlib import Path
from typing import Any, TextIO

from .measure.kept import Kept
from .progress import Answer, Progress, working_on

TOLD = 20
"""Progress lines that a piece of work prints at most, about."""


class Session:
    """Where text goes, and how much of it."""

    def __init__(self, out: TextIO, err: TextIO, kept: Kept | None = None):
        self.out, self.err, self.quiet, self.started = out, err, False, time.monotonic()
        self.began = datetime.datetime.now(datetime.UTC)
        self.kept = kept
        """What was measured of the cars before this one, where it is one of many."""
        self.target: Path | None = None
        """Folder for the results, once it is known."""
        self.placed: list[str] = []
        """Names of the results that stand there already."""

    @property
    def one_of_many(self) -> bool:
        """Whether this car is one of several that a run goes over."""
        return self.kept is not None

    def told(self) -> dict[str, Any]:
        """When the run began and the seconds it has taken so far, as a report has them."""
        return {"started": self.began.strftime("%Y-%m-%dT%H:%M:%S"), "seconds": round(time.monotonic() - self.started, 3)}

    def say(self, text: str) -> None:
        """A line of results."""
        print(text, file=self.out, flush=True)

    def stage(self, text: str) -> None:
        """A progress line, unless quiet."""
        if not self.quiet:
            print(f"[{time.monotonic() - self.started:5.1f} s] {text}", file=self.err, flush=True)

    def fail(self, text: str) -> None:
        """An error sentence."""
        print(text, file=self.err, flush=True)

    def written_so_far(self) -> str:
        """What a run that is stopped leaves behind, one clause."""
        if not self.placed:
            return "nothing was written"
        return f"{', '.join(self.placed)} of this run are already in {self.target}, next to what was there, so run it again"

    def watch(self, what: str, steps: Generator[Progress, None, Answer]) -> Answer:
        """Run steps to their end with a progress line for each part of the whole; what they return."""
        told = -1
        while True:
            try:
                step = next(steps)
            except StopIteration as end:
                return end.value
            working_on(step.about)
            if int(step.share * TOLD) > told:
                told = int(step.share * TOLD)
                self.stage(f"{what}, {step.share:.0%}: {step.about}")
