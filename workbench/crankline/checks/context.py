"""A snapshot as measuring functions may use it: nothing that the document keeps unsound is handed out."""
from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import Any

from .. import model, record, sections
from ..features.plan import waiting
from ..features.registry import DATA, PARTS, declared
from ..measure.measurer import Measurer
from ..mechanics.scene import Scene
from ..rules import conditions, rule_sets
from ..rules.quantity import Doubt, NotEvaluated, Part, Quantity, Subjects, every_part, no_part
from ..rules.rule_sets import Selection
from ..snapshot import EDITED, UPSTREAM, PartView, Snapshot, Unsound
from .poses import PoseFigure
from .poses import poses as poses_of

HARMLESS = (*EDITED, "axle", "catalogue", "undrawn", "extra")
"""Kinds of unsoundness that do not spoil a reading and are only reported; of parts edited by hand see ``Quantity.any_shape``."""


Settings = tuple[tuple[str, Any], ...]
"""What a rule sets for its quantity."""

NO_DRIVER = "the driver's envelope is not known; give car.driver_envelope"


class Context:
    """A snapshot as measuring functions may use it, with what several of them share computed once.

    Every accessor raises NotEvaluated where the document is unsound, so that no rule passes on a doubtful reading.
    """

    def __init__(self, snapshot: Snapshot, measurer: Measurer | None, event_date: datetime.date | None = None,
                 selection: Selection | None = None) -> None:
        self._snapshot, self._selection = snapshot, selection
        self._event_date = event_date or datetime.date.today()
        self.asked_the_day = False
        """Whether it was asked for the day of the event; the engine takes that back before each quantity."""
        self._measurer = measurer
        if measurer is not None:
            measurer.sees(snapshot)
        self.car: model.Car = record.filled(snapshot.car)
        self.settings: Mapping[str, Any] = {}
        self.bodies: dict[str, Any] = {}
        """Part key to what the clearances hold of a part (``measure.body.Body``), one for all quantities."""
        self.handed_out: set[str] = set()
        """Keys of the parts that were handed out to be measured; the engine empties it before each quantity."""
        self._unsound: dict[str, Unsound] = {}
        for item in snapshot.unsound:
            if item.kind not in HARMLESS:
                self._unsound.setdefault(item.key, item)
        self._edited = {item.key: item for item in snapshot.unsound if item.kind in EDITED}
        self._looking: tuple[Subjects, ...] = (every_part,)
        self._asker, self._as_built = "", False
        self._parts = tuple((part.kind, part.key) for part in snapshot.parts)
        self._looked_at = frozenset(self._parts)
        self._known_looks = _looks_of(self._parts)
        self._shown: dict[frozenset[tuple[str, str]], Snapshot] = {}
        self._blocked = next((item for item in snapshot.unsound if item.blocking or
                              (item.key in UPSTREAM and item.kind not in HARMLESS)), None)

    @property
    def event_date(self) -> datetime.date:
        """Day at which certificates must be good."""
        self.asked_the_day = True
        return self._event_date

    def shown(self, quantity: Quantity) -> Snapshot:
        """The snapshot with no other parts than those that a quantity says it measures; until the next one nothing else is handed out."""
        self._as_built = not quantity.any_shape
        self._asker = quantity.name
        self._looking = quantity.looks_at, quantity.each, quantity.beside
        self._looked_at = self._known_looks(self._looking, tuple(self.settings.items()))
        if self._looked_at not in self._shown:
            parts = tuple(part for part in self._snapshot.parts if (part.kind, part.key) in self._looked_at)
            self._shown[self._looked_at] = replace(self._snapshot, parts=parts)
        return self._shown[self._looked_at]

    def _looks(self, part: PartView) -> bool:
        return (part.kind, part.key) in self._looked_at or any(
            asked(Part(part.kind, part.key, self.settings)) for asked in self._looking)

    def doubts(self, quantity: Quantity) -> tuple[Doubt, ...]:
        """The parts that must not be measured, and what they mean to a quantity."""
        found = []
        for key in self._unsound:
            seen = [Part(kind, key, self.settings) for kind in self._kinds(key)]
            spoils = any(map(quantity.looks_at, seen))
            if spoils or any(map(quantity.each, seen)):
                found.append(Doubt(key, self.why_unsound(key) or "", not spoils))
        return (*found, *self._edits(quantity))

    def _edits(self, quantity: Quantity) -> Iterator[Doubt]:
        """The parts edited by hand, where a quantity reads what they were built as. What follows from numbers is spoiled as far as it is
        about them."""
        for key, item in self._edited.items() if not quantity.any_shape else ():
            part = self._snapshot.part(key)
            seen = Part(part.kind if part else "", key, self.settings)
            spoils = quantity.looks_at(seen)
            yield Doubt(key, f"{key} is {_state(item.kind)}: {item.message}", not spoils, not (spoils or quantity.each(seen)))

    def lacks(self, quantity: Quantity, looks_at: Subjects, needs: tuple[str, ...] = ()) -> str:
        """What this car does not have yet and a quantity cannot do without, in words: a section that it needs, or one that makes parts that
        it looks at. Empty where there is nothing of the kind."""
        return self._not_yet.said(looks_at, needs, self.settings)

    @cached_property
    def _not_yet(self) -> NotYet:
        return NotYet(self.car)

    def _kinds(self, key: str) -> tuple[str, ...]:
        """Kinds that the part of a key may be: one that makes no part is known by its key alone."""
        part, (stem, _slash, _name) = self._snapshot.part(key), key.partition("/")
        if part is not None:
            return (part.kind,)
        if stem in DATA:
            return ()
        if stem == "loop":
            return ("split_loop", "fixed_loop")
        roles = {role: item.kind for role, item in declared().items()}
        return (roles[stem],) if stem in roles else tuple(PARTS)

    @cached_property
    def selection(self) -> Selection:
        """The rule sets that apply: those that were asked for, else those that the car names. RuleError or SourceError."""
        return self._selection or rule_sets.select(self.car.rules.sets or ())

    @cached_property
    def facts(self) -> dict[str, str | float | None]:
        """What conditions of rules are asked about."""
        return conditions.facts(self.car, self._snapshot.scene)

    @property
    def scene(self) -> Scene:
        """The placed powertrain."""
        return self._placed()

    def _placed(self) -> Scene:
        if self._blocked is not None:
            raise NotEvaluated(f"{self._blocked.key} is {_state(self._blocked.kind)}: {self._blocked.message}")
        if self._snapshot.scene is None:
            raise NotEvaluated("the placement has no solution, so nothing can be measured")
        return self._snapshot.scene

    def require_scene(self) -> None:
        """NotEvaluated where the placement is doubtful."""
        self._placed()

    @property
    def measure(self) -> Measurer:
        """What measures shapes."""
        return self._host()

    def require_host(self) -> None:
        """NotEvaluated where nothing measures shapes."""
        self._host()

    def _host(self) -> Measurer:
        if self._measurer is None:
            raise NotEvaluated("shapes can only be measured in FreeCAD; run the check there")
        return self._measurer

    def why_unsound(self, key: str) -> str | None:
        """Why a part must not be measured, None where it may."""
        item = self._unsound.get(key) or (self._edited.get(key) if self._as_built else None) or self._blocked
        return None if item is None else f"{item.key} is {_state(item.kind)}: {item.message}"

    def sound(self, part: PartView) -> PartView:
        """The part itself, if it may be measured and has a shape. TypeError where the quantity does not say that it looks at such parts:
        what is wrong with them would then pass unseen."""
        if not self._looks(part):
            raise TypeError(f"the quantity {self._asker} does not declare that it looks at {part.key} ({part.kind})")
        reason = self.why_unsound(part.key)
        if reason is None and part.shape is None:
            reason = f"{part.key} has no shape; recompute the document"
        if reason is not None:
            raise NotEvaluated(reason)
        self.handed_out.add(part.key)
        return part

    def part(self, key: str) -> PartView | None:
        """A part by key, fit to be measured; None where the car has none. An unsound key that made no part counts."""
        found = self._snapshot.part(key)
        if found is None:
            if key in self._unsound:
                raise NotEvaluated(self.why_unsound(key))
            return None
        return self.sound(found)

    def existing(self, key: str) -> PartView:
        """As ``part``, of a key that the car is known to have."""
        found = self.part(key)
        assert found is not None, key
        return found

    def unsound_under(self, prefix: str) -> tuple[str, ...]:
        """Unsound keys that begin so, even where they made no part."""
        return tuple(sorted(key for key in self._unsound if key.startswith(prefix)))

    @cached_property
    def poses(self) -> dict[str, PoseFigure]:
        """The driveline in every pose, by name."""
        return {pose.name: pose for pose in poses_of(self.car, self.scene)}


