"""Seat of the limiter strut: its bracket on a main rail, welded."""
from __future__ import annotations

from .limiter_bracket import LimiterBracket


class LimiterSeat(LimiterBracket):
    """The bracket at the strut's rear end."""
    kind = "limiter_seat"
    welded = True
    end = "rail"
