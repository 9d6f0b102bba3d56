"""One car of a run, as the files for servers tell of it."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Suite:
    """One car of a run. name: by which it is told from the others; report: of it, nothing where the run came to none; sentence: why
    there is none; seconds: what it took, of the clock."""
    name: str
    report: Mapping[str, Any] | None
    sentence: str = ""
    seconds: float = 0.0
