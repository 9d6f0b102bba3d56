"""Shapes that several cars of one process have in common: each is built once, in runs over many cars."""
from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable

from ..host import Part

SHARED = 2000
"""Shapes that are kept for further cars, the least recently used of which goes first."""
_shared: OrderedDict[tuple[str, str], Part.Shape] | None = None


def share() -> None:
    """From now on take a shape that was built in this process for another car, of the same kind and digest: for runs over many cars."""
    global _shared
    _shared = OrderedDict() if _shared is None else _shared


def built(kind: str, mark: str, build: Callable[[], Part.Shape]) -> Part.Shape:
    """A new shape, or the one that was built of an equal spec; each object gets its own copy of it when it is set."""
    if _shared is None:
        return build()
    shape = _shared.pop((kind, mark), None)
    if shape is None:
        shape = build()
    _shared[kind, mark] = shape
    while len(_shared) > SHARED:
        _shared.popitem(last=False)
    return shape
