"""What the user of this machine prefers, as the host keeps it: colors, units and what a new car begins with.

Edited on the host's own preferences page (``gui/preferences.ui``), whose fields have these names. They are values to begin with and how
things look in the window, never an input of a part, a check or a sheet: a car is the same on every machine. Headless runs have a home of
their own, so that they see the defaults.
"""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

from .host import FreeCAD as App
from .record import choice, entries, flag, text, texts

GROUP = "Mod/Crankline"
PATH = f"User parameter:BaseApp/Preferences/{GROUP}"
RULE_SET = "RuleSet_"
"""Begins the key of each rule set's check box."""

Color = tuple[float, float, float]


@dataclass(frozen=True)
class Preferences:
    """Text and choices. The key of each is its name in the host's parameters."""
    units: str = choice("units of a new car", "in", "mm", key="Units", default="in")
    fractions: bool = flag("write inches as fractions where they are exact", key="Fractions", default=False)
    shop: str = text("name of the shop, for title blocks", key="Shop", default="")
    catalog: str = text("folder with the shop's own catalog files", key="UserCatalog", default="")
    records: str = text("folder with the shop's placement records", key="UserRecords", default="")
    rule_sets: tuple[str, ...] = texts("rule sets of a new car", key=RULE_SET,
                                       default=("clearance", "containment", "driveline", "practice", "strength"))


COLORS: dict[str, Color] = {"ColorFinding": (0.93, 0.10, 0.55), "ColorPowertrain": (0.97, 0.50, 0.05), "ColorShaft": (0.20, 0.58, 1.00)}
"""Key to default. Middle tones, which stand out on dark and on light backgrounds; no part has the color of a finding's marks. Each is
accompanied by a shape, a line style or words."""


def held() -> Preferences:
    """What the user prefers; the defaults where there is no FreeCAD."""
    default = {item.name: entry.default for item, entry in zip(fields(Preferences), entries(Preferences).values())}
    try:
        group = App.ParamGet(PATH)
    except ImportError:
        return Preferences(**default)
    units = group.GetInt("Units", 0)
    known = entries(Preferences)["units"].choices
    ticked = {name.removeprefix(RULE_SET): group.GetBool(name) for name in group.GetBools() if name.startswith(RULE_SET)}
    sets = {*default["rule_sets"], *(name for name, on in ticked.items() if on)} - {name for name, on in ticked.items() if not on}
    return Preferences(units=known[units] if 0 <= units < len(known) else "in", fractions=group.GetBool("Fractions", False),
                       shop=" ".join(group.GetString("Shop", "").split()), catalog=group.GetString("UserCatalog", "").strip(),
                       records=group.GetString("UserRecords", "").strip(), rule_sets=tuple(sorted(sets)))


_EXPORTED = "Export_"
_FORM = "ExportForm"


def exported() -> tuple[str, ...]:
    """What was chosen at the last export; nothing before the first."""
    group = App.ParamGet(PATH)
    return tuple(sorted(name.removeprefix(_EXPORTED) for name in group.GetBools() if name.startswith(_EXPORTED) and group.GetBool(name)))


def exported_form() -> str:
    """What sheets were written as at the last export; empty before the first."""
    return str(App.ParamGet(PATH).GetString(_FORM, ""))


def remember_exported(names: Iterable[str], form: str) -> None:
    """Keep what was chosen for the next export, and what sheets were written as."""
    group, chosen = App.ParamGet(PATH), set(names)
    group.SetString(_FORM, form)
    for name in chosen | set(exported()):
        group.SetBool(_EXPORTED + name, name in chosen)


def color(key: str) -> Color:
    """A color that the user may choose, each part 0 to 1."""
    default = COLORS[key]
    packed = App.ParamGet(PATH).GetUnsigned(key, pack(default))
    red, green, blue = ((packed >> shift & 255) / 255.0 for shift in (24, 16, 8))
    return red, green, blue


def pack(value: Color) -> int:
    """A color as the host keeps it: red, green, blue and opacity, a byte each."""
    return sum(round(255 * part) << shift for part, shift in zip((*value, 1.0), (24, 16, 8, 0)))
