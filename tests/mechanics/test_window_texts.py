"""What the window says, read from its sources: translations, help, icons, and the preferences page."""
from __future__ import annotations

import re
from functools import cache
from xml.etree import ElementTree

import translations
from conftest import ROOT

from crankline import preferences
from crankline.record import entries
from crankline.rules import rule_sets

GUI = ROOT / "workbench" / "crankline" / "gui"


@cache
def commands():
    return {context: held for context, held in translations.texts().items() if context.startswith("Crankline_")}


def test_the_translation_file_is_current():
    assert translations.FILE.read_text(encoding="utf-8") == translations.file_text(translations.texts()), \
        "run python3 tests/translations.py"


def test_every_command_has_its_own_icon_and_says_what_it_is():
    source = (GUI / "commands.py").read_text(encoding="utf-8")
    names = re.findall(r"^class (\w+)\((?:Command|_OnPart)\)", source, re.M)
    icons = re.findall(r'^    name, icon.* = "\w+", "(\w+)"', source, re.M)
    assert len(icons) == len(names) - source.count("class _OnPart") == len(commands()) and len(set(icons)) == len(icons)
    for icon in icons:
        root = ElementTree.parse(ROOT / "icons" / f"{icon}.svg").getroot()
        assert root.get("width") == root.get("height") == "64", icon
    assert all(len(held) == 3 and max(map(len, held)) > 60 for held in commands().values()), "text, tip, and what it is"


def test_shortcuts_are_told_in_help_and_are_different():
    source = (GUI / "commands.py").read_text(encoding="utf-8")
    keys = re.findall(r'"(Q, [A-Z])"', source)
    page = (GUI / "help" / "index.html").read_text(encoding="utf-8")
    assert len(keys) == len(set(keys)) > 5
    assert [key for key in keys if f"({key})" not in page and key != "Q, H"] == []


def test_help_names_every_command_and_its_pictures_are_there():
    page = " ".join((GUI / "help" / "index.html").read_text(encoding="utf-8").split())
    texts = {min(held, key=len).rstrip("…") for held in commands().values()}
    assert [text for text in texts if f"<b>{text}</b>" not in page] == ["Crankline Help"]
    pictures = re.findall(r'<img src="([^"]+)"', page)
    assert pictures and all((GUI / "help" / name).stat().st_size < 200_000 for name in pictures)
    assert page.count("<img") == page.count(" alt="), "who cannot see a picture is told what it shows"


def test_the_preferences_page_edits_what_is_read():
    """Its fields have the keys that ``preferences`` reads, and begin with the same values."""
    root = ElementTree.parse(GUI / "preferences.ui").getroot()
    held = {}
    for widget in root.iter("widget"):
        values = {prop.get("name"): " ".join(prop.itertext()).strip() for prop in widget.findall("property")}
        if "prefEntry" in values:
            assert values["prefPath"] == preferences.GROUP
            held[values["prefEntry"]] = widget, values
    sets = {f"{preferences.RULE_SET}{name}" for name in rule_sets.available() if name != rule_sets.ALWAYS}
    plain = {entry.key for entry in entries(preferences.Preferences).values()} - {preferences.RULE_SET}
    assert set(held) == plain | sets | set(preferences.COLORS)
    ticked = {key.removeprefix(preferences.RULE_SET) for key in sets if held[key][1]["checked"] == "true"}
    assert ticked == set(rule_sets.DEFAULT_SETS) == set(entries(preferences.Preferences)["rule_sets"].default)
    assert held["Fractions"][1]["checked"] == "false" and len(held["Units"][0].findall("item")) == 2
    for key, value in preferences.COLORS.items():
        color = held[key][0].find("property[@name='color']/color")
        assert preferences.pack(tuple(int(color.findtext(part)) / 255 for part in ("red", "green", "blue"))) == preferences.pack(value)
