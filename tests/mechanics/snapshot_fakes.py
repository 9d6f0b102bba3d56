"""Snapshots of the demo cars without a host: parts whose 'shapes' are records of what a measurer would read off them."""
from __future__ import annotations

import math
import pathlib
from dataclasses import dataclass, replace
from functools import cache

from crankline import carfile, checks
from crankline.geometry.congruence import Body, Face
from crankline.measure.measurer import PinSeat, Ring, Tube
from crankline.mechanics import scene
from crankline.record import filled
from crankline.rules.quantity import NotEvaluated
from crankline.snapshot import CHASSIS, POWERTRAIN, PartView, Snapshot, Unsound

DEMOS = pathlib.Path(__file__).resolve().parents[2] / "demo_assemblies"
INCH = 25.4


@dataclass(frozen=True)
class FakeLoop:
    x: float
    form: str = "tube"
    outer_diameter: float | None = 0.875 * INCH
    wall: float | None = 0.065 * INCH
    thickness: float | None = None
    width: float | None = None
    closed: float = 2.0 * math.pi
    inside: tuple[float | None, float | None] = (7.5 * INCH, 9.5 * INCH)
    pins: tuple[tuple[str, float, bool], ...] = (("split", 100.0, True), ("split", -100.0, True), ("foot", 80.0, True),
                                                 ("foot", -80.0, True))
    """(at the split or at a foot, left of the center, whether a pin is there)."""
    with_members: float = 2.0 * math.pi
    """Closed angle with the members that it is welded to."""
    met: int = 2
    """Places at which it meets each chassis tube."""


@dataclass(frozen=True)
class FakeMount:
    """A mount of the enclosure: it meets whatever is as near along the car as the loops of the demos are."""
    x: float
    at_tail: bool = False
    near: float = 100.0


@dataclass(frozen=True)
class FakeTube:
    length: float
    wall: float
    outer_diameter: float = 6.0 * INCH
    rear: tuple[float, float, float] = (0.0, 0.0, 0.0)
    front: tuple[float, float, float] | None = None


class FakeMeasurer:
    """Reads the records back; counts its calls."""

    def __init__(self):
        self.calls = 0
        self.middles = {}

    def sees(self, snapshot):
        """Nothing of what it reads back need be kept."""

    def ring(self, shape, axis_at):
        self.calls += 1
        if not isinstance(shape, FakeLoop):
            raise NotEvaluated("no ring was found")
        self.middles[id(shape)] = tuple(map(float, axis_at(shape.x)[1:]))
        along = 0.5 * (shape.outer_diameter if shape.form == "tube" else shape.width)
        return Ring((shape.x, *map(float, axis_at(shape.x)[1:])), shape.x - along, shape.x + along, 120.0, shape.form,
                    shape.outer_diameter if shape.form == "tube" else None, shape.wall if shape.form == "tube" else None,
                    shape.thickness, shape.width, 1e-6, *shape.inside)

    def ring_cuts(self, shape):
        return ()

    def closed_angle(self, shape, center, reach, members=()):
        self.calls += 1
        return shape.with_members if members else shape.closed

    def pins(self, shape, ring):
        self.calls += 1
        return tuple(PinSeat(at, (ring.center[0], ring.center[1] + left, ring.center[2] - (0.0 if at == "split" else 100.0)), held)
                     for at, left, held in shape.pins)

    def meets(self, shape, other):
        if isinstance(shape, FakeMount):
            self.calls += 1
            if isinstance(other, str):
                return shape.at_tail
            return not isinstance(other, FakeLoop) or abs(other.x - shape.x) <= shape.near
        return bool(self.touches(shape, other))

    def touches(self, shape, other):
        """Near its feet, as ``pins`` puts them, for a loop whose ring was measured."""
        self.calls += 1
        y, z = self.middles.get(id(shape), (0.0, 200.0))
        return ((shape.x, y + 80.0, z - 110.0), (shape.x, y - 80.0, z - 110.0))[:shape.met]

    def tube(self, shape):
        self.calls += 1
        return Tube(shape.length, shape.outer_diameter, shape.wall, shape.rear, shape.front or (shape.length, 0.0, 0.0))

    def faces(self, shape):
        return Body(1000.0, (Face("Plane", (), 100.0, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), True),))

    def face_count(self, shape):
        return len(self.faces(shape).faces)

    def volume(self, shape):
        return self.solid(shape)["volume"]

    def near(self, shape, other, gap):
        return True

    def solid(self, shape):
        return {"volume": 1000.0, "bbox": [0.0, 0.0, 0.0, 10.0, 10.0, 10.0]}


