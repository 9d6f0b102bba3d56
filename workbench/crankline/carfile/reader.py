"""Car file to model: sections typed by the records' descriptions, then the checks that need more than one field."""
from __future__ import annotations

import os

from .. import catalog, model, schema, source
from ..catalog import solid_files
from ..record import entries
from ..source import Node
from . import consistency, used

SCHEMA = 1
"""Number of the car file's schema, its key ``crankline``."""


def read(path: str | os.PathLike[str]) -> model.Car:
    """The car of a file; SourceError (one sentence) where the file is refused."""
    root = source.read(path)
    solid_files.look_in(os.path.dirname(os.path.abspath(os.fspath(path))))
    car = of_nodes(root)
    sketches = car.chassis.sketches
    if sketches is not None:
        beside = os.path.join(os.path.dirname(os.path.abspath(os.fspath(path))), sketches.file)
        if not os.path.isfile(beside):
            raise root.at("chassis", "sketches", "file").error(
                f"there is no document {source.quoted(sketches.file)} beside the car file; put it there or give the chassis in numbers")
    return car


def read_text(text: str | bytes, name: str = "car file") -> model.Car:
    """The car of a text; ``name`` stands for the file in messages."""
    return of_nodes(source.parse(text, name))


def of_nodes(root: Node) -> model.Car:
    """The car of the nodes of a file; SourceError as ``read``."""
    number = root.mapping.get("crankline")
    if number is None:
        raise root.blame(f"the key is missing; a car file begins with 'crankline: {SCHEMA}'", "crankline")
    if number.text != str(SCHEMA):
        raise number.error(f"{source.quoted(number.text)} was found; this program reads car files of schema {SCHEMA}, so write "
                           f"'crankline: {SCHEMA}' or use the version that the file was written for")
    typing = schema.Typing(catalog.names, {model.Engine: used.engine, model.Transmission: used.transmission, model.Placement: _placement},
                           {model.Placement: ("pitch_mode",)})
    car = model.Car(**typing.fields(root, model.Car, extra=("crankline",)))
    consistency.check(car, root)
    return car


def _placement(typing: schema.Typing, node: Node) -> model.Placement:
    """``pitch`` is an angle or the word of a mode."""
    described = entries(model.Placement)
    modes = [mode for mode in described["pitch_mode"].choices if mode != "fixed"]
    if "pitch_mode" in node.mapping:
        raise node.mapping["pitch_mode"].error("the key is unknown; write an angle or the mode as placement.pitch")
    problems, mode, left = source.Problems(), "fixed", dict(node.mapping)
    with problems.gathered():
        if "pitch" not in node.mapping:
            raise node.blame(f"the key is missing; add an angle such as 2.0 deg, or {schema.listed(modes)}", "pitch")
        pitch = left["pitch"]
        words = pitch.text.strip()
        if words in modes or words[:1].isalpha():
            del left["pitch"]
        if words in modes:
            mode = words
        elif words[:1].isalpha():
            raise pitch.error(f"{source.quoted(words)} was found; an angle such as 2.0 deg, or {schema.listed(modes)} is allowed"
                              f"{schema.closest(words, modes)}")
    with problems.gathered():
        given = typing.fields(Node("mapping", left, node.file, node.line, node.path), model.Placement, partial=True)
    for name, entry in described.items():
        if entry.required and name != "pitch_mode" and name not in left:
            problems.add(typing.missing(node, entry.key, entry))
    problems.tell()
    return model.Placement(**given, pitch_mode=mode)
