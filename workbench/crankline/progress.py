"""Work in slices: a generator that tells between them how far it is, so that what drives it can show that, stay alive and stop it."""
from __future__ import annotations

from collections.abc import Callable, Generator
from typing import Any, NamedTuple, TypeVar

Answer = TypeVar("Answer")


_listeners: list[Callable[[str], None]] = []


def working_on(about: str) -> None:
    """Tell what the host is asked about next, before it is asked: it may not come back."""
    for tell in _listeners:
        tell(about)


def listen(tell: Callable[[str], None]) -> None:
    """Be told from now on what the host is asked about."""
    _listeners.append(tell)


class Progress(NamedTuple):
    """What the next slice is about, and which share of the whole is done, 0 to 1."""
    about: str
    share: float


def drained(work: Generator[Any, None, Answer]) -> Answer:
    """Run a generator to its end at one go; what it returns."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return end.value
