"""Numbers and limits of findings as people read them. The report itself keeps every digit."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ..rules.rule import Basis

PLACES = {"in": 3, "mm": 2, "deg": 2, "rpm": 0, "MPa": 0, "N": 0}


def number(value: float | None, unit: str, sign: bool = False) -> str:
    """A number with its unit: thousandths of an inch, hundredths of a millimetre or degree; with two more digits where it would read
    as nothing. Empty for None."""
    if value is None:
        return ""
    plus, places = "+" if sign else "", PLACES.get(unit)
    if places is None:
        text = f"{value:{plus},.3f}".rstrip("0").rstrip(".") if abs(value) < 1e6 else f"{value:{plus}.4g}"
        text = text.replace(",", "")
    else:
        text = f"{value:{plus}.{places}f}"
    if value and not float(text):
        text = f"{value:{plus}.2g}"
    elif not value:
        text = f"{0.0:.{places or 0}f}"
    return f"{text} {unit}".strip()


def limit(comparison: str, value: Any, unit: str) -> str:
    """A limit as it is compared: ``<= 10.000 in``, ``1.90 to 2.20 deg``. Empty for None."""
    if value is None:
        return ""
    if isinstance(value, (tuple, list)):
        return f"{number(value[0], unit).removesuffix(unit).strip()} to {number(value[1], unit)}"
    return f"{comparison} {number(value, unit)}".strip()


def about(subjects: Iterable[str], discriminator: str) -> str:
    """What a finding is about: its parts' keys, and what tells it from its neighbors (the pose, the joint). Empty for the car."""
    return ", ".join(filter(None, [*subjects, discriminator]))


def measured(value: float | None, comparison: str, limit_: Any, unit: str, margin: float | None = None) -> str:
    """What was measured, what is required, by how much it holds: one clause for every reader. Empty where nothing was measured."""
    if value is None:
        return ""
    told = [f"measured {number(value, unit)}"]
    if limit_ is not None:
        told.append(f"required {limit(comparison, limit_, unit)}")
    if margin is not None:
        told.append(f"margin {number(margin, unit, sign=True)}")
    return ", ".join(told)


def basis(given: Mapping[str, Any], note: bool = False) -> str:
    """The basis of a finding in one line (``Basis.words``)."""
    return Basis(**given).words(note)


def sentence(text: str) -> str:
    """A clause as a sentence: a capital first, a full stop last."""
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if not text or text.endswith((".", "!", "?")) else f"{text}."
