"""What an instruction sheet is made of: sections of steps, each one action with a picture, what it needs and what is checked; and what the
steps are told of the car. Data only: how it is laid out is ``instructions``.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from .. import model
from ..features.part_kind import Hold, Supply
from ..features.registry import declaration
from ..measure import relations
from ..measure.part_marks import Marked
from ..mechanics import set_up
from ..mechanics.scene import Scene
from ..mechanics.set_up import TAPE, Reading
from ..record import filled
from ..snapshot import Snapshot
from .safety_messages import Message

CHASSIS_CONTAINER = "chassis"
FORWARD, REARWARD, ASIDE, UP, DOWN = (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
"""Ways in the car frame."""
RIGHT, LEFT, FRONT, TOP, PICTURE, PICTURE_REAR = "right", "left", "front", "top", "front-right", "rear-right"
"""Where a picture is seen from."""


@dataclass(frozen=True)
class Step:
    """One action. parts: keys of what it is about, which its picture brings out; shown: keys of what else is in the picture; view: where it
    is seen from; checks: what is measured before the work goes on; whole: the picture shows all of that, not only what is around
    ``parts``; moves: which way they go, in the car frame; folded: whether the transmission mount is shown as it is folded, too; apart:
    each mark is shown by itself, over a whole row; upper: only the upper halves of split loops are what the step is of; opened: these are
    off already. Steps share what is shown, as far as it can be: each such view of the car is drawn once."""
    title: str
    action: str
    parts: tuple[str, ...] = ()
    shown: tuple[str, ...] = ()
    view: str = PICTURE
    tools: tuple[str, ...] = ()
    checks: tuple[Reading, ...] = ()
    whole: bool = False
    moves: tuple[float, float, float] | None = None
    folded: bool = False
    apart: bool = False
    upper: bool = False
    opened: bool = False


@dataclass(frozen=True)
class Section:
    """Steps that belong together, and the safety messages that are read before them."""
    title: str
    steps: tuple[Step, ...]
    messages: tuple[Message, ...] = ()


@dataclass(frozen=True)
class Kit:
    """A car as its instructions see it. ``car`` has its defaults filled in."""
    snapshot: Snapshot
    marked: tuple[Marked, ...]
    car: model.Car = field(init=False)
    scene: Scene = field(init=False)
    readings: dict[str, Reading] = field(init=False)
    roles: dict[str, str] = field(init=False)
    """Key of every part that is there to what it is."""

    def __post_init__(self) -> None:
        put: Callable[[str, object], None] = lambda name, value: object.__setattr__(self, name, value)  # noqa: E731
        put("car", filled(self.snapshot.car))
        put("scene", self.snapshot.placed)
        # Whatever is shown of a car that was measured, it is set to where it was designed to be.
        put("readings", {one.name: one for one in set_up.readings(self.car, self.scene.designed or self.scene)})
        about = {part.key: declaration(part.kind, part.key) for part in self.snapshot.parts}
        put("roles", {key: one.role for key, one in about.items() if not one.reference or one.supply is Supply.KIT})

    def keys(self, *roles: str) -> tuple[str, ...]:
        """Keys of the parts of roles, in the order of the roles and of the keys."""
        return tuple(key for role in roles for key in sorted(self.roles) if self.roles[key] == role)

    def of_sections(self, *names: str) -> tuple[str, ...]:
        """Keys of the parts that are edited in these sections of the car, or below them: ``mounts``, ``plates.mid``."""
        sections = {part.key: declaration(part.kind, part.key).section for part in self.snapshot.parts if part.key in self.roles}
        return tuple(key for name in names for key in sorted(sections) if f"{sections[key]}.".startswith(f"{name}."))

    def has(self, *roles: str) -> bool:
        """Whether there is a part of each role."""
        return all(role in self.roles.values() for role in roles)

    @property
    def chassis(self) -> tuple[str, ...]:
        """Keys of the customer's chassis."""
        return tuple(part.key for part in self.snapshot.parts if part.key in self.roles
                     and declaration(part.kind, part.key).container == CHASSIS_CONTAINER)

    @property
    def made(self) -> tuple[str, ...]:
        """Keys of what is made for the kit."""
        return tuple(part.key for part in self.snapshot.parts if part.key in self.roles
                     and declaration(part.kind, part.key).supply is Supply.KIT)

    def holding(self, key: str, hold: Hold) -> tuple[str, ...]:
        """Keys of the parts that one is held on in a way, as parts declare it."""
        own = self.roles[key]
        others = {role for pair, join in relations.joins().items() if own in pair and join.how == hold.value for role in pair} - {own}
        return tuple(other for other in sorted(self.roles) if self.roles[other] in others)

    def joined(self, hold: Hold) -> tuple[str, ...]:
        """Keys of what is made for the kit and held so on a part that is there; enclosure mounts at the tail are on no loop."""
        return tuple(key for key in self.made if key not in self.at_tail and self.holding(key, hold))

    @property
    def at_tail(self) -> tuple[str, ...]:
        """Keys of the enclosure mounts that the transmission's tail carries."""
        tube = self.car.containment.enclosure
        at_tail = tube is not None and tube.front_support == "transmission_tail"
        return tuple(key for key in self.keys("enclosure_mount") if at_tail and key.startswith("enclosure_mount/front"))

    def named(self, keys: Iterable[str]) -> str:
        """Marks and names of parts that the kit brings, and names of others: ``RT-1 rail tab (2), RT-2 rail tab (2)``."""
        marks = {key: item.mark for item in self.marked for key in item.keys}
        counts: dict[str, int] = {}
        for key in keys:
            part = self.snapshot.part(key)
            if part is not None:
                label = declaration(part.kind, part.key).label
                word = f"{marks[key]} {label.lower()}" if key in marks else label.lower()
                counts[word] = counts.get(word, 0) + 1
        return ", ".join(word if count == 1 else f"{word} ({count})" for word, count in counts.items())

    def unnamed(self, step: Step) -> str:
        """Marks of the kit's parts that a step is about and its action does not name: ``RT-1, RT-2``."""
        marks = {key: item.mark for item in self.marked for key in item.keys}
        return ", ".join(dict.fromkeys(marks[key] for key in step.parts if key in marks and f"{marks[key]} " not in step.action))

    def look_alikes(self, keys: Iterable[str]) -> str:
        """A sentence on parts that are easily taken for each other; "" where there are none."""
        wanted = set(keys)
        pairs = {tuple(sorted((item.mark, other))) for item in self.marked if wanted & set(item.keys) for other in item.look_alikes}
        return "".join(f" {a} and {b} look alike: read the mark." for a, b in sorted(pairs))

    def read(self, *names: str) -> tuple[Reading, ...]:
        """Readings of the set-up sheet by their names, those that the car has."""
        return tuple(self.readings[name] for name in names if name in self.readings)

    def of_loop(self, name: str) -> tuple[Reading, ...]:
        """Readings of a loop."""
        return self.read(f"Axle to loop {name}, its center", f"Center of loop {name} above track")


def length(name: str, kind: str, value: float, tolerance: float = TAPE) -> Reading:
    """A reading that the set-up sheet does not have, mm."""
    return Reading(name, kind, value, tolerance)


PLACE = ("Crank above track, rear face of block", "Crank above track, front face of block", "Crank pitch, rear high",
         "Crank level across the car", "Center plane to crank, rear face of block", "Axle to rear face of block, at its base")
"""Names of the readings that say where the powertrain is, in the order in which it is set."""
