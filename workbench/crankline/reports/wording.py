"""Numbers and limits of findings as people read them: in the units of their car. The report itself keeps every digit, in the unit in
which the rule binds."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from .. import units
from ..rules.rule import Basis

NOT_COVERED = "Rule books also regulate the items listed here, and no rule of this program checks them: check them by hand."

PLACES = {"in": 3, "mm": 2, "deg": 2, "rpm": 0, "MPa": 0, "ksi": 2, "psi": 0, "N": 0, "lbf": 0, "mph": 1, "km/h": 1, "lbf.ft": 0,
          "N.m": 0}

_OF_INCH_CARS = frozenset(("in", "ft", "lb", "lbf", "lbf.in", "lbf.ft", "lbf/in", "psi", "ksi", "lb/in3", "mph"))
_KINDS = {unit: kind for kind in units.READ_IN for unit in units.UNITS[kind] if sum(unit in table for table in units.UNITS.values()) == 1}


def in_car_units(value: float, unit: str, system: str) -> tuple[float, str]:
    """A number and its unit as they are read in a car of inches or millimeters (system ``in`` or ``mm``)."""
    kind = _KINDS.get(unit)
    if kind is None or (unit in _OF_INCH_CARS) == (system != "mm"):
        return value, unit
    wanted = units.READ_IN[kind][system == "mm"]
    return value * float(units.UNITS[kind][unit] / units.UNITS[kind][wanted]), wanted


def number(value: float | None, unit: str, system: str, sign: bool = False) -> str:
    """A number with its unit, in the units of a car (system ``in`` or ``mm``): thousandths of an inch, hundredths of a millimeter or
    degree; with two more digits where it would read as nothing. Empty for None."""
    if value is None:
        return ""
    value, unit = in_car_units(value, unit, system)
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


def limit(comparison: str, value: Any, unit: str, system: str) -> str:
    """A limit as it is compared: ``<= 10.000 in``, ``1.90 to 2.20 deg``, and with the rule's own number where it is in other units than
    the car: ``>= 1.969 in (rule: 50 mm)``. Empty for None."""
    if value is None:
        return ""
    if isinstance(value, (tuple, list)):
        low, high = (number(edge, unit, system) for edge in value)
        told = f"{low.rsplit(' ', 1)[0]} to {high}" if " " in low else f"{low} to {high}"
    else:
        told = f"{comparison} {number(value, unit, system)}".strip()
    own = in_its_own_units(value, unit, system)
    return f"{told} (rule: {own})" if own else told


def in_its_own_units(value: Any, unit: str, system: str) -> str:
    """A limit as the rule prints it, where the car is in other units; empty where the units are the same, or where the limit is no
    printed number but computed."""
    edges = value if isinstance(value, (tuple, list)) else (value,)
    if value is None or in_car_units(1.0, unit, system)[1] == unit or not all(units.same(round(edge, 3), edge) for edge in edges):
        return ""
    return f"{' to '.join(units.decimal(edge, 3) for edge in edges)} {unit}"


def about(subjects: Iterable[str], discriminator: str) -> str:
    """What a finding is about: its parts' keys, and what tells it from its neighbors (the pose, the joint). Empty for the car."""
    return ", ".join(filter(None, [*subjects, discriminator]))


def measured(value: float | None, comparison: str, limit_: Any, unit: str, system: str, margin: float | None = None) -> str:
    """What was measured, what is required, by how much it holds: one clause for every reader. Empty where nothing was measured."""
    if value is None:
        return ""
    told = [f"measured {number(value, unit, system)}"]
    if limit_ is not None:
        told.append(f"required {limit(comparison, limit_, unit, system)}")
    if margin is not None:
        told.append(f"margin {number(margin, unit, system, sign=True)}")
    return ", ".join(told)


def basis(given: Mapping[str, Any], note: bool = False) -> str:
    """The basis of a finding in one line (``Basis.words``)."""
    return Basis(**given).words(note)


def sentence(text: str) -> str:
    """A clause as a sentence: a capital first, a full stop last."""
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if not text or text.endswith((".", "!", "?")) else f"{text}."
