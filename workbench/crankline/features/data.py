"""Objects without a shape: the car itself, engine and transmission data, masses, protective items, the rail tabs' table."""
from __future__ import annotations

import json
import math
import os
from typing import Any

from .. import model
from ..catalog import solid_files
from ..compat import add_property
from ..record import entries
from . import props
from .base import Feature


class CarData(Feature):
    """Name, class, rules and report units; no part links to it, so an edit here rebuilds nothing."""
    kind = "car"
    schema = 5
    record = model.CarRecord
    RULES = tuple(row for row in props.table(model.Rules, "Rules"))
    TITLE_BLOCK = props.table(model.TitleBlock, "Title block")

    @classmethod
    def rows(cls):
        return props.table(model.CarRecord) + cls.RULES + cls.TITLE_BLOCK

    def ensure(self, obj) -> None:
        super().ensure(obj)
        add_property(obj, "App::PropertyString", "Waivers", "Rules", "Waived findings (JSON)")
        add_property(obj, "App::PropertyStringList", "Given", "Internal", "Sections that the car file gives, empty or not")
        add_property(obj, "App::PropertyStringList", "MadeWith", "Internal", "Keys of the objects that the car was made with")
        for name in ("Waivers", "Given", "MadeWith"):
            obj.setPropertyStatus(name, ["Hidden", "Output"])
        # No shape reads any of this: an edit is a note, not a change of geometry.
        for row in self.rows():
            obj.setPropertyStatus(row.name, "Output")

    def read(self, obj, absent: bool = False) -> model.CarRecord:
        found: model.CarRecord = self.held(obj, props.table(model.CarRecord), model.CarRecord, absent)
        return found

    def read_rules(self, obj, absent: bool = False) -> model.Rules | None:
        """The rules with their waivers; None where the car file gave none."""
        from dataclasses import replace
        rules = self.held(obj, self.RULES, model.Rules, absent)
        waivers = waivers_from(obj.Waivers)
        if waivers is None:
            return rules
        return replace(rules or model.Rules(), waivers=waivers)

    def read_title_block(self, obj, absent: bool = False) -> model.TitleBlock | None:
        """The title block; None where the car file gave none."""
        found: model.TitleBlock | None = self.held(obj, self.TITLE_BLOCK, model.TitleBlock, absent)
        return found


class _FromCatalog(Feature):
    """Figures of a catalog row. Which row is picked in the form, so that no name is typed beside the figures of another one."""

    def ensure(self, obj) -> None:
        super().ensure(obj)
        for name in ("Use", "ShopSource", "ShopDate", "Overrides", "RowDigest", "SolidDigest"):
            obj.setEditorMode(name, 1)

    def onDocumentRestored(self, obj) -> None:
        if obj.Document.FileName:
            solid_files.look_in(os.path.dirname(obj.Document.FileName))   # a file of the real thing may lie beside the document
        super().onDocumentRestored(obj)


class EngineData(_FromCatalog):
    """An engine's dimensions, mass and output; the layout reads them."""
    kind = "engine_data"
    schema = 3
    record = model.Engine
    has_layout = False


class TransmissionData(_FromCatalog):
    """A transmission's dimensions, ratios and mass; the layout reads them."""
    kind = "transmission_data"
    schema = 4
    record = model.Transmission
    has_layout = False


class RailTabsData(Feature):
    """Sizes that the mid plate's ears and all four rail tabs share."""
    kind = "rail_tabs"
    record = model.RailTabs


class MassData(Feature):
    """One component's mass and center of gravity."""
    kind = "mass"
    schema = 2
    record = model.Mass


class ProtectiveItemData(Feature):
    """One protective item with its specification and dates."""
    kind = "protective_item"
    record = model.ProtectiveItem


def waivers_text(waivers: tuple | None) -> str:
    """Waivers as JSON for a document; empty where the car file has none."""
    if waivers is None:
        return ""
    return json.dumps([{name: getattr(waiver, name) for name in entries(model.Waiver)} for waiver in waivers])


def waivers_from(text: str) -> tuple | None:
    """Waivers from a document's JSON; ValueError with a sentence where it was damaged."""
    if not text:
        return None
    try:
        rows = json.loads(text)
        return tuple(_waiver(row) for row in rows)
    except (ValueError, TypeError, OverflowError, RecursionError) as error:
        raise ValueError(f"the car object's Waivers hold no list of waivers ({error}); restore them from the car file") from None


def _waiver(row: Any) -> model.Waiver:
    """A waiver from its JSON, each field of its own kind; ValueError where it is none."""
    if not isinstance(row, dict) or set(row) - set(entries(model.Waiver)):
        raise ValueError(f"a waiver is {row!r}"[:80])
    given: dict[str, Any] = {name: row.get(name) for name in entries(model.Waiver)}
    for name, entry in entries(model.Waiver).items():
        value = given[name]
        if value is None and not entry.required:
            continue
        if entry.kind == "texts":
            good = isinstance(value, list) and all(isinstance(word, str) for word in value)
        elif entry.kind == "ratio":
            good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        else:
            good = isinstance(value, str)
        if not good:
            raise ValueError(f"{name} is {value!r}"[:80])
    measured, subjects = given["measured"], given["subjects"]
    return model.Waiver(**{**given, "measured": None if measured is None else float(measured),
                           "subjects": None if subjects is None else tuple(subjects)})
