"""The details of a finding as a page: what it is, what to do about it, what can be clicked to do it, and then everything else."""
from __future__ import annotations

import html
from collections.abc import Mapping, Sequence

from ..checks.finding import Finding
from . import finding_words as words

PARTS = 4
"""Parts of a finding that are offered for editing."""


def parts(finding: Finding, labels: Mapping[str, str]) -> tuple[str, ...]:
    """Keys of the parts that are offered for editing."""
    return tuple(key for key in finding.subjects if key in labels)[:PARTS]


def page(finding: Finding, labels: Mapping[str, str], system: str, stale: Sequence[str] | None, doable: bool) -> str:
    """HTML. labels: of the car's parts by key; stale: as ``words.details``; doable: whether remedies can be done. Links: ``do:0`` for a
    remedy by its number, ``edit:KEY`` for a part."""
    named = [labels.get(key, key) for key in finding.subjects]
    first, *rest = [f"<p>{html.escape(line)}</p>" for line in words.details(finding, named, system, stale, labels).split("\n\n")]
    links = [(f"do:{number}", f"Do it: {given['words']}") for number, given in enumerate(finding.remedies)] if doable else []
    links += [(f"edit:{key}", f"Edit {labels[key]}…") for key in parts(finding, labels)]
    clicks = [f'<p><a href="{html.escape(url)}">{html.escape(text)}</a></p>' for url, text in links]
    return "".join([f"<b>{first}</b>", *rest[:1], *clicks, *rest[1:]])
