"""Lines of our subset of YAML: values of records, once they are text, in flow style where that fits."""
from __future__ import annotations

import re
from typing import Any

WIDTH = 118
"""Longest line of flow style; longer records are written one key a line."""

_PLAIN = re.compile(r"[A-Za-z0-9_]([A-Za-z0-9_ ().+/-]*[A-Za-z0-9_().+/-])?")
_NOT_PLAIN = ("~", "null", "Null", "NULL", "none")


def quoted(text: str) -> str:
    """A text as YAML: plain where that is safe inside flow style, else in double quotes."""
    if _PLAIN.fullmatch(text) and text not in _NOT_PLAIN:
        return text
    escaped = "".join(f"\\{c}" if c in '"\\' else c if " " <= c <= "~" or (c > "\u00a0" and c.isprintable()) else
                      f"\\U{ord(c):08X}" for c in text)
    return f'"{escaped}"'


def flow(value: Any) -> str:
    """One-line form of a written value."""
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return f"[{', '.join(map(flow, value))}]"
    return "{" + ", ".join(f"{key}: {flow(item)}" for key, item in value) + "}"


def block(key: str, value: Any, indent: int) -> list[str]:
    """Lines of one key: flow style where it fits on the line and is no section, else one line a key."""
    line = f"{' ' * indent}{key}: {flow(value)}"
    if isinstance(value, str) or (isinstance(value, list) and len(line) <= WIDTH):
        return [line]
    lines = [f"{' ' * indent}{key}:"]
    if isinstance(value, list):
        for inner, item in value:
            lines += block(inner, item, indent + 2)
        return lines
    for item in value:
        line = f"{' ' * (indent + 2)}- {flow(item)}"
        if len(line) <= WIDTH:
            lines.append(line)
            continue
        inner = [text for name, below in item for text in block(name, below, indent + 4)]
        lines += [f"{' ' * (indent + 2)}- {inner[0].lstrip()}", *inner[1:]]
    return lines
