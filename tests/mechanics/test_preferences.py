"""What the user prefers: defaults where nothing was chosen, and what the host's parameters hold."""
from __future__ import annotations

import pytest

from crankline import preferences
from crankline.rules import rule_sets


class Group:
    """The host's parameters as a dictionary."""

    def __init__(self, **held):
        self.held = held

    def GetBools(self):
        return [key for key, value in self.held.items() if isinstance(value, bool)]

    def get(self, key, default=None):
        return self.held.get(key, default)

    GetBool = GetInt = GetString = GetUnsigned = get


@pytest.fixture
def chosen(monkeypatch):
    def choose(**held):
        group = Group(**held)
        monkeypatch.setattr(preferences, "App", type("Host", (), {"ParamGet": staticmethod(lambda path: group)}))
        return preferences.held()
    return choose


def test_nothing_chosen_gives_the_defaults(chosen):
    assert chosen() == preferences.Preferences(units="in", fractions=False, shop="", catalog="", records="",
                                               rule_sets=("clearance", "containment", "driveline", "practice", "strength"))
    assert set(chosen().rule_sets) == set(rule_sets.DEFAULT_SETS)


def test_what_was_chosen_is_held(chosen):
    found = chosen(Units=1, Fractions=True, Shop="  Night  Shift Chassis ", UserCatalog="/somewhere", UserRecords=" /elsewhere ",
                   RuleSet_practice=False, RuleSet_stack=True)
    assert found == preferences.Preferences(units="mm", fractions=True, shop="Night Shift Chassis", catalog="/somewhere",
                                            records="/elsewhere",
                                            rule_sets=("clearance", "containment", "driveline", "stack", "strength"))
    assert chosen(Units=7).units == "in", "a number of no choice is the first"


def test_colors_are_kept_as_bytes(chosen):
    chosen()
    assert preferences.color("ColorShaft") == pytest.approx((0.20, 0.58, 1.00), abs=0.5 / 255)
    chosen(ColorShaft=0x102030FF)
    assert preferences.color("ColorShaft") == (0x10 / 255, 0x20 / 255, 0x30 / 255)
