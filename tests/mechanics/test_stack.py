"""The stack between block and transmission: converter gap, dowels, pilot, pump, bellhousing and input shaft."""
from dataclasses import replace

import pytest
from conftest import ROOT

from crankline import carfile
from crankline.mechanics import scene as scenes
from crankline.mechanics import stack as stacks

INCH = 25.4


@pytest.fixture(scope="module")
def automatic():
    return carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml")


@pytest.fixture(scope="module")
def clutch():
    return carfile.read(ROOT / "demo_assemblies" / "open_clutch.yaml")


def fit(car, **changes):
    return stacks.stack_fit(car.engine, replace(car.transmission, **changes), scenes.stack_of(car.plates))


def fits(found):
    """Whether the converter gap lies in the usual band, to the last bits."""
    low, high = stacks.CONVERTER_GAP
    return low - 1e-9 <= found.converter_gap <= high + 1e-9


def test_demo_a_has_the_gap_that_the_trade_wants(automatic):
    # 0.150 + 0.125 + 0.250 - 0.370 = 0.155 in; band 1/8 to 3/16 in (common practice, no source).
    found = fit(automatic)
    assert found.converter_gap / INCH == pytest.approx(0.155, abs=1e-12) and fits(found)
    assert found.plates / INCH == pytest.approx(0.375)
    assert found.dowel_in_bell / INCH == pytest.approx(0.75 - 0.375)


def test_plates_widen_the_gap_and_spacers_restore_it(automatic):
    bare = fit(automatic, pad_spacers=0.0)
    assert bare.converter_gap == pytest.approx(automatic.transmission.gap_without_plates + bare.plates) and not fits(bare)
    for spacers in bare.spacers_for_gap:
        assert fits(fit(automatic, pad_spacers=spacers))
    low, high = bare.spacers_for_gap
    assert not fits(fit(automatic, pad_spacers=low - 0.01)) and not fits(fit(automatic, pad_spacers=high + 0.01))
    assert (low / INCH, high / INCH) == pytest.approx((0.525 - 0.1875, 0.525 - 0.125))
    assert not fits(fit(automatic, pad_spacers=0.6 * INCH)) and fit(automatic, pad_spacers=0.6 * INCH).converter_gap < 0.0


def test_pilot_and_pump_share_the_plates(automatic):
    found = fit(automatic)
    assert found.pilot_lost == pytest.approx(0.370 * INCH)             # the converter is bolted up that much farther back
    assert found.pilot_lost + found.pump_lost == pytest.approx(found.plates)
    # With no spacers the converter is drawn forward to the flexplate: all of it is lost in the pump.
    assert fit(automatic, pad_spacers=0.0).pump_lost == pytest.approx(found.plates)


def test_clutch_car(clutch):
    found = fit(clutch)
    assert found.kind == "manual" and found.converter_gap is None and found.pump_lost is None
    assert found.plates == pytest.approx(0.250 * INCH)                  # no protector
    assert found.input_ahead_of_block / INCH == pytest.approx(0.60 - 0.25)
    assert found.pilot_lost == pytest.approx(found.plates)


def test_what_is_not_known_is_none(automatic, clutch):
    unknown = fit(automatic, gap_without_plates=None)
    assert unknown.converter_gap is None and unknown.spacers_for_gap is None
    assert fit(clutch, input_beyond_bell_face=None).input_ahead_of_block is None
    # Spacers not given are no spacers.
    assert fit(automatic, pad_spacers=None).pilot_lost == 0.0


def test_thick_plates_leave_no_dowel(automatic):
    thick = stacks.stack_fit(automatic.engine, automatic.transmission, scenes.Stack(0.25 * INCH, 0.5 * INCH))
    assert thick.dowel_in_bell == pytest.approx(0.0, abs=1e-12)
