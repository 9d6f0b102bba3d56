"""Seeded mutations of texts and files: what a typing error, a bad merge, a broken disk or an ill will make of them."""
from __future__ import annotations

import random
import re
import zipfile
from pathlib import Path

NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?")
VALUES = ("0", "-1", "1e999", "nan", "inf", "1e-300", "99999999999", "-0.0", "0x10", "1/0", "", "none", "[]", "{}", "~",
          "true", "\u0000", "é")


def text(given: str, rng: random.Random) -> str:
    """One to three edits of a text: numbers, words, lines, characters."""
    for _ in range(rng.randint(1, 3)):
        kind = rng.randrange(8)
        lines = given.split("\n")
        at = rng.randrange(len(lines))
        if kind == 0 and (found := list(NUMBER.finditer(given))):
            one = rng.choice(found)
            given = given[:one.start()] + rng.choice(VALUES) + given[one.end():]
        elif kind == 1 and (found := list(NUMBER.finditer(given))):
            one = rng.choice(found)
            given = given[:one.start()] + f"{float(one.group()) * rng.choice((-1, 0.001, 0.5, 2, 1000)):g}" + given[one.end():]
        elif kind == 2:
            given = "\n".join(lines[:at] + lines[at + 1:])
        elif kind == 3:
            given = "\n".join([*lines[:at], lines[at], *lines[at:]])
        elif kind == 4:
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
            given = "\n".join(lines)
        elif kind == 5 and (words := re.findall(r"[a-z_]{3,}", given)):
            given = given.replace(rng.choice(words), rng.choice(words), 1)
        elif given:
            place = rng.randrange(len(given))
            given = given[:place] + (rng.choice(("", "\t", ":", "{", "}", "[", "&a", "*a", "!", "'", '"', "#")) if kind == 6 else "") \
                + given[place + rng.choice((0, 1, 40)):]
    return given


def entry(source: Path, target: Path, rng: random.Random) -> str:
    """A document with one of its files inside mutated; the name of that file."""
    with zipfile.ZipFile(source) as held, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        names = held.namelist()
        wanted = "Document.xml" if rng.random() < 0.4 else rng.choice(names)
        for name in names:
            data = held.read(name)
            made.writestr(name, text(data.decode("utf-8", "replace"), rng).encode() if name == wanted else data)
    return wanted


def broken(source: Path, target: Path, rng: random.Random) -> str:
    """A document cut short or with some of its bits turned; what was done."""
    data = bytearray(source.read_bytes())
    if rng.random() < 0.4:
        keep = rng.randrange(len(data))
        target.write_bytes(data[:keep])
        return f"cut after {keep} bytes"
    places = [rng.randrange(len(data)) for _ in range(rng.choice((1, 4, 40)))]
    for place in places:
        data[place] ^= 1 << rng.randrange(8)
    target.write_bytes(data)
    return f"bits turned at {places[:4]}"
