"""What a part is made from, as plain records: its own, those of what it links to, and how it is shown. The same whether they come
from a document's objects or from a car's model."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Records:
    """``own``: the part's record with defaults filled in, None where its kind has none. ``linked``: link to the filled record of what it
    names, None where it is empty, a tuple of records for a list. ``state``: property to value of what only tells how it is shown.
    ``label`` is what a sentence about the part calls it."""
    key: str
    label: str
    own: Any = None
    linked: Mapping[str, Any] = field(default_factory=dict)
    state: Mapping[str, Any] = field(default_factory=dict)

    def __getitem__(self, link: str) -> Any:
        return self.linked[link]

    @property
    def side(self) -> str:
        """left or right, from the key of a part that stands on both sides."""
        side = self.key.partition("/")[2].split("_")[0]
        if side not in ("left", "right"):
            raise ValueError(f"{self.label}: its key {self.key!r} names no side; delete this object")
        return side
