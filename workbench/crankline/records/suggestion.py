"""Where the engine of a car would go by the records: the nearest ones with reasons, an estimate with its interval, or a plain refusal.

**Order of the nearest.** By distance (``features``), made longer by a quarter for a car that spun or stood up, and by a quarter of the
excess of its 60 ft time over what the other records let expect of such a car, in spreads of that excess, at most two (shorter where it
was quicker); so a car like this one that ran well comes first, and the car itself before all.

**Estimate.** ``local_fit`` over all records; one that spun or stood up counts half. **Refused** where the car is outside the records: a
number beyond all of theirs, a word that none has, a combination that is farther from its nearest records than any of them is from its own.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from . import features, local_fit
from .collection import Collection, Entry
from .features import Feature, Table
from .placement_record import PlacementRecord, entry_of, name_of, value_text

FIELDS = ("axle_to_block", "crank_height")
"""What is estimated."""
SHARE = 0.8
LEAST = 20
"""Fewer records give no estimate: an 80 % interval of fewer rests on the one or two worst of them."""
BEYOND = 0.25
"""Spreads by which a number may be beyond all of the records."""
COMPANY, ALONE = 5, 1.25
"""A car may be so many times as far from so many records, on the average, as the loneliest record is from its own."""

MOST = 1000
"""Of more records the nearest are taken: every one is held against every other."""

RAN_BADLY = ("wheelstand", "spin")
TRUST, LONGER = 0.5, 0.25
ALIKE, UNLIKE = 0.5, 1.0
"""Spreads within which a number is told as near, and beyond which as not near."""


@dataclass(frozen=True)
class Near:
    """A record near a car: distance in spreads, ``order`` by which it is ranked, features that are near, those that are not, and those
    between (fields), and by how many seconds its 60 ft time is over what the others let expect; None where that is not known."""
    entry: Entry
    distance: float
    order: float
    alike: tuple[str, ...]
    unlike: tuple[str, ...]
    between: tuple[str, ...]
    sixty_foot_over: float | None

    @property
    def invented(self) -> bool:
        """Whether the word INVENTED belongs beside its numbers."""
        return self.entry.record.invented


@dataclass(frozen=True)
class Outside:
    """A feature by which a car is outside the records; value and the records' nearest one (mm, kg, ...; words), spreads between them."""
    field: str
    value: Any
    nearest: Any
    spreads: float

    def words(self, system: str = "in") -> str:
        """One clause, by how much."""
        name, value = name_of(self.field), value_text(self.field, self.value, system)
        if isinstance(self.value, str):
            return f"{name} {value}: no record has it"
        way = "over" if self.value > self.nearest else "under"
        return (f"{name} {value} is {value_text(self.field, abs(self.value - self.nearest), system)} {way} "
                f"{'the most' if way == 'over' else 'the least'} of the records, {value_text(self.field, self.nearest, system)}")


@dataclass(frozen=True)
class Suggestion:
    """What the records say of a car. ``estimates``: field to interval in mm, empty where it is refused; ``outside`` and ``refusal`` say
    why. ``used`` and ``left_out``: fields that were compared, and those that car or records lack."""
    car: PlacementRecord
    count: int
    invented: int
    used: tuple[str, ...]
    left_out: tuple[str, ...]
    near: tuple[Near, ...]
    estimates: dict[str, local_fit.Interval]
    outside: tuple[Outside, ...] = ()
    refusal: str = ""

    @property
    def refused(self) -> bool:
        """Whether there is no estimate."""
        return bool(self.outside or self.refusal)


def nearest(car: PlacementRecord, collection: Collection, n: int = 5) -> tuple[Near, ...]:
    """The n records nearest to a car, best first; fewer where there are fewer."""
    found = _table(car, collection)
    return () if found is None else _nearest(found, n)


def suggest(car: PlacementRecord, collection: Collection, n: int = 5) -> Suggestion:
    """What the records say of a car: never raises, it says why where there is no estimate."""
    count, invented = len(collection.entries), collection.invented
    compared = _table(car, collection)
    if compared is None:
        return Suggestion(car, count, invented, (), (), (), {}, refusal="there is no record with a number that the car has too")
    used = tuple(feature.field for feature in (*compared.numbers, *compared.words))
    outside = _outside(compared)
    refusal = f"too few records for an estimate: {count}, and {LEAST} are needed" if count < LEAST else "" if outside else _alone(compared)
    estimates = {} if outside or refusal else estimate(compared)
    return Suggestion(car, count, invented, used, compared.left_out, _nearest(compared, n) if n else (), estimates, outside, refusal)


def estimate(compared: Table, share: float = SHARE) -> dict[str, local_fit.Interval]:
    """Axle-to-block and crank height, mm, wherever the car is."""
    design, point = compared.design()
    known = np.column_stack([compared.field_values(field) for field in FIELDS])
    return dict(zip(FIELDS, local_fit.intervals(design, compared.between(), known, _trust(compared), point, compared.distances(), share)))


def _table(car: PlacementRecord, collection: Collection) -> Table | None:
    try:
        found = features.table(car, collection.entries)
        if len(collection.entries) <= MOST:
            return found
        return features.table(car, [collection.entries[i] for i in np.argsort(found.distances(), kind="stable")[:MOST]])
    except ValueError:
        return None


