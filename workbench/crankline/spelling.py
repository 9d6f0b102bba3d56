"""Words that documents store in another spelling than the one that people read and write.

A document's enumerations are a contract and keep their words. Car files and rule files take either spelling; what is written and
shown is the US one.
"""
from __future__ import annotations

STORED = {"aluminum": "aluminium", "ahead_of_axle_center": "ahead_of_axle_centre"}
"""The word as it is read and written to the word as documents store it."""

_READ = {stored_word: word for word, stored_word in STORED.items()}


def stored(word: str) -> str:
    """A typed word as documents store it."""
    return STORED.get(word, word)


def read(word: str) -> str:
    """A stored word as people read it."""
    return _READ.get(word, word)
