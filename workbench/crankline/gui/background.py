"""Work in the window's own thread, slice by slice: the window stays alive between the slices, and the work can be stopped there."""
from __future__ import annotations

import time
from collections.abc import Callable, Generator

import FreeCAD as App
from PySide import QtCore

from ..progress import Progress

SLICE = 0.04
"""s of work between two looks at what the user does; a single call of the host may take longer."""


class Background(QtCore.QObject):
    """Drives one generator of steps. stepped: told the progress after each slice; ended: told how it ended, empty where it came to its
    end, else one sentence."""

    def __init__(self, parent: QtCore.QObject, stepped: Callable[[Progress], None], ended: Callable[[str], None]):
        super().__init__(parent)
        self._stepped, self._ended = stepped, ended
        self._work: Generator[Progress, None, object] | None = None
        self._timer = QtCore.QTimer(self)
        self._timer.timeout.connect(self._slice)

    @property
    def busy(self) -> bool:
        """Whether there is work."""
        return self._work is not None

    def start(self, work: Generator[Progress, None, object]) -> None:
        """Begin a piece of work; what was going on is stopped."""
        self.stop()
        self._work = work
        self._timer.start(0)

    def stop(self) -> None:
        """Leave the work where it stands."""
        self._timer.stop()
        work, self._work = self._work, None
        if work is not None:
            work.close()

    def _slice(self) -> None:
        work, began = self._work, time.perf_counter()
        if work is None:
            return
        try:
            step = next(work)
            while time.perf_counter() - began < SLICE:
                step = next(work)
        except StopIteration:
            self.stop()
            self._ended("")
            return
        except Exception as error:   # the last net: the log gets the traceback, the user a sentence
            import traceback
            App.Console.PrintLog(traceback.format_exc())
            self.stop()
            self._ended(f"An internal error stopped it ({type(error).__name__}: {' '.join(str(error).split())[:200]}). Please report it "
                        "with the car file.")
            return
        self._stepped(step)
