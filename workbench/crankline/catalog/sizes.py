"""The main sizes of a catalog row in one line, for whoever picks one."""
from __future__ import annotations

from .. import spelling, units
from ..record import entries
from . import about, of_shop, row

MAIN: dict[str, tuple[str, ...]] = {
    "engines": ("kind", "material", "deck_height", "bore_spacing", "block_length", "peak_torque", "mass"),
    "transmissions": ("kind", "bell_to_seal", "first_gear", "top_gear", "mass"),
    "sections": ("outer_diameter", "wall"),
    "materials": ("family", "density", "modulus", "yield_strength"),
    "joint_series": ("span", "cap", "torque")}
"""Table to the fields by which its rows are told apart."""
IN_INCHES = {"stress": "ksi", "density": "lb/in3"}
"""Units of an inch car where a written file may have others."""


def line(table: str, name: str, system: str) -> str:
    """The main sizes of a row in the units of a car (``in`` or ``mm``); empty for a table without main sizes."""
    record, found = row(table, name), []
    for field in MAIN.get(table, ()):
        entry, value = entries(type(record))[field], getattr(record, field)
        if value is None:
            continue
        label = entry.key.replace("_", " ")
        if entry.kind in units.UNITS:
            # Yield strengths of some hundred MPa and moduli of some hundred GPa, each in the unit that it is known in.
            unit = IN_INCHES[entry.kind] if system == "in" and entry.kind in IN_INCHES else "MPa" if entry.kind == "stress" \
                and value < 1000.0 else units.write(0.0, entry.kind, system).partition(" ")[2]
            number = units.to(value, entry.kind, unit)
            found.append(f"{label} {f'{number:.4g}' if number < 10_000.0 else f'{number:,.0f}'} {unit}")
        elif entry.kind == "choice":
            found.append(spelling.read(str(value)).replace("_", " "))
        else:
            found.append(f"{label} {value:g}")
    return ", ".join(found)


def origin(table: str, name: str) -> str:
    """Where the figures of a row come from, as a sentence; a shop's own row says so, with its date."""
    own = of_shop(table, name)
    return f"From your own catalog: {own.source}, {own.date}" if own is not None else f"From the catalog: {about(table, name).source}"