# For whichever car has these parts, check after check.
@lru_cache(maxsize=32)
def _looks_of(parts: tuple[tuple[str, str], ...]) -> Callable[[tuple[Subjects, ...], Settings], frozenset[tuple[str, str]]]:
    """What tells which of a car's parts, (kind, key), a quantity with some settings measures."""
    @lru_cache(maxsize=512)
    def looked_at(looking: tuple[Subjects, ...], settings: Settings) -> frozenset[tuple[str, str]]:
        own, wanted = dict(settings), [asked for asked in looking if asked is not no_part]
        return frozenset(part for part in parts if any(asked(Part(*part, own)) for asked in wanted))
    return looked_at


class NotYet:
    """What a car that is not finished lacks, as rules ask for it."""

    def __init__(self, car: model.Car) -> None:
        self._sections = sections.lacking(car)
        self._roles = waiting(car) if self._sections else {}

    def said(self, looks_at: Subjects, needs: tuple[str, ...], settings: Mapping[str, Any]) -> str:
        """The first thing that is not there and that a quantity cannot do without, in words: a section that it needs, or one that makes
        parts that it looks at. Empty where nothing is missing."""
        path = next((path for path in needs if path in self._sections), None)
        if path is None and looks_at is not no_part:
            roles = declared()
            path = next((path for role, path in self._roles.items() if looks_at(Part(roles[role].kind, role, settings))), None)
        return sections.not_yet(path) if path is not None else ""


def _state(kind: str) -> str:
    return {"invalid": "invalid", "touched": "not recomputed", "proxy": "not linked to Crankline", "stale": "stale",
            "link": "missing a link", "moved": "moved by hand", "edited": "edited by hand", "altered": "edited by hand",
            "solid": "without its file"}.get(kind, kind)
