"""Quantities: factors against published values, spellings, refusals, round trips."""
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crankline import units

# NIST Special Publication 811 (2008), appendix B.8, factors to seven digits; exact ones are bold there and checked below.
NIST = [("in", "length", 25.4), ("ft", "length", 304.8), ("lb", "mass", 0.4535924), ("lbf", "force", 4.448222),
        ("lbf.ft", "torque", 1.355818e3),
        ("lbf.in", "torque", 1.129848e2), ("psi", "stress", 6.894757e-3), ("ksi", "stress", 6.894757), ("lb/in3", "density", 2.767990e-5),
        ("mph", "speed", 447.04), ("km/h", "speed", 277.7778), ("rpm", "turning", 0.1047198), ("deg", "angle", 1.745329e-2),
        ("g", "acceleration", 9806.65), ("in3", "volume", 16387.06), ("hp", "power", 745.6999e3)]

# Exact by definition: international yard and pound (1959), standard gravity (3rd CGPM, 1901).
EXACT = [("length", "in", Fraction(127, 5)), ("length", "ft", Fraction(1524, 5)), ("mass", "lb", Fraction(45359237, 100000000)),
         ("acceleration", "g", Fraction(980665, 100)), ("force", "lbf", Fraction("4.4482216152605")),
         ("torque", "lbf.in", Fraction("4.4482216152605") * Fraction("25.4")),
         ("torque", "lbf.ft", Fraction("4.4482216152605") * Fraction("304.8")),
         ("stress", "psi", Fraction("4.4482216152605") / Fraction("645.16")), ("speed", "mph", Fraction("447.04")),
         ("density", "kg/m3", Fraction(1, 10 ** 9)), ("density", "g/cm3", Fraction(1, 10 ** 6)), ("density", "kg/mm3", Fraction(1)),
         ("density", "lb/in3", Fraction("0.45359237") / Fraction("16387.064")), ("volume", "in3", Fraction("16387.064")),
         ("power", "hp", 550 * Fraction("4.4482216152605") * Fraction("304.8"))]


@pytest.mark.parametrize("unit, kind, factor", NIST)
def test_factors_agree_with_nist(unit, kind, factor):
    assert units.parse(f"1 {unit}", kind) == pytest.approx(factor, rel=5e-7)


@pytest.mark.parametrize("kind, unit, factor", EXACT)
def test_factors_are_the_exact_ones(kind, unit, factor):
    assert units.UNITS[kind][unit] == factor
    assert units.parse(f"1 {unit}", kind) == float(factor)


def test_every_kind_has_its_inside_unit():
    for kind, table in units.UNITS.items():
        assert 1 in table.values(), kind
        assert set(units.WRITING[kind]) <= set(table)


@pytest.mark.parametrize("text, inches", [
    ("82.5 in", 82.5), ("3 1/8 in", 3.125), ("3-1/8 in", 3.125), ("3+1/8 in", 3.125), ("1/8 in", 0.125), ("82+1/2 in", 82.5),
    ("0.1875in", 0.1875),
    ("82.5\"", 82.5), ("82.5 inches", 82.5), ("6' 10 1/2\"", 82.5), ("6 ft 10.5 in", 82.5), ("6ft", 72.0), ("-3 1/8 in", -3.125),
    ("- 3 1/8 in", -3.125),
    ("+2 in", 2.0), ("\u22122 in", -2.0), (".5 in", 0.5), ("5. in", 5.0), ("1e1 in", 10.0), ("2.5e-1 in", 0.25), ("6.35 mm", 0.25),
    ("2.54 cm", 1.0), ("0.0254 m", 1.0),
    ("  82.5   in  ", 82.5), ("6\u2032 10.5\u2033", 82.5), ("-1' 6\"", -18.0)])
def test_lengths_are_read(text, inches):
    assert units.parse(text, "length") == pytest.approx(inches * 25.4, rel=1e-15, abs=0)


