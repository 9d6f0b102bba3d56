"""A car as lines of key and text, as its file would hold it: for comparing cars, and for tables of variants."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model, source
from ..source import Node, SourceError
from . import writer


def flat(car: model.Car) -> dict[str, str]:
    """Key path to value as text with its unit, of everything that the file would hold; entries of a list go by their name, else by number
    from 1. Empty where no car file can hold the car."""
    try:
        root = source.parse(writer.write_text(car), "car")
    except SourceError:
        return {}
    return dict(_leaves(root, ""))


def _leaves(node: Node, path: str) -> Iterator[tuple[str, str]]:
    if node.kind == "mapping":
        for key, below in node.mapping.items():
            yield from _leaves(below, f"{path}.{key}" if path else key)
    elif node.kind == "list":
        for number, below in enumerate(node.items, 1):
            yield from _leaves(below, f"{path}.{name_of(below) or number}")
    elif node.kind == "scalar":
        yield path, node.text


def name_of(node: Node) -> str:
    """The name of an entry of a list; empty where it has none."""
    named = node.mapping.get("name") if node.kind == "mapping" else None
    return named.text if named is not None and named.kind == "scalar" else ""
