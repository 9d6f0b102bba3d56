"""Quantities and limit formulas that a rule may name: what each measures, in which kind of unit, with which settings.

A quantity is a named measuring function: it sees a snapshot through a context that refuses to hand out what the document keeps
unsound, and answers with one `Measurement` a subject, in inside units (mm, kg, N, s, rad). One that takes long is a generator: it yields
how far it is between slices of its work, and returns its answer. The functions stand in ``checks.quantities``, which fills the registry
when ``checks`` is imported; rules only name them.
"""
from __future__ import annotations

from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from .. import units
from ..progress import Progress, drained

PLAIN = ("ratio", "count")
"""Kinds of value without a unit."""


class NotEvaluated(Exception):
    """Raised by a measuring function that cannot measure. The message is the reason, one sentence."""


@dataclass(frozen=True)
class Measurement:
    """One measured value.

    value: in the quantity's inside unit; None = there is nothing to measure and that itself breaks the rule (no loop at
    all). subjects: part keys. discriminator: tells several values of the same subjects apart (a pose). how: one clause
    on how it was measured. points: points (x, y, z) in mm, car frame, that a picture of the finding shows. accuracy: of
    the measurement, in the value's unit. parts: named components, for rules with alternatives (words or inside
    values). given: what limit formulas read.
    """
    value: float | None
    subjects: tuple[str, ...]
    discriminator: str = ""
    how: str = ""
    points: tuple[tuple[float, ...], ...] = ()
    accuracy: float = 0.0
    parts: Mapping[str, Any] = field(default_factory=dict)
    given: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Unmeasured:
    """One subject that could not be measured, beside others that could."""
    subjects: tuple[str, ...]
    reason: str
    discriminator: str = ""


@dataclass(frozen=True, eq=False)
class Reading:
    """What a quantity reads at many placements at once, of one subject: as ``Measurement``, its value an array over placements (or a
    number, where all have the same), nan where it cannot be measured. given: numbers or arrays."""
    value: Any
    subjects: tuple[str, ...]
    discriminator: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Setting:
    """One setting of a quantity or formula: kind (`choice`, `choices`, `ratio`, `count` or a kind of unit), default,
    choices and meaning. A default of None makes it required."""
    kind: str
    default: Any
    doc: str
    choices: tuple[str, ...] = ()


Found = tuple[Measurement | Unmeasured, ...]
Slices = Generator[Progress, None, Found]
"""A measurement that goes slice by slice; what it returns."""
Measuring = Callable[[Any, Any], Found | Slices]
"""A measuring function of (snapshot, context): one result a subject."""
Reads = Callable[[Any], tuple[Reading, ...]]
"""What a quantity reads at one placement or at many, from the car, scene, settings and poses that it is asked at; nothing about how."""
Limiting = Callable[[Mapping[str, float], Mapping[str, Any]], float]
"""A limit formula of (given, settings)."""
Named = TypeVar("Named", bound=Callable[..., Any])


@dataclass(frozen=True)
class Part:
    """What is known of a part before it is measured: kind of its object, key, and what a rule sets for the quantity."""
    kind: str
    key: str
    settings: Mapping[str, Any]


Subjects = Callable[[Part], bool]
"""Which parts of a car a quantity measures."""


def parts(*kinds: str) -> Subjects:
    """Parts of some kinds, whatever a rule sets."""
    return lambda part: part.kind in kinds


def no_part(part: Part) -> bool:
    """None: the quantity follows from numbers."""
    return False


def every_part(part: Part) -> bool:
    """Whatever is in the car."""
    return True


@dataclass(frozen=True)
class Doubt:
    """A part that a quantity measures and that must not be measured. alone: it spoils what is said of it and nothing else. silent: where
    nothing is said of it, it is not told either."""
    key: str
    reason: str
    alone: bool
    silent: bool = False


@dataclass(frozen=True)
class Tries:
    """Which parameters of a car are tried to clear a finding, and on what.

    paths: as the car file names them, the cheapest to change first; ``*`` stands for each loop that the finding is about. A mark before a
    path: ``+`` or ``-``, only more or only less of it is tried; ``~``, no farther than somebody would go to free one part of another.
    parts: keys of the parts that each try makes again and measures; None: all. as_they_are: no shape is made again, the rule is measured
    on the car of the try with the shapes that there are. by_rings: what is measured follows from the rings of the loops, so that the
    rings as they would be tell what to try first.
    """
    paths: tuple[str, ...]
    parts: frozenset[str] | None
    as_they_are: bool = False
    by_rings: bool = False


Clearing = Callable[[Any, Mapping[str, Any], Any], Tries]
"""What is tried to clear a finding, from (finding, settings of its rule, snapshot)."""


