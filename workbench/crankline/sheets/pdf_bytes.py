"""Corrects in Qt's PDF what it gets wrong, by texts of the same length, so that no offset in the file moves. Pure."""
from __future__ import annotations

import re
from collections.abc import Sequence
from hashlib import blake2b

from ..units import INCH

_DATE = re.compile(rb"\(D:\d{14}([^)]*)\)")
_XMP_DATE = re.compile(rb'="\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:[+-]\d\d:\d\d)?')
_GLYPH_MEANINGS = re.compile(rb"\[(?:<[0-9A-F]{4}> ?)+\]")
_MEDIA_BOX = re.compile(rb"(/MediaBox \[0 0 )([\d.]+) ([\d.]+)\]")
_UUID = re.compile(rb"uuid:[0-9a-f-]{36}")
_FILE_ID = re.compile(rb"/ID \[[^\]]*\]")
_HEX = re.compile(rb"<[0-9A-Fa-f]+>")


def reproducible(data: bytes, sizes: Sequence[tuple[float, float]]) -> bytes:
    """The same PDF, settled; ``sizes``: width and height of every page in mm.

    The clock becomes a fixed date and a random file name a digest of the contents, so that equal drawings are equal files;
    pages get their exact size, which Qt rounds to whole points; the blank, whose glyph Qt calls a tabulator, is a blank again
    for whoever searches or copies text.
    """
    found = _DATE.sub(lambda m: b"(D:20000101000000" + b"Z".ljust(len(m.group(1)))[:len(m.group(1))] + b")", data)
    found = _XMP_DATE.sub(lambda m: b'="2000-01-01T00:00:00+00:00'[:len(m.group())], found)
    # In the lists of what glyphs stand for, not in the codes of the glyphs.
    found = _GLYPH_MEANINGS.sub(lambda m: m.group().replace(b"<0009>", b"<0020>"), found)
    found = _exact_pages(found, sizes)
    mark = blake2b(_FILE_ID.sub(b"", _UUID.sub(b"", found)), digest_size=36).hexdigest().encode()

    def named(match: re.Match) -> bytes:
        room = len(match.group()) - 2
        return b"<" + mark[:room].ljust(room, b"0") + b">"

    found = _UUID.sub(b"uuid:" + mark[:36], found)
    found = _FILE_ID.sub(lambda m: _HEX.sub(named, m.group()), found)
    return found if len(found) == len(data) else data


def _exact_pages(data: bytes, sizes: Sequence[tuple[float, float]]) -> bytes:
    pages = iter(sizes)

    def exact(match: re.Match) -> bytes:
        size = next(pages, None)
        if size is None:
            return match.group()
        sides = [f"{side * 72.0 / INCH:.6f}".encode()[:len(old)] for side, old in zip(size, match.groups()[1:])]
        found = match.group(1) + b" ".join(sides) + b"]"
        return found if len(found) == len(match.group()) else match.group()

    return _MEDIA_BOX.sub(exact, data)
