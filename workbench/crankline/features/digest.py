"""Digests of what a shape is made from: equal digest, equal shape."""
from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import cache
from hashlib import blake2b
from typing import Any

from ..record import LATER
from ..units import rounded


def canonical(value: Any) -> str:
    """Text of a frozen spec: floats to 12 significant digits, what is below 1e-9 as 0, so that it is equal after saving
    and on every host. A field that came later is told only where it differs from its default."""
    if isinstance(value, float):
        return repr(rounded(float(value)) + 0.0)
    if isinstance(value, (tuple, list)):
        return "[" + ",".join(map(canonical, value)) + "]"
    if value is None or isinstance(value, (str, int, bool)):
        return repr(value)
    if is_dataclass(value):
        told = [(name, canonical(getattr(value, name)), default) for name, default in _fields(value.__class__)]
        inside = ",".join(f"{name}={text}" for name, text, default in told if text != default)
        return f"{type(value).__name__}({inside})"
    raise TypeError(f"a spec holds plain values only, found {type(value).__name__}")


@cache
def _fields(record: Any) -> tuple[tuple[str, str | None], ...]:
    """Name of each field, and of one that came later the text of its default."""
    return tuple((f.name, canonical(f.default) if LATER in f.metadata else None) for f in fields(record))


def digest(spec: Any, version: int) -> str:
    """Digest of a spec and the version of its builder."""
    return blake2b(f"{version}:{canonical(spec)}".encode(), digest_size=16).hexdigest()
