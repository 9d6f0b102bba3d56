"""What the numbers of an engine's block say about each other."""
from __future__ import annotations

from .. import model, units

CYLINDERS_IN_A_BANK = {"V6": 3, "V8": 4, "V10": 5, "V12": 6}
"""Cylinders in one bank by layout; an inline engine's number is not stated."""


def bore_span(engine: model.Engine) -> float | None:
    """First to last bore centerline of one bank, mm; None where the number of cylinders is not known."""
    cylinders = CYLINDERS_IN_A_BANK.get(engine.kind)
    return None if cylinders is None else (cylinders - 1) * engine.bore_spacing


def bores_outside(engine: model.Engine) -> str | None:
    """One clause where a bank does not fit into the block, fields filled in; None where it does or cannot be told."""
    span = bore_span(engine)
    if span is None or span < engine.block_length:
        return None
    return (f"{CYLINDERS_IN_A_BANK[engine.kind]} bores in a bank at {units.write(engine.bore_spacing, 'length')} span "
            f"{units.write(span, 'length')}, more than block_length {units.write(engine.block_length, 'length')}; correct one of the two")
