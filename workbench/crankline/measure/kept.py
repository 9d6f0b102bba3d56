"""What has been measured, kept by what the shapes are and how they stand to each other. Plain numbers, no host.

A shape's mark changes when the shape does, by whatever hand, and not when it is moved, read again from its document or opened again
(``body.mark_of``). So what is kept holds in the next check, in another document, and for whatever moves as one. The least recently used
goes first.
"""
from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from copy import copy
from typing import Any

import numpy as np

SAME = 1e-9
"""Entries of two placements (mm and cosines) that differ by less are the same."""

SHAPES, PAIRS, PLACES = 4000, 20000, 12
"""How many readings of one shape and of two are kept, and in how many placements to each other of the same two."""


UNKNOWN = object()
"""What a store does not hold."""


class Kept:
    """A store of measurements. exact: nothing is decided by bounds, for tests of those. distances, booleans: host calls made so far.
    likely: by the keys of two parts, what told last time how they stand to each other; it is asked first, and holds by itself."""

    def __init__(self, exact: bool = False):
        self.exact = exact
        self.likely: dict[tuple[str, str], str] = {}
        self.distances = self.booleans = 0
        self._shapes: OrderedDict[tuple, Any] = OrderedDict()
        self._pairs: OrderedDict[tuple, list[tuple[bytes, float, np.ndarray, Any]]] = OrderedDict()

    def beside(self) -> Kept:
        """The same store for cars that are only thought of: what is likely of them is not likely of this one. Host calls count apart."""
        other = copy(self)
        other.likely = dict(self.likely)
        return other

    def __len__(self) -> int:
        return len(self._shapes) + sum(map(len, self._pairs.values()))

    def of(self, what: object, mark: str, measure: Callable[[], Any]) -> Any:
        """A reading of one shape, from the store where it holds it; without a mark nothing is kept."""
        if not mark:
            return measure()
        key = what, mark
        if key not in self._shapes:
            found = measure()
            self._shapes[key] = found
            while len(self._shapes) > SHAPES:
                self._shapes.popitem(last=False)
            return found
        self._shapes.move_to_end(key)
        return self._shapes[key]

    def known(self, what: object, mark: str) -> Any:
        """A reading of one shape that is in the store, None where it is not: of what is measured slice by slice."""
        return self._shapes.get((what, mark)) if mark else None

    def known_between(self, what: object, marks: tuple[str, str], relative: np.ndarray, unknown: Any = None) -> Any:
        """A reading of two shapes that is in the store, the last argument where it is not."""
        key = what, marks
        places, digits = self._pairs.get(key), relative.tobytes()
        if places is not None:
            self._pairs.move_to_end(key)
            # Most are the same to the last digit, and one number tells most of the others apart: two placements take fifty times as long.
            for same, _at, _known, found in reversed(places):
                if same == digits:
                    return found
            along = float(relative[0, 3])
            for _same, at, known, found in reversed(places):
                if abs(at - along) < SAME and np.abs(known - relative).max() < SAME:
                    return found
        return unknown

    def between(self, what: object, marks: tuple[str, str], relative: np.ndarray, measure: Callable[[], Any]) -> Any:
        """A reading of two shapes; relative: (4, 4), the placement of the second in the frame of the first."""
        if not all(marks):
            return measure()
        key = what, marks
        if (known := self.known_between(what, marks, relative, UNKNOWN)) is not UNKNOWN:
            return known
        found = measure()
        places = self._pairs.setdefault(key, [])
        places.append((relative.tobytes(), float(relative[0, 3]), relative, found))
        del places[:-PLACES]
        while len(self._pairs) > PAIRS:
            self._pairs.popitem(last=False)
        return found
