"""Looks, icons, read-out and typed numbers, tried without a window."""
import math
import os
import pathlib
from xml.etree import ElementTree

import pytest

from crankline import carfile, units
from crankline.features.registry import CLASSES, declaration
from crankline.gui import palette, quantity_field, readout
from crankline.mechanics import scene

ROOT = pathlib.Path(__file__).parent.parent.parent
ICONS = os.path.join(os.path.dirname(palette.__file__), "icons")


def test_icons_belong_to_kinds_and_are_64_pixels():
    names = [name.removesuffix(".svg") for name in os.listdir(ICONS)]
    assert set(names) == set(CLASSES)
    for name in names:
        root = ElementTree.parse(os.path.join(ICONS, f"{name}.svg")).getroot()
        assert root.get("width") == root.get("height") == "64"


def luminance(color):
    """Relative luminance of WCAG 2.2 (sRGB, IEC 61966-2-1)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in color]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_containment_mounts_chassis_and_plates_differ_without_hue():
    """Somebody who sees no hues tells the four groups by lightness: contrast of 1.3 : 1 and more between neighbors."""
    tones = sorted(luminance(declaration(kind, kind).look.color) for kind in ("chassis_tube", "rail_tab", "split_loop", "mid_plate"))
    mounts_and_chassis, rest = tones[:2], tones[2:]
    assert (rest[0] + 0.05) / (mounts_and_chassis[1] + 0.05) > 1.3 and (rest[1] + 0.05) / (rest[0] + 0.05) > 1.3


@pytest.mark.parametrize("text, millimetres", [("82 1/2 in", 2095.5), ("82+1/2 in", 2095.5), ("2095.5 mm", 2095.5),
                                               ("82.5", 2095.5), ("82 1/2", 2095.5), ("6' 10 1/2\"", 2095.5), (".5", 12.7)])
def test_lengths_as_they_are_typed(text, millimetres):
    assert quantity_field.read(text, "length", "in") == millimetres


@pytest.mark.parametrize("text, word", [("82,5 in", "comma"), ("82,5", "comma"), ("2 deg", "deg"), ("", "empty"),
                                        ("abc", "not a length"), ("1/0", "divides"), ("1e400", "too large"), ("82 in in", "in")])
def test_what_is_no_length_is_one_sentence(text, word):
    with pytest.raises(units.QuantityError) as error:
        quantity_field.read(text, "length", "in")
    assert word in str(error.value) and "\n" not in str(error.value)


def test_readout_of_the_demo_car():
    """Demo A by hand: 1/8 in protector square to a crank at 2 deg; crank fall over the block is its length x sin 2 deg."""
    car = carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml")
    placed = scene.of(car)
    found = {figure.name: figure for figure in readout.readings(placed)}
    pitch = math.radians(2.0)
    assert found["mid_plate_front"].value == pytest.approx((83.5 - 0.125 * math.cos(pitch)) * 25.4, rel=1e-12)
    assert found["crank_height_front"].value == pytest.approx(254.0 - placed.engine.block_length * math.sin(pitch), rel=1e-12)
    assert found["joint_distance"].value == pytest.approx(math.dist(placed.front_joint, placed.rear_joint), rel=1e-12)
    assert found["pitch"].text("in") == "2.00 deg" and found["mid_plate_front"].text("mm").endswith(" mm")
