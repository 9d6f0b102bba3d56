"""Quantity text to and from the units used inside the code.

Inside: mm, kg, N, s, rad and what follows from them (torque N mm, stress N/mm2, density kg/mm3, speed mm/s, shaft speed
rad/s). At the edges: the unit the user wrote. The host's own parser is not used, because its versions read
``82+1/2 in`` and ``2,5 in`` differently.

Factors are exact by definition (international inch 25.4 mm, avoirdupois pound 0.45359237 kg, standard gravity
9.80665 m/s2: NIST Special Publication 811, appendix B) and kept as fractions, so that a decimal text is rounded once.
"""
from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from contextvars import ContextVar, Token
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

INCH = 25.4
"""mm, exact by definition."""
DEG = math.pi / 180.0
"""rad."""

_INCH = Fraction(254, 10)
_POUND = Fraction(45359237, 10 ** 8)
_GRAVITY = Fraction(980665, 100)          # mm/s2
_POUND_FORCE = _POUND * _GRAVITY / 1000   # N
_DEGREE = Fraction(math.pi / 180.0)
_TURN_PER_MINUTE = Fraction(2.0 * math.pi / 60.0)

UNITS: dict[str, dict[str, Fraction]] = {
    "length": {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": _INCH, "ft": 12 * _INCH},
    "angle": {"deg": _DEGREE, "rad": Fraction(1)},
    "mass": {"kg": Fraction(1), "g": Fraction(1, 1000), "lb": _POUND},
    "force": {"N": Fraction(1), "kN": Fraction(1000), "lbf": _POUND_FORCE},
    "rate": {"N/mm": Fraction(1), "lbf/in": _POUND_FORCE / _INCH},
    "line_load": {"N/mm": Fraction(1), "lbf/in": _POUND_FORCE / _INCH},
    "torque": {"N.mm": Fraction(1), "N.m": Fraction(1000), "lbf.in": _POUND_FORCE * _INCH,
               "lbf.ft": _POUND_FORCE * 12 * _INCH},
    "stress": {"MPa": Fraction(1), "GPa": Fraction(1000), "Pa": Fraction(1, 10 ** 6),
               "psi": _POUND_FORCE / _INCH ** 2, "ksi": 1000 * _POUND_FORCE / _INCH ** 2},
    "density": {"kg/m3": Fraction(1, 10 ** 9), "g/cm3": Fraction(1, 10 ** 6), "lb/in3": _POUND / _INCH ** 3,
                "kg/mm3": Fraction(1)},
    "speed": {"mm/s": Fraction(1), "m/s": Fraction(1000), "km/h": Fraction(10000, 36), "mph": 5280 * 12 * _INCH / 3600},
    "turning": {"rpm": _TURN_PER_MINUTE, "rad/s": Fraction(1)},
    "time": {"s": Fraction(1), "ms": Fraction(1, 1000)},
    "acceleration": {"mm/s2": Fraction(1), "m/s2": Fraction(1000), "g": _GRAVITY},
    "inertia": {"kg.mm2": Fraction(1), "kg.m2": Fraction(10 ** 6)},
    "volume": {"in3": _INCH ** 3, "cm3": Fraction(1000), "L": Fraction(10 ** 6), "mm3": Fraction(1)},
    # The horsepower of 550 ft.lbf/s.
    "power": {"hp": 550 * 12 * _INCH * _POUND_FORCE, "kW": Fraction(10 ** 6), "W": Fraction(1000), "N.mm/s": Fraction(1)},
}
"""Per kind of quantity: unit text to its size in the inside unit (the one whose factor is 1)."""

_FACTORS = {kind: {unit: float(factor) for unit, factor in table.items()} for kind, table in UNITS.items()}

_ALIASES = {'"': "in", "″": "in", "''": "in", "inch": "in", "inches": "in", "'": "ft", "′": "ft", "feet": "ft",
            "foot": "ft", "°": "deg", "degree": "deg", "degrees": "deg", "lbs": "lb", "ft.lbf": "lbf.ft",
            "lbf*ft": "lbf.ft", "lb.ft": "lbf.ft", "ft.lb": "lbf.ft", "lbs.ft": "lbf.ft", "ft.lbs": "lbf.ft", "in.lbf": "lbf.in",
            "lb.in": "lbf.in", "in.lb": "lbf.in", "lbs.in": "lbf.in", "in.lbs": "lbf.in", "N*m": "N.m", "Nm": "N.m",
            "kg/m^3": "kg/m3", "kg/m³": "kg/m3", "lb/in": "lbf/in", "lbs/in": "lbf/in", "lb/in^3": "lb/in3", "sec": "s", "gn": "g",
            "cid": "in3", "ci": "in3", "in^3": "in3", "cc": "cm3", "l": "L", "HP": "hp"}

_NUMBER = r"(?:[0-9]{1,30}(?:\.[0-9]{0,30})?|\.[0-9]{1,30})(?:[eE][+-]?[0-9]{1,3})?"
_TERM = re.compile(
    rf"\s*(?:(?P<whole>[0-9]{{1,18}})(?P<join>\s+|-|\+)(?P<top>[0-9]{{1,9}})/(?P<bottom>[0-9]{{1,9}})"
    rf"|(?P<num>[0-9]{{1,18}})/(?P<den>[0-9]{{1,9}})|(?P<plain>{_NUMBER}))\s*")
# A minus joins whole and fraction or is a sign; only between the two names of a torque does it stand for a product.
_UNIT = re.compile(r"(?:(?:lbf|lbs?|ft|in|N)-(?:lbf|lbs?|ft|in|mm?)(?!\S)|''|[^\s\d+\-,'\"′″]['\"′″]?[^\s,+\-'\"′″]*|['\"′″])")


class QuantityError(ValueError):
    """Text that is no quantity of the kind asked for. The message is one sentence: what was found, what is allowed."""


@dataclass(frozen=True)
class Quantity:
    """A typed value together with the unit it was written in."""
    value: float
    unit: str


def names(kind: str) -> str:
    """The unit names of a kind, for messages: ``mm, cm, m, in, ft``."""
    return ", ".join(UNITS[kind])


def article(kind: str) -> str:
    """a or an, for messages."""
    return "an" if kind[0] in "aeiou" else "a"


def quoted(text: str) -> str:
    """A text that somebody wrote, as messages show it: in quotes, at most 40 characters."""
    text = " ".join(text.split())
    return repr(text if len(text) <= 40 else text[:37] + "...")


# The same texts come again: a car file is read more often than it is changed, and what is written is read to see whether it is exact.
@lru_cache(maxsize=4096)
def read(text: str, kind: str) -> Quantity:
    """Quantity in inside units and the unit written, from text such as ``82.5 in``, ``3 1/8 in``, ``6' 10 1/2"``.

    A mixed number is written ``3 1/8``, ``3-1/8`` or ``3+1/8``; lengths may have two terms, feet then inches; a torque may be
    written ``980 lb-ft``. A comma, a bare number, an unknown unit, nan and infinity are refused with QuantityError.
    """
    table = UNITS[kind]
    source = text.strip()
    if not source:
        raise QuantityError(f"an empty text was found; write {article(kind)} {kind} with its unit ({names(kind)})")
    if "," in source:
        raise QuantityError(f"{quoted(text)} has a comma; write the decimal point as '.' and no thousands separator")
    sign = 1
    if source[0] in "+-−":
        sign = -1 if source[0] in "-−" else 1
        source = source[1:].lstrip()
    total, position, unit = Fraction(0), 0, ""
    previous = ""
    while position < len(source):
        match = _TERM.match(source, position)
        if not match or match.end() == position:
            raise QuantityError(f"{quoted(text)} is not {article(kind)} {kind}; write a number and its unit, one of {names(kind)}")
        total_term = _fraction(match, text)
        position = match.end()
        found = _UNIT.match(source, position)
        if not found:
            raise QuantityError(f"{quoted(text)} has no unit; add one of {names(kind)}")
        spelled = found.group().replace("-", ".").replace("·", ".")
        unit = _ALIASES.get(spelled, spelled)
        if unit not in table:
            raise QuantityError(f"{quoted(text)} has the unit {found.group()!r}; {article(kind)} {kind} is written in {names(kind)}")
        if previous and (kind != "length" or previous != "ft" or unit != "in"):
            raise QuantityError(f"{quoted(text)} has two terms; only feet followed by inches may be written so")
        total += total_term * table[unit]
        previous, position = unit, found.end()
    value = sign * _float(total, text)
    return Quantity(value, unit)


def _fraction(match: re.Match[str], text: str) -> Fraction:
    groups = match.groupdict()
    if groups["plain"] is not None:
        return Fraction(groups["plain"])
    top, bottom = (groups["top"], groups["bottom"]) if groups["whole"] is not None else (groups["num"], groups["den"])
    if int(bottom) == 0:
        raise QuantityError(f"{quoted(text)} divides by zero; write a fraction such as 3 1/8")
    return Fraction(int(groups["whole"] or 0)) + Fraction(int(top), int(bottom))


def _float(value: Fraction, text: str) -> float:
    try:
        return float(value)
    except OverflowError:
        raise QuantityError(f"{quoted(text)} is too large to be a quantity") from None


def parse(text: str, kind: str) -> float:
    """The value of ``read`` alone, in inside units."""
    return read(text, kind).value


def number(text: str) -> float:
    """A plain number without a unit (ratios, coefficients); refuses units, commas, nan and infinity."""
    source = text.strip()
    if not re.fullmatch(rf"[+-]?{_NUMBER}", source):
        raise QuantityError(f"{quoted(text)} is not a plain number; write digits with '.' as decimal point and no unit")
    value = float(source)
    if math.isinf(value):
        raise QuantityError(f"{quoted(text)} is too large to be a number")
    return value


def to(value: float, kind: str, unit: str) -> float:
    """An inside value expressed in a unit; works on numpy arrays too."""
    return value / _FACTORS[kind][unit]


def of(value: float, kind: str, unit: str) -> float:
    """A number in a unit as an inside value; works on numpy arrays too."""
    return value * _FACTORS[kind][unit]


def same(a: float, b: float, digits: int = 12) -> bool:
    """Whether two floats agree to so many significant digits (values below 1e-9 count as 0).

    Two neighboring floats can round to different digits; they are the same all the same.
    """
    return rounded(a, digits) == rounded(b, digits) or math.isclose(a, b, rel_tol=10.0 ** -digits, abs_tol=0.0)


def rounded(value: float, digits: int = 12) -> float:
    """The value to so many significant digits, with everything below 1e-9 as 0: the project's one notion of equality."""
    return 0.0 if abs(value) < 1e-9 else float(f"{value:.{digits}g}")


WRITING = {"length": ("in", "mm"), "angle": ("deg", "rad"), "mass": ("lb", "kg"), "force": ("lbf", "N"), "line_load": ("lbf/in", "N/mm"),
           "rate": ("lbf/in", "N/mm"), "torque": ("lbf.ft", "N.m"), "stress": ("GPa", "MPa", "psi"), "density": ("kg/m3", "lb/in3"),
           "speed": ("mph", "km/h", "m/s"), "turning": ("rpm", "rad/s"), "time": ("s",),
           "acceleration": ("g", "m/s2"), "inertia": ("kg.m2",), "volume": ("in3", "cm3"), "power": ("hp", "kW")}


def write(value: float, kind: str, system: str = "in") -> str:
    """Text that reads back to the same value to 12 significant digits, in the system's unit when that is exact.

    ``system`` is ``in`` or ``mm``. Exact means: nine decimals give the same float, or one so near that arithmetic may have
    moved it. Otherwise the inside unit (mm, N mm, ...) with all digits.
    """
    order = list(WRITING[kind])
    if system == "mm":
        metric = {"length": ["mm"], "mass": ["kg"], "force": ["N"], "torque": ["N.m"], "speed": ["km/h", "m/s"],
                  "stress": ["GPa", "MPa"], "volume": ["cm3"], "power": ["kW"]}
        order = metric.get(kind, order)
    for unit in order:
        text = decimal(to(value, kind, unit), 9)
        if math.isclose(parse(f"{text} {unit}", kind), value, rel_tol=1e-15, abs_tol=0.0):
            return f"{text} {unit}"
    return f"{value!r} {next(unit for unit, factor in UNITS[kind].items() if factor == 1)}"


def decimal(value: float, places: int) -> str:
    """Fixed-point text without trailing zeros and without a negative zero."""
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def inches(value: float, denominator: int = 0, places: int = 3) -> str:
    """A length in mm as inch text for people: decimal (``82.500 in``) or a fraction to 1/denominator (``82 1/2 in``)."""
    if not denominator:
        return f"{value / INCH:.{places}f} in"
    steps = round(abs(value) / INCH * denominator)
    whole, rest = divmod(steps, denominator)
    sign = "-" if value < 0 and steps else ""
    if not rest:
        return f"{sign}{whole} in"
    part = Fraction(rest, denominator)
    return f"{sign}{whole} {part} in" if whole else f"{sign}{part} in"


# --- what people read -------------------------------------------------------------------------------------------------

READ_IN = {"length": ("in", "mm"), "mass": ("lb", "kg"), "force": ("lbf", "N"), "line_load": ("lbf/in", "N/mm"),
           "rate": ("lbf/in", "N/mm"), "torque": ("lbf.ft", "N.m"), "stress": ("ksi", "MPa"),
           "density": ("lb/in3", "kg/m3"), "speed": ("mph", "km/h"), "volume": ("in3", "cm3"), "power": ("hp", "kW")}
"""Kind of unit to what people read of it in a car of inches and in one of millimeters; of other kinds there is one unit for both."""

INSIDE = {next(unit for unit, factor in table.items() if factor == 1): kind for kind, table in UNITS.items()}
"""Inside unit to its kind."""

_READ_IN: ContextVar[Callable[[], str | None]] = ContextVar("read_in", default=lambda: "in")
"""Tells the units of the car that messages are about; asked only when a number is written into one."""


class read_in:
    """Within it, ``sized`` and its like write in a car's units (``in`` or ``mm``, a function that tells them, None for inches).

    Geometry and mechanics know no car, only numbers; what refuses a number there says so in the units of whoever asked for it.
    """

    def __init__(self, car_units: str | Callable[[], str | None] | None) -> None:
        self._ask = car_units if callable(car_units) else lambda: car_units
        self._tokens: list[Token[Callable[[], str | None]]] = []

    def __enter__(self) -> None:
        self._tokens.append(_READ_IN.set(self._ask))

    def __exit__(self, *_error: object) -> None:
        _READ_IN.reset(self._tokens.pop())


def reading() -> str:
    """The units of lengths that people read now: ``in`` or ``mm``."""
    return "mm" if _READ_IN.get()() == "mm" else "in"


def sized(value: float, places: int = 3) -> str:
    """A length in mm as people read it: ``6.752 in``, in a car of millimeters ``171.50 mm``, which has one place less than inches."""
    return f"{value:.{max(places - 1, 0)}f} mm" if reading() == "mm" else inches(value, places=places)


def length_text(value: float) -> str:
    """A length in mm as people read it, with as many digits as it has, at most six: ``4 in``, in a car of millimeters ``101.6 mm``."""
    return f"{decimal(value, 6)} mm" if reading() == "mm" else f"{decimal(value / INCH, 6)} in"


def points_text(points: Iterable[Iterable[float]]) -> str:
    """Points (mm) as people read them: ``(83.50, 0.00, 10.00) to (80.00, 0.00, 10.00) in``."""
    unit, factor, places = ("mm", 1.0, 1) if reading() == "mm" else ("in", INCH, 2)
    # Rounded first and added to 0, so that none reads as a negative zero.
    told = ("(" + ", ".join(f"{round(value / factor, places) + 0.0:.{places}f}" for value in point) + ")" for point in points)
    return f"{' to '.join(told)} {unit}"


def torque_text(value: float) -> str:
    """A torque in N mm as people read it: ``737 lbf.ft``, in a car of millimeters ``1000 N.m``."""
    unit = "N.m" if reading() == "mm" else "lbf.ft"
    return f"{to(value, 'torque', unit):.0f} {unit}"