def _trust(compared: Table) -> np.ndarray:
    return np.array([TRUST if entry.record.left in RAN_BADLY else 1.0 for entry in compared.entries])


def _nearest(compared: Table, n: int) -> tuple[Near, ...]:
    distances, squares, over = compared.distances(), compared.squares(), _sixty_foot_over(compared)
    known = over[np.isfinite(over)]
    spread = max(features.median_spread(known)[1], 1e-3) if len(known) else 1.0
    slower = np.clip(np.nan_to_num(over / spread), -2.0, 2.0)
    badly = np.array([entry.record.left in RAN_BADLY for entry in compared.entries])
    order = distances * (1.0 + LONGER * badly + LONGER * slower)
    found = []
    for i in np.lexsort((distances, order))[:n]:
        found.append(Near(compared.entries[i], float(distances[i]), float(order[i]), *_reasons(compared, squares[i]),
                          float(over[i]) if np.isfinite(over[i]) else None))
    return tuple(found)


def _sixty_foot_over(compared: Table) -> np.ndarray:
    """60 ft time of each record over what the others let expect of it, s; nan where it has none or too few have."""
    times = compared.field_values("sixty_foot")
    if np.isfinite(times).sum() < LEAST:
        return np.full(len(times), np.nan)
    # By all that the records say of each other, more than what the car has.
    whole = features.among(compared.entries)
    return local_fit.leave_one_out(whole.design()[0], whole.between(), times, np.ones(len(times)))[0]


def _reasons(compared: Table, squares: np.ndarray) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Fields of one record that are near the car's, those that are not, and those between; what it does not say is not near."""
    listed: tuple[Feature, ...] = (*compared.numbers, *compared.words)
    apart = {feature.field: float(np.sqrt(square / feature.weight)) for feature, square in zip(listed, squares)}
    return (tuple(field for field, spreads in apart.items() if spreads <= ALIKE),
            tuple(field for field, spreads in apart.items() if spreads > UNLIKE),
            tuple(field for field, spreads in apart.items() if ALIKE < spreads <= UNLIKE))


def _outside(compared: Table) -> tuple[Outside, ...]:
    """Features by which the car alone is outside the records."""
    found = []
    for column, own, _spread, feature in zip(compared.values.T, compared.own, compared.spreads, compared.numbers):
        known = np.where(np.isfinite(column), column, np.nan)
        low, high = np.nanargmin(known), np.nanargmax(known)
        beyond = max(own - known[high], known[low] - own)
        if beyond > BEYOND:
            at = high if own > known[high] else low
            found.append(Outside(feature.field, getattr(compared.car, feature.field), getattr(compared.entries[at].record, feature.field),
                                 float(beyond)))
    for feature, said in zip(compared.words, compared.said):
        if feature.field not in features.FREE and features.word(compared.car, feature) not in said:
            found.append(Outside(feature.field, getattr(compared.car, feature.field), None, float(np.sqrt(features.UNLIKE))))
    return tuple(found)


def _alone(compared: Table) -> str:
    """Why no estimate is made of a car that is inside by each feature, but like no records by all of them together; empty where it is."""
    between = compared.between()
    np.fill_diagonal(between, np.inf)
    company = min(COMPANY, len(compared.entries) - 1)
    own = np.sort(compared.distances())[:company].mean()
    loneliest = np.sort(between, axis=1)[:, :company].mean(axis=1).max()
    if own <= ALONE * loneliest:
        return ""
    at = int(np.argmin(compared.distances()))
    _alike, unlike, _between = _reasons(compared, compared.squares()[at])
    named = ", ".join(map(name_of, unlike)) or "several features a little each"
    return (f"no record is like this car in all features together: its {company} nearest are {own:.2f} spreads away, where no record is "
            f"more than {loneliest:.2f} from its own; of the nearest, {compared.entries[at].name}, these differ: {named}")


def to_json(found: Suggestion) -> dict[str, Any]:
    """A suggestion as plain data; lengths in mm, times in s, distances in spreads."""
    return {
        "car": found.car.car, "records": found.count, "invented_records": found.invented, "refused": found.refused,
        "why": [one.words("mm") for one in found.outside] + ([found.refusal] if found.refusal else []),
        "outside": [{"field": entry_of(one.field).key, "spreads": one.spreads} for one in found.outside],
        "used": [entry_of(field).key for field in found.used], "left_out": [entry_of(field).key for field in found.left_out],
        "estimates": {f"{field}_mm": {"value": one.value, "low": one.low, "high": one.high, "share": one.share,
                                      "effective_records": one.effective, "invented": bool(found.invented)}
                      for field, one in found.estimates.items()},
        "nearest": [{"name": one.entry.name, "car": one.entry.record.car, "invented": one.invented, "distance": one.distance,
                     "order": one.order, "near": [entry_of(field).key for field in one.alike],
                     "between": [entry_of(field).key for field in one.between],
                     "not_near": [entry_of(field).key for field in one.unlike], "axle_to_block_mm": one.entry.record.axle_to_block,
                     "crank_height_mm": one.entry.record.crank_height, "sixty_foot_s": one.entry.record.sixty_foot,
                     "sixty_foot_over_s": one.sixty_foot_over, "left": one.entry.record.left} for one in found.near]}