@dataclass(frozen=True)
class Quantity:
    """A registered measuring function. kind: of its unit. effort: 0 where it follows from numbers alone, so that it is known
    at once; else what measuring it on the shapes of a car takes, in tenths of a second as measured once: progress is told by
    it. components: names of what `Measurement.parts` holds, each with its kind (`word` or a kind of unit); a quantity with
    components is compared by alternatives. gives: names that its `Measurement.given` holds where they are known; a limit formula
    that needs others is refused. no_remedy: why no dimension of the car is tried to clear a finding of it, as it is then said (empty:
    nothing is said); None where ``clears`` names some: paths (``Tries``), tried on the shapes of the finding's parts where it is measured
    on shapes, or what tells them. looks_at: parts of which each counts for every value (a sum, a
    least, the nearest): one that must not be measured leaves nothing to be said. each: parts that are measured one by one: such a one is
    not evaluated, and the others stand. beside: parts with which one of those may be measured; the function asks for them by
    ``Context.sound``, which refuses an unsound one, and says of which value. No other part is handed to the function, so that it
    cannot pass on one that it has overlooked. any_shape: it measures whatever shape a part has, so that one that was edited by hand is
    measured as it is; every other quantity reads what a part was built as, and says nothing of an edited one. needs: paths of
    ``sections.FINISHED`` without which nothing is measured; what makes the parts of ``looks_at`` is needed without being named. reads: what
    it reads at many placements at once, of one on which a placement bears: where it follows from numbers, the function itself reads one
    placement by it; where it measures shapes, it is what the numbers give of their envelopes."""
    name: str
    kind: str
    doc: str
    function: Measuring
    settings: Mapping[str, Setting]
    components: Mapping[str, str]
    looks_at: Subjects
    each: Subjects
    beside: Subjects
    gives: tuple[str, ...] = ()
    effort: int = 0
    no_remedy: str | None = None
    clears: tuple[str, ...] | Clearing = ()
    any_shape: bool = False
    needs: tuple[str, ...] = ()
    reads: Reads | None = None

    def tries(self, finding: Any, settings: Mapping[str, Any], snapshot: Any) -> Tries:
        """What is tried to clear a finding of it."""
        if callable(self.clears):
            tries = self.clears(finding, settings, snapshot)
            return tries if self.effort else replace(tries, as_they_are=True)
        return Tries(self.clears, frozenset(finding.subjects), as_they_are=not self.effort)

    def steps(self, snapshot: Any, context: Any) -> Slices:
        """Measure slice by slice; the measurements. NotEvaluated, or ValueError of mechanics that refuse a number."""
        if why := context.lacks(self, self.looks_at, self.needs):
            raise NotEvaluated(why)
        if self.effort:
            context.require_host()
        found = self.function(context.shown(self), context)
        results = vouched((yield from found) if isinstance(found, Generator) else found, context.doubts(self))
        if not results and (why := context.lacks(self, self.each)):
            raise NotEvaluated(why)     # of parts that are not there yet; a finished car would have them
        return results

    def measure(self, snapshot: Any, context: Any) -> Found:
        """Measure at one go; as ``steps``."""
        return drained(self.steps(snapshot, context))


def vouched(found: Found, doubts: Sequence[Doubt]) -> Found:
    """What a quantity found, without any value that hangs on a part that must not be measured: each such value is not evaluated, and so is
    each such part of which nothing is said."""
    results: list[Measurement | Unmeasured] = []
    for item in found:
        why = next((doubt.reason for doubt in doubts if not doubt.alone or doubt.key in item.subjects), "")
        results.append(Unmeasured(item.subjects, why, item.discriminator) if why and isinstance(item, Measurement) else item)
    told = {key for item in results if isinstance(item, Unmeasured) for key in item.subjects}
    results += [Unmeasured((doubt.key,), doubt.reason) for doubt in doubts
                if doubt.alone and not doubt.silent and doubt.key not in told]
    return tuple(results) or tuple(Unmeasured((doubt.key,), doubt.reason) for doubt in doubts[:1] if not doubt.silent)


@dataclass(frozen=True)
class Formula:
    """A registered limit that depends on what was measured with the value. needs: names read from `Measurement.given`."""
    name: str
    kind: str
    doc: str
    function: Limiting
    settings: Mapping[str, Setting]
    needs: tuple[str, ...]


NO_DIMENSION = "no dimension of the car clears it"

QUANTITIES: dict[str, Quantity] = {}
FORMULAS: dict[str, Formula] = {}


def quantity(name: str, kind: str, *, looks_at: Subjects = no_part, each: Subjects = no_part, beside: Subjects = no_part,
             effort: int = 0, components: Mapping[str, str] | None = None, gives: tuple[str, ...] = (),
             no_remedy: str | None = None, clears: tuple[str, ...] | Clearing = (), any_shape: bool = False,
             needs: tuple[str, ...] = (), reads: Reads | None = None, **settings: Setting) -> Callable[[Named], Named]:
    """Register a measuring function of (snapshot, context); its docstring's first line says what it measures. One that measures on
    shapes names its effort and the parts that it measures (``Quantity.looks_at``, ``each``)."""
    if kind not in units.UNITS and kind not in PLAIN:
        raise ValueError(f"quantity {name}: {kind!r} is no kind of unit")
    if effort and looks_at is no_part and each is no_part:
        raise ValueError(f"quantity {name} measures shapes; say of which parts (looks_at, each)")

    if (no_remedy is None) == (clears == ()):
        raise ValueError(f"quantity {name}: name what may clear a finding of it (clears), or why no dimension does (no_remedy)")

    def register(function: Named) -> Named:
        if name in QUANTITIES:
            raise ValueError(f"quantity {name} is registered twice")
        doc = " ".join((function.__doc__ or "").split())
        QUANTITIES[name] = Quantity(name, kind, doc, function, settings, dict(components or {}), looks_at, each, beside, gives, effort,
                                    no_remedy, clears, any_shape, needs, reads)
        return function
    return register


def formula(name: str, kind: str, *needs: str, **settings: Setting) -> Callable[[Named], Named]:
    """Register a limit formula of (given, settings)."""
    def register(function: Named) -> Named:
        if name in FORMULAS:
            raise ValueError(f"formula {name} is registered twice")
        FORMULAS[name] = Formula(name, kind, " ".join((function.__doc__ or "").split()), function, settings, needs)
        return function
    return register