@cache
def demo(name: str):
    """A demo with the rule sets that need no real shapes."""
    car = carfile.read(DEMOS / f"{name}.yaml")
    return replace(car, rules=replace(car.rules, sets=("invented_demo",)))


def automatic():
    return demo("full_bodied_automatic")


def clutch():
    return demo("open_clutch")


def without_strut(car):
    """The demo as it would be without its fore-aft limiter strut, so that what the strut is for can be seen."""
    return replace(car, mounts=replace(car.mounts, limiter_strut=None))


def snapshot(car, unsound=(), change=None, without=()) -> Snapshot:
    """A sound snapshot of a car; ``change`` maps part keys to changes of their views, ``without`` leaves parts out."""
    full = filled(car)
    parts = [view("engine", "engine", POWERTRAIN, car.engine.material or "aluminium"),
             view("transmission", "transmission", POWERTRAIN), view("driveshaft", "driveshaft", "between"),
             view("mid_plate", "mid_plate", POWERTRAIN, "6061-T6"),
             view("rail_tab/left_front", "rail_tab", POWERTRAIN, full.mounts.rail_tabs.material, welded=True),
             view("rear_cross_member", "chassis_tube", CHASSIS, welded=True)]
    for loop in full.containment.loops:
        parts.append(view(f"loop/{loop.name}", f"{loop.kind}_loop", CHASSIS, loop.material, FakeLoop(
            loop.x, outer_diameter=loop.section.outer_diameter, wall=loop.section.wall)))
    enclosure, placed = full.containment.enclosure, scene.of(car)
    if enclosure is not None:
        ends = (tuple(map(float, placed.shaft_at(x))) for x in (enclosure.x_rear, enclosure.x_front))
        parts.append(view("enclosure", "enclosure", CHASSIS, enclosure.material,
                          FakeTube(enclosure.x_front - enclosure.x_rear, enclosure.wall, enclosure.outer_diameter, *ends)))
        parts += [view(f"enclosure_mount/{end}_{side}", "enclosure_mount", CHASSIS, enclosure.material, FakeMount(
            x, end == "front" and enclosure.front_support == "transmission_tail"))
                  for end, x in (("front", enclosure.x_front), ("rear", enclosure.x_rear)) for side in ("top", "bottom")]
    change = change or {}
    parts = [replace(part, **change.get(part.key, {})) for part in parts if part.key not in without]
    return Snapshot(car, placed, tuple(parts), tuple(unsound))


_checked: dict = {}


def checked(snapshot: Snapshot, **options) -> checks.Outcome:
    """A check with a fake measurer of its own. Equal snapshots with equal options are checked once: an outcome is frozen, and many tests
    look at another finding of the same car. For tests of what checking does, not of what is found, there is ``checks.run``."""
    placed = snapshot.scene
    stands = None if placed is None else (placed.pitch, *placed.front_joint, *placed.rear_joint, placed.as_built)
    given = snapshot.car, snapshot.parts, snapshot.unsound, stands, tuple(sorted(options.items()))
    if given not in _checked:
        _checked[given] = checks.run(snapshot, measurer=FakeMeasurer(), **options)
    return _checked[given]


def view(key, kind, moves_with, material="4130N", shape="a shape", welded=False) -> PartView:
    return PartView(key, kind, f"label of {key}", material, 1.0, shape, moves_with, f"digest of {key}", welded)


def with_rules(car, **changes):
    return replace(car, rules=replace(car.rules, **changes))


def unsound(key, kind="invalid", blocking=False) -> Unsound:
    return Unsound(key, kind, f"{key} says so", blocking)