def test_a_decimal_is_rounded_once():
    assert units.parse("83.5 in", "length") == float(Fraction("83.5") * Fraction("25.4")) == 2120.9
    assert units.parse("0.1 in", "length") == 2.54
    assert units.parse("3 1/3 in", "length") == float(Fraction(10, 3) * Fraction("25.4"))
    assert units.parse("180 deg", "angle") == math.pi


def test_the_unit_written_is_told():
    assert units.read("82.5 in", "length") == units.Quantity(2095.5, "in")
    assert units.read("2 degrees", "angle").unit == "deg" and units.read("980 ft.lb", "torque").unit == "lbf.ft"
    assert units.read("6' 10\"", "length").unit == "in"


@pytest.mark.parametrize("spelling", ["lb-ft", "ft-lb", "lb.ft", "ft.lb", "ft.lbf", "lbf.ft", "lbf-ft", "ft-lbf", "lbs-ft", "ft-lbs",
                                      "lb·ft", "lbf·ft"])
def test_pound_feet_are_read_however_a_shop_spells_them(spelling):
    read = units.read(f"980 {spelling}", "torque")
    # 4.4482216152605 N a pound-force, 304.8 mm a foot.
    assert read.unit == "lbf.ft" and read.value == float(Fraction("4.4482216152605") * Fraction("304.8") * 980)
    assert units.read(f"-3-1/8 {spelling}", "torque").value == float(-Fraction("3.125") * Fraction("4.4482216152605") * Fraction("304.8"))
    assert units.parse(f"980{spelling}", "torque") == read.value and units.write(read.value, "torque", "in") == "980 lbf.ft"


@pytest.mark.parametrize("spelling, unit", [("lb-in", "lbf.in"), ("in-lb", "lbf.in"), ("in.lbs", "lbf.in"), ("N-m", "N.m"), ("N·m", "N.m"),
                                            ("N-mm", "N.mm")])
def test_other_torques_are_read_with_a_hyphen_too(spelling, unit):
    assert units.read(f"12.5 {spelling}", "torque") == units.Quantity(units.of(12.5, "torque", unit), unit)


@pytest.mark.parametrize("text, kind", [
    ("980 lb-", "torque"), ("980 lb -ft", "torque"), ("980 lb- ft", "torque"), ("980 -lb-ft", "torque"), ("980 lb-ft-lb", "torque"),
    ("980 ft-ft", "torque"),
    ("980 lb-lb", "torque"), ("980 lb-3", "torque"), ("980 lb-ft 3 lb-in", "torque"), ("980 lb--ft", "torque"), ("5 ft-lb", "length"),
    ("5 lb-ft", "mass"),
    ("6 ft-3 in", "length"), ("6 ft-in", "length"), ("3 in-1/8", "length"), ("5 N-m", "force"),
    ("", "length"), ("   ", "length"), ("82.5", "length"), ("in", "length"), ("82,5 in", "length"), ("1,000 mm", "length"),
    ("82.5 deg", "length"), ("2 in", "angle"),
    ("nan in", "length"), ("inf mm", "length"), ("-inf mm", "length"), ("1e999 in", "length"), ("3 1/0 in", "length"), ("1/0 in", "length"),
    ("5 in 3 ft", "length"),
    ("5 in 3 in", "length"), ("6 ft 3 in 2 in", "length"), ("6 ft -3 in", "length"), ("3 1/8", "length"), ("0x10 in", "length"),
    ("1_000 mm", "length"), ("--5 in", "length"),
    ("5 in;", "length"), ("5 in*2", "length"), ("80 in + 3 in", "length"), ("1.2.3 in", "length"), ("1e in", "length"),
    ("\u0661 in", "length"), ("5 IN", "length"),
    ("5 lb", "force"), ("5 lbf", "mass"), ("5 N", "torque"), ("5\nin 3", "length"), ("1 mm mm", "length"), ("9" * 10000 + " in", "length"),
    ("1/" + "9" * 100 + " in", "length")])
