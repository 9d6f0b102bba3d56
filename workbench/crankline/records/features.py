"""What makes two cars alike, as numbers: the features of records, their spreads, and distances between cars.

A distance is in spreads: the square root of the weighted mean, over the features that the car in question has, of squared differences, each
over the feature's spread among the records (1.4826 times the median of the distances from the median, as of a normal distribution). Of two
words that differ, and where a record does not say, the squared difference is 2: that of two records on the average.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..record import sparse
from .collection import Entry
from .placement_record import PlacementRecord


@dataclass(frozen=True)
class Feature:
    """A field that makes cars alike; ``log``: ratios count, not differences. No source for the weights: common practice."""
    field: str
    weight: float
    log: bool = False


NUMBERS = (Feature("wheelbase", 2.0), Feature("engine_mass", 1.0), Feature("mass", 1.0), Feature("power", 1.0, True),
           Feature("displacement", 0.5, True), Feature("tire_radius", 0.5))
WORDS = (Feature("class_", 1.0), Feature("body", 1.0), Feature("power_adder", 1.0), Feature("engine_material", 0.5),
         Feature("transmission", 0.5), Feature("tires", 0.5))
FREE = ("class_",)
"""Words that people choose as they like: one that no record has says only that the car is none of theirs."""

UNLIKE = 2.0
LEAST_SPREAD = 0.01
"""Of the median: a feature that hardly varies makes no car unlike."""


def number(record: PlacementRecord, feature: Feature) -> float:
    """A number on the scale that it counts on; nan where it is absent."""
    value = getattr(record, feature.field)
    return np.nan if value is None else float(np.log(value)) if feature.log else float(value)


def word(record: PlacementRecord, feature: Feature) -> str | None:
    """A word as it is compared: without capitals and spare blanks."""
    value = getattr(record, feature.field)
    return None if value is None else " ".join(str(value).casefold().split())


def median_spread(values: np.ndarray) -> tuple[float, float]:
    """Median, and 1.4826 times the median distance from it, of those that are known."""
    known = values[np.isfinite(values)]
    middle = float(np.median(known))
    return middle, 1.4826 * float(np.median(np.abs(known - middle)))


@dataclass(frozen=True)
class Table:
    """Records beside one car, by the features that the car and at least half of the records have.

    numbers: features; values (n, a) and own (a,) in spreads from the median, nan where a record does not say; words the same with
    columns of 0 and 1 for each word that occurs, and ``same`` (n, b): whether a record has the car's.
    """
    entries: tuple[Entry, ...]
    car: PlacementRecord
    numbers: tuple[Feature, ...]
    spreads: np.ndarray
    values: np.ndarray
    own: np.ndarray
    words: tuple[Feature, ...]
    said: tuple[tuple[str | None, ...], ...]

    @property
    def left_out(self) -> tuple[str, ...]:
        """Fields that are not compared, because the car or most of the records lack them."""
        used = {feature.field for feature in (*self.numbers, *self.words)}
        return tuple(feature.field for feature in (*NUMBERS, *WORDS) if feature.field not in used)

    def field_values(self, field: str) -> np.ndarray:
        """A number of each record as it is, (n,); nan where it is absent."""
        return np.array([np.nan if (value := getattr(entry.record, field)) is None else value for entry in self.entries], dtype=float)

    def squares(self) -> np.ndarray:
        """Weighted squared differences (n, a + b) of the records from the car, numbers first; ``distance`` adds them up."""
        found = self._number_squares(self.own[None, :])[0]
        same = np.array([[UNLIKE * (said[i] != word(self.car, feature)) for feature, said in zip(self.words, self.said)]
                         for i in range(len(self.entries))], dtype=float).reshape(len(self.entries), len(self.words))
        return np.hstack([found, same]) * self._weights()

    def distances(self) -> np.ndarray:
        """Distance (n,) of each record from the car."""
        found: np.ndarray = np.sqrt(self.squares().sum(axis=1) / self._weights().sum())
        return found

    def between(self) -> np.ndarray:
        """Distances (n, n) of the records from each other."""
        squares = (self._number_squares(self.values) * self._weights()[:len(self.numbers)]).sum(axis=2)
        for feature, said in zip(self.words, self.said):
            words = np.array([value or "" for value in said])
            squares = squares + feature.weight * UNLIKE * ((words[:, None] != words[None, :]) | (words == "")[:, None])
        np.fill_diagonal(squares, 0.0)
        found: np.ndarray = np.sqrt(squares / self._weights().sum())
        return found

    def design(self) -> tuple[np.ndarray, np.ndarray]:
        """Columns of the fit: of the records (n, p) and of the car (p,). A number that a record does not have is taken at the median."""
        columns, own = [np.nan_to_num(self.values)], [self.own]
        for feature, said in zip(self.words, self.said):
            levels = sorted({value for value in said if value is not None})
            columns.append(np.array([[float(value == level) for level in levels] for value in said]).reshape(len(said), len(levels)))
            own.append(np.array([float(word(self.car, feature) == level) for level in levels]))
        return np.hstack(columns), np.concatenate(own)

    def _weights(self) -> np.ndarray:
        return np.array([feature.weight for feature in (*self.numbers, *self.words)])

    def _number_squares(self, points: np.ndarray) -> np.ndarray:
        squares = (points[:, None, :] - self.values[None, :, :]) ** 2
        return np.where(np.isfinite(squares), squares, UNLIKE)


def table(car: PlacementRecord, entries: Sequence[Entry]) -> Table:
    """Records beside a car; ValueError where there is no record, or nothing that they and the car both have."""
    def shared(features: Sequence[Feature], value: Any) -> tuple[Feature, ...]:
        missing = (None,)
        return tuple(feature for feature in features if value(car, feature) not in missing and not _nan(value(car, feature))
                     and 2 * sum(value(e.record, feature) not in missing and not _nan(value(e.record, feature)) for e in entries)
                     >= len(entries) > 0)
    numbers, words = shared(NUMBERS, number), shared(WORDS, word)
    if not numbers:
        raise ValueError("the car and the records have no number in common; give wheelbase and masses")
    values = np.array([[number(entry.record, feature) for feature in numbers] for entry in entries])
    middles, spreads = np.array([median_spread(column) for column in values.T]).T
    spreads = np.maximum(spreads, [LEAST_SPREAD * (1.0 if feature.log else abs(middle)) for feature, middle in zip(numbers, middles)])
    own = np.array([number(car, feature) for feature in numbers])
    said = tuple(tuple(word(entry.record, feature) for entry in entries) for feature in words)
    return Table(tuple(entries), car, numbers, spreads, (values - middles) / spreads, (own - middles) / spreads, words, said)


def among(entries: Sequence[Entry]) -> Table:
    """Records beside each other, by every feature that at least half of them have; what is told of the car there means nothing."""
    fields = [feature.field for feature in (*NUMBERS, *WORDS)]
    known = {field: next((value for entry in entries if (value := getattr(entry.record, field)) is not None), None) for field in fields}
    return table(sparse(PlacementRecord, **known), entries)


def _nan(value: Any) -> bool:
    return isinstance(value, float) and not np.isfinite(value)
