"""Dangerous faults, each put into a sound car one at a time, and the rule that has to find it. A fault is a line: add it here.

A line holds what is wrong, how a car gets it, and the rules of which one must leave a finding that is open or not evaluated and that the
sound car does not have, or has by less. ``FAULTS`` are told by numbers, ``SHAPES`` by the shapes of the car's document.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from crankline import model

INCH = 25.4
FOIL = 0.001 * INCH


@dataclass(frozen=True)
class Fault:
    """What is wrong, how a car gets it (None: this car cannot have it), the rules that may tell it (a name that ends in * stands for all
    that begin so), and how grave a finding has to be at least."""
    name: str
    inject: Callable[[model.Car], model.Car | None]
    told_by: tuple[str, ...]
    severity: str = "warning"

    def tells(self, rule: str) -> bool:
        """Whether a rule may tell it."""
        return any(rule == name or (name.endswith("*") and rule.startswith(name[:-1])) for name in self.told_by)


def put(values: Mapping[str, Any]) -> Callable[[model.Car], model.Car | None]:
    """Fields by their paths: a value, or a function of the value that stands there. ``[]`` in a path stands for every item of a list."""
    def at(record: Any, names: list[str], value: Any) -> Any:
        if not names:
            return value(record) if callable(value) else value
        name, *rest = names
        if name == "[]":
            return tuple(at(item, rest, value) for item in record)
        below = getattr(record, name)
        if below is None and rest:
            raise Lacking
        return replace(record, **{name: at(below, rest, value)})

    def inject(car: model.Car) -> model.Car | None:
        try:
            for path, value in values.items():
                car = at(car, path.split("."), value)
        except Lacking:
            return None
        return car
    return inject


class Lacking(Exception):
    """The car has no such part."""


def wall(size: float) -> Callable[[model.Section], model.Section]:
    """A tube with another wall."""
    return lambda section: replace(section, wall=size)


def times(share: float) -> Callable[[float], float]:
    """A number times another."""
    return lambda value: value * share


def strap(**more: Any) -> Callable[[model.Loop], model.Loop]:
    """A loop as a strap of 1/4 x 2 in, with fields changed."""
    usual = {"form": "strap", "section": None, "strap_thickness": 0.25 * INCH, "strap_width": 2.0 * INCH}
    return lambda loop: replace(loop, **{**usual, **more})


def loops(**changes: Any) -> Callable[[model.Car], model.Car | None]:
    """Every loop with fields changed."""
    return put({"containment.loops.[]": lambda loop: replace(loop, **changes)})


def split(**changes: Any) -> Callable[[model.Car], model.Car | None]:
    """Every split loop with fields changed."""
    return put({"containment.loops.[]": lambda loop: replace(loop, **changes) if loop.kind == "split" else loop})


def rpm(value: float) -> float:
    """rad/s."""
    return value * math.tau / 60.0


def _item(specification: str, **dates: str) -> Callable[[model.Car], model.Car | None]:
    """The chart of protective items applies, and one of them is on file."""
    def inject(car: model.Car) -> model.Car:
        item = model.ProtectiveItem(item="flexplate", specification=specification, **dates)
        return replace(car, protective_items=(item,), rules=replace(car.rules, sets=(*car.rules.sets, "nhra_chart_protective")))
    return inject


def _composite(**rating: Any) -> Callable[[model.Car], model.Car | None]:
    """What the maker of a composite shaft states."""
    inject = put({f"driveshaft.{name}": value for name, value in rating.items()})
    return lambda car: inject(car) if car.driveshaft.material == "carbon" else None


def _narrow(values: Mapping[str, Any]) -> Callable[[model.Car], model.Car | None]:
    """Of a front plate on plate feet."""
    inject = put({f"plates.front.{name}": value for name, value in values.items()})
    return lambda car: inject(car) if car.plates.front.kind == "narrow" else None


def _shaft(material: str, **numbers: float) -> Callable[[model.Car], model.Car | None]:
    return put({"driveshaft.material": material, **{f"driveshaft.{name}": value for name, value in numbers.items()}})


def _protector(**fields: Any) -> model.Protector:
    return model.Protector(**{"thickness": 3.2, "crank_opening": 4.0 * INCH, **fields})


def up(inches: float) -> Callable[[float], float]:
    """A length more."""
    return lambda value: value + inches * INCH


def one_of(names: tuple[str, ...], change: Callable[[model.Loop], model.Loop]) -> Callable[[model.Car], model.Car | None]:
    """Loops of some kinds or names with a change."""
    return put({"containment.loops.[]": lambda loop: change(loop) if loop.name in names or loop.kind in names else loop})


OPENING = "plates.mid.center_opening"
SIZES = ("NHRA-LOOP-SECTION", "PRO-LOOP-SECTION")
WALLS = ("NHRA-ENCLOSURE-WALL", "PRO-ENCLOSURE-WALL")
COVERS = ("DEMO-ENCLOSURE", "NHRA-ENCLOSURE-FULL", "CON-ENCLOSURE-*")

FAULTS: tuple[Fault, ...] = (
    # Driveline.
    Fault("yokes a quarter turn out of phase", put({"driveshaft.phase": math.radians(90.0)}), ("DRV-PHASE", "DRV-RESIDUAL")),
    Fault("yokes 20 degrees out of phase", put({"driveshaft.phase": math.radians(20.0)}), ("DRV-PHASE", "DRV-RESIDUAL")),
    Fault("shaft above its critical speed", put({"engine.rpm_limit": rpm(30_000.0)}), ("DRV-CRITICAL", "DRV-RATING-SPEED")),
    Fault("shaft with a wall of foil", put({"driveshaft.wall": 0.2}), ("PRO-STOCK",), "error"),
    Fault("joints at odds", put({"rear_end.pinion_pitch": math.radians(-6.0)}), ("DRV-RESIDUAL", "DRV-ANGLE-SPEED")),
    Fault("pinion straight down", put({"rear_end.pinion_pitch": math.radians(20.0)}), ("DRV-ANGLE-SPEED",)),
    Fault("joints of a small series", put({"driveshaft.joint_series": "1310"}), ("DRV-JOINT-TORQUE",)),
    Fault("composite shaft without its maker's rating", _composite(rated_torque=None, rated_speed=None, rating_date=None),
          ("DRV-RATING-STATED",)),
    Fault("composite shaft rated for too little torque", _composite(rated_torque=1.0e6), ("DRV-RATING-TORQUE",)),
    Fault("composite shaft rated for half its speed", _composite(rated_speed=rpm(4_000.0)), ("DRV-RATING-SPEED",)),
    Fault("slip yoke that bottoms", put({"transmission.slip_exposed": 1.0}), ("DRV-SLIP-BOTTOM",)),
    Fault("slip yoke that leaves its splines", put({"transmission.spline_engaged": 5.0}), ("PRO-OVERRIDE",)),
    # Numbers against names.
    Fault("steel with ten times its modulus", _shaft("4130N", axial_modulus=2.0e6), ("PRO-MATERIAL-METAL",), "error"),
    Fault("steel with a third of its density", _shaft("4130N", density=2.6e-6), ("PRO-MATERIAL-METAL",), "error"),
    Fault("carbon under a steel name", _shaft("4130N", axial_modulus=115e3, shear_modulus=20e3, density=1.58e-6),
          ("PRO-MATERIAL-METAL",), "error"),
    Fault("carbon with five times its modulus", _shaft("carbon", axial_modulus=575e3), ("PRO-MATERIAL-COMPOSITE",)),
    Fault("engine with a tenth of its torque", put({"engine.peak_torque": times(0.1)}), ("PRO-OVERRIDE",)),
    Fault("engine with a third of its speed", put({"engine.rpm_limit": times(0.33)}), ("PRO-OVERRIDE",)),
    Fault("engine with a tenth of its mass", put({"engine.mass": times(0.1)}), ("PRO-OVERRIDE",)),
    Fault("transmission with a quarter of its first gear", put({"transmission.first_gear": times(0.25)}), ("PRO-OVERRIDE",)),
    Fault("finish-line speed beyond limiter and gearing", put({"car.speed": times(2.0)}), ("PRO-FINISH-SPEED",)),
    Fault("a slow time for a fast car, so that no loop is asked for", put({"car.elapsed_time": 15.0}), ("PRO-ELAPSED-TIME",)),
    # What holds the powertrain.
    Fault("rails of foil", put({"chassis.rails.section": wall(0.2)}), ("STR-YIELD", "PRO-STOCK-OTHERS"), "error"),
    Fault("rails with a wall of 0.028 in", put({"chassis.rails.section": wall(0.028 * INCH)}), ("STR-YIELD",), "error"),
    Fault("mid plate of foil", put({"plates.mid.thickness": 0.6}), ("STR-YIELD", "PRO-STOCK-OTHERS"), "error"),
    Fault("front plate of foil", put({"plates.front.thickness": 0.6}), ("STR-YIELD", "PRO-STOCK-OTHERS"), "error"),
    Fault("rail tabs of foil", put({"mounts.rail_tabs.thickness": 0.6}), ("STR-YIELD",), "error"),
    Fault("plate feet of foil", _narrow({"foot_web": 0.6, "foot_tube": wall(0.3)}), ("STR-YIELD",), "error"),
    Fault("rail tabs with bolts of 3 mm", put({"mounts.rail_tabs.bolt": 3.0}), ("STR-YIELD",), "error"),
    Fault("rail tabs with one small bolt", put({"mounts.rail_tabs.bolts_per_rail": 1, "mounts.rail_tabs.bolt": 0.25 * INCH}),
          ("STR-YIELD",), "error"),
    Fault("support tube of foil", put({"mounts.support_tube.section": wall(0.2)}), ("STR-YIELD", "PRO-STOCK-OTHERS"), "error"),
    Fault("cross member of foil", put({"mounts.cross_member.section": wall(0.2)}), ("STR-YIELD", "PRO-STOCK-OTHERS"), "error"),
    Fault("transmission tab of foil", put({"mounts.transmission.tab_thickness": 0.6}), ("STR-YIELD",), "error"),
    Fault("transmission tube of foil", put({"mounts.transmission.tube": wall(0.2)}), ("STR-YIELD", "PRO-STOCK-OTHERS"), "error"),
    Fault("cross bolt of 3 mm", put({"mounts.transmission.cross_bolt": 3.0}), ("STR-YIELD",), "error"),
    # A choice where the plates are stiff enough; how stiff they are is told.
    Fault("no limiter strut", put({"mounts.limiter_strut": None}), ("STR-YIELD", "STR-TAB-BENDING", "STR-FORE-AFT"), "advice"),
    Fault("limiter strut of foil", put({"mounts.limiter_strut.section": model.Section(outer_diameter=0.75 * INCH, wall=0.2)}),
          ("STR-LIMITER", "STR-YIELD", "PRO-STOCK-OTHERS")),
    Fault("limiter strut with bolts of 4 mm", put({"mounts.limiter_strut.bolt": 4.0}), ("STR-YIELD",), "error"),
    Fault("tabs of carbon", put({"mounts.rail_tabs.material": "carbon"}), ("STR-YIELD",), "error"),
    Fault("cross member of carbon", put({"mounts.cross_member.material": "carbon"}), ("STR-YIELD",), "error"),
    Fault("uprights 10 in behind the plate", put({"chassis.uprights.x": up(-10.0)}), ("PRA-SUPPORT",), "error"),
    # What contains the driveshaft and the flywheel.
    Fault("enclosure of foil", put({"containment.enclosure.wall": FOIL}), ("PRO-STOCK",), "error"),
    Fault("protector of foil", put({"plates.protector.thickness": 0.5}), ("PRO-STOCK",), "error"),
    Fault("no protector before a large opening", put({"plates.protector": None, OPENING: 12.0 * INCH}), ("PRO-BLOCK-OPENING",)),
    Fault("protector with a large opening", put({OPENING: 12.0 * INCH, "plates.protector": _protector(crank_opening=11.0 * INCH)}),
          ("PRO-BLOCK-OPENING",)),
    Fault("protector of carbon", put({"plates.protector": _protector(material="carbon")}), ("PRO-PROTECTOR-SECTION",), "advice"),
    # Rule books and papers.
    Fault("no rule book", put({"rules": model.Rules(sets=("practice",), waivers=())}), ("PRO-RULE-BOOK",)),
    Fault("no rule set at all", put({"rules": model.Rules(sets=(), waivers=())}), ("PRO-RULE-BOOK",)),
    Fault("a book on wheelbase only", put({"rules": model.Rules(sets=("andra_2019_hot_rod",), waivers=())}), ("PRO-RULE-BOOK",)),
    Fault("certificate that has expired", _item("SFI 29.1", issued="2020-01-01", expires="2021-01-01"), ("NHRA-SFI-*",), "error"),
    Fault("certificate of the future", _item("SFI 29.1", issued="2199-01-01", expires="2199-12-31"), ("NHRA-SFI-*",), "error"),
    Fault("certificate of something else", _item("SFI 3.2A", issued="2026-01-01", expires="2199-12-31"), ("NHRA-SFI-*",), "error"),
)
"""Told by numbers alone."""

SHAPES: tuple[Fault, ...] = (
    # Loops.
    Fault("no loop", put({"containment.loops": ()}), ("NHRA-LOOP-PLACE",), "error"),
    Fault("loops as straps of aluminum", put({"containment.loops.[]": strap(material="6061-T6")}), SIZES),
    Fault("loops as straps of carbon", put({"containment.loops.[]": strap(material="carbon")}), SIZES),
    Fault("loops as straps of foil", put({"containment.loops.[]": strap(strap_thickness=0.3)}), SIZES),
    Fault("loops of thin tube", loops(section=model.Section(outer_diameter=0.5 * INCH, wall=0.035 * INCH)), SIZES, "error"),
    Fault("loops of titanium", loops(material="Ti-6Al-4V"), SIZES, "error"),
    Fault("loops open at the bottom", split(open_angle=math.radians(40.0)), ("NHRA-LOOP-CLOSED",), "error"),
    Fault("loops without pins", split(pins_split=0, pins_feet=0), ("CON-LOOP-PINS",), "error"),
    Fault("pins that nobody stated", split(pins_split=None, pins_feet=None), ("CON-LOOP-PINS",), "error"),
    Fault("one pin", split(pins_split=1, pins_feet=1), ("CON-LOOP-PINS",), "error"),
    Fault("front loop far from its joint", one_of(("front",), lambda loop: replace(loop, x=loop.x - 12.0 * INCH)),
          ("NHRA-LOOP-PLACE",), "error"),
    Fault("loops too tight for the shaft", split(inner_diameter=4.0 * INCH), ("CON-LOOP-TOUCH",), "error"),
    Fault("loops on tubes that do not exist", put({"chassis.tubes": ()}), ("NHRA-LOOP-MOUNTED",), "error"),
    Fault("loops beside the shaft", split(center_y=8.0 * INCH), ("CON-LOOP-TOUCH",), "error"),
    Fault("welded loop that nothing carries", lambda car: one_of(("fixed",), lambda loop: replace(loop, x=28.0 * INCH))(
        replace(car, chassis=replace(car.chassis, tubes=(), upper_fore_aft=None))), ("CLR-FRAME", "CON-LOOP-MOUNTED"), "error"),
    # Enclosure.
    Fault("enclosure of aluminum", put({"containment.enclosure.material": "6061-T6"}), WALLS),
    Fault("enclosure of carbon", put({"containment.enclosure.material": "carbon"}), WALLS),
    Fault("thin enclosure", put({"containment.enclosure.wall": 0.02 * INCH}), WALLS),
    Fault("short enclosure", put({"containment.enclosure": lambda held: replace(held, x_rear=held.x_front - 6.0 * INCH)}), COVERS),
    Fault("no enclosure", put({"containment.enclosure": None}), COVERS),
    Fault("enclosure too tight for the shaft", put({"containment.enclosure.outer_diameter": 4.2 * INCH}),
          ("CON-ENCLOSURE-TOUCH",), "error"),
    Fault("enclosure far behind its joint", put({"containment.enclosure": lambda held: replace(held, x_front=held.x_front - 9.0 * INCH)}),
          COVERS, "advice"),
    # Welds.
    Fault("aluminum rail tabs on steel rails", put({"mounts.rail_tabs.material": "6061-T6"}), ("PRO-WELD",), "error"),
    Fault("aluminum cross member", put({"mounts.cross_member.material": "6061-T6"}), ("PRO-WELD",), "error"),
    Fault("aluminum support tube", put({"mounts.support_tube.material": "7075-T6"}), ("PRO-WELD",), "error"),
    Fault("titanium receiver", put({"mounts.transmission.material": "Ti-6Al-4V"}), ("PRO-WELD",), "error"),
    Fault("aluminum floor tubes", put({"chassis.tubes.[].material": "6061-T6"}), ("PRO-WELD",), "error"),
    Fault("aluminum limiter strut", put({"mounts.limiter_strut.material": "7075-T6"}), ("PRO-WELD",), "error"),
    # Tubes in the air.
    Fault("uprights 10 in outside the rails", put({"chassis.uprights.half_spacing": up(10.0)}), ("CLR-FRAME",), "error"),
    Fault("upper members 10 in too high", put({"chassis.upper_fore_aft.z": up(10.0)}), ("CLR-FRAME",), "error"),
    Fault("upper members an inch long", put({"chassis.upper_fore_aft.x_rear": 40.0 * INCH, "chassis.upper_fore_aft.x_front": 41.0 * INCH}),
          ("CLR-FRAME",), "error"),
    Fault("rear cross member below the rails", put({"chassis.rear_cross_member.z": 1.0 * INCH}), ("CLR-FRAME",), "error"),
    Fault("footwell tube above the rails", put({"chassis.footwell_tube.z": up(4.0)}), ("CLR-FRAME",), "error"),
    Fault("cross member above the rails", put({"mounts.cross_member.z": up(3.0)}), ("CLR-FRAME", "CLR-WELD"), "error"),
    Fault("floor tubes on nothing", put({"chassis.tubes.[].points.[]": lambda point: (*point[:2], point[2] + 3.0 * INCH)}),
          ("CLR-FRAME",), "error"),
    Fault("rails that end before the mounts", put({"chassis.rails.x_front": 70.0 * INCH}),
          ("CLR-RAIL-END", "CLR-FRAME", "DOC-INVALID"), "error"),
    # Driver.
    Fault("driver's box around the shaft", put({"car.driver_envelope.y_right": -8.0 * INCH, "car.driver_envelope.y_left": 8.0 * INCH,
                                                "car.driver_envelope.z_low": 5.0 * INCH}), ("CLR-DRIVER",), "error"),
    Fault("no room for the driver stated", put({"car.driver_envelope": None}), ("CLR-DRIVER", "CON-RELEASE-DRIVER")),
)
"""Told by the shapes of the car's document."""
