"""What is read off a shape as if it were a little larger, longer or elsewhere, without making it again."""
from __future__ import annotations

from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

from ..measure.measurer import Measurer

_ANGLES: WeakKeyDictionary = WeakKeyDictionary()
"""Measurer to the closed angles that it has measured, by shape: they stay while a ring is thought larger or elsewhere."""


@dataclass(frozen=True)
class Change:
    """What is added to what is read off a shape, mm: along the car, up, to the inside width and height of a ring, to a tube's length."""
    along: float = 0.0
    up: float = 0.0
    wide: float = 0.0
    tall: float = 0.0
    longer: float = 0.0


class Changed:
    """A measurer that adds a change to what it reads off one shape."""

    def __init__(self, inner: Measurer, shape, change: Change):
        self._inner, self._shape, self._change = inner, shape, change

    def __getattr__(self, name):
        return getattr(self._inner, name)

    def ring(self, shape, axis_at):
        found, change = self._inner.ring(shape, axis_at), self._change
        if shape is not self._shape:
            return found
        x, y, z = found.center
        if found.inner_width is not None and found.inner_height is not None:
            found = replace(found, inner_width=found.inner_width + change.wide, inner_height=found.inner_height + change.tall)
        return replace(found, center=(x + change.along, y, z + change.up), x_rear=found.x_rear + change.along,
                       x_front=found.x_front + change.along)

    def closed_angle(self, shape, center, reach, members=()):
        if members:
            return self._inner.closed_angle(shape, center, reach, members)
        known = _ANGLES.setdefault(self._inner, {})
        if id(shape) not in known:
            if shape is self._shape:
                x, y, z = center
                center = x - self._change.along, y, z - self._change.up
            # The shape is kept beside its angle: its id is its own only as long as it lives.
            known[id(shape)] = shape, self._inner.closed_angle(shape, center, reach)
        return known[id(shape)][1]

    def tube(self, shape):
        found = self._inner.tube(shape)
        return replace(found, length=found.length + self._change.longer) if shape is self._shape else found