def test_what_is_no_quantity_is_refused_in_one_sentence(text, kind):
    with pytest.raises(units.QuantityError) as caught:
        units.read(text, kind)
    said = str(caught.value)
    assert "\n" not in said and len(said) < 200


@pytest.mark.parametrize("text", ["", "1 in", "1,5", "nan", ".nan", "inf", "1:30", "0x1", "1_0", "one", "1/2", "\u0663"])
def test_what_is_no_plain_number_is_refused(text):
    with pytest.raises(units.QuantityError):
        units.number(text)


@pytest.mark.parametrize("text, value", [("4.10", 4.1), ("-1", -1.0), ("+.5", 0.5), ("1e-3", 0.001), (" 2 ", 2.0)])
def test_plain_numbers(text, value):
    assert units.number(text) == value


@given(st.sampled_from(sorted(units.UNITS)), st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12),
       st.sampled_from(["in", "mm"]))
@settings(max_examples=400, deadline=None)
def test_what_is_written_reads_back(kind, value, system):
    found = units.parse(units.write(value, kind, system), kind)
    assert found == value or math.isclose(found, value, rel_tol=2e-15)
    assert units.same(found, value)


@given(st.integers(-10 ** 5, 10 ** 5), st.sampled_from([1, 2, 4, 8, 16, 32, 64, 10, 100, 1000]))
@settings(max_examples=300, deadline=None)
def test_shop_inches_are_written_in_inches(top, bottom):
    value = units.parse(f"{'-' if top < 0 else ''}{abs(top)}/{bottom} in", "length")
    text = units.write(value, "length", "in")
    assert text.endswith(" in") and units.parse(text, "length") == value
    assert units.write(value, "length", "mm").endswith(" mm")


@given(st.integers(0, 2000), st.integers(0, 63))
@settings(max_examples=200, deadline=None)
def test_fractions_for_people_read_back(whole, part):
    value = (whole + part / 64) * 25.4
    for signed in (value, -value):
        assert units.parse(units.inches(signed, 64), "length") == pytest.approx(signed, abs=1e-9)


def test_inch_text_for_people():
    assert units.inches(2095.5) == "82.500 in"
    assert units.inches(2095.5, 16) == "82 1/2 in"
    assert units.inches(25.4, 8) == "1 in" and units.inches(3.175, 8) == "1/8 in" and units.inches(-3.175, 8) == "-1/8 in"
    assert units.inches(0.1, 8) == "0 in" and units.inches(-0.1, 8) == "0 in"
    assert units.inches(25.35, 8) == "1 in"


def test_arrays_are_converted():
    values = np.array([1.0, 2.0])
    assert units.of(values, "length", "in") == pytest.approx([25.4, 50.8])
    assert units.to(units.of(values, "torque", "lbf.ft"), "torque", "lbf.ft") == pytest.approx(values)


def test_equality_is_twelve_digits():
    assert units.same(1.0, 1.0 + 4e-12) and not units.same(1.0, 1.0 + 4e-11)
    assert units.same(0.0, 9e-10) and units.same(-9e-10, 9e-10) and not units.same(0.0, 2e-9)
    # On either side of a rounding boundary, yet neighbors.
    a = 1.234567890125
    assert units.same(math.nextafter(a, 0), math.nextafter(a, 2), 12)
    assert units.same(1e-9, math.nextafter(1e-9, 0)) or units.rounded(math.nextafter(1e-9, 0)) == 0.0


def test_decimal_text():
    assert units.decimal(-0.0, 3) == "0" and units.decimal(-0.0001,
                                                           3) == "0" and units.decimal(1.5, 3) == "1.5" and units.decimal(100, 0) == "100"


def test_lengths_are_told_in_the_units_of_the_car():
    with units.read_in("in"):
        assert (units.sized(50.8), units.length_text(101.6), units.length_text(50.0)) == ("2.000 in", "4 in", "1.968504 in")
    with units.read_in("mm"):
        assert (units.sized(50.8), units.length_text(101.6), units.length_text(50.0)) == ("50.80 mm", "101.6 mm", "50 mm")
