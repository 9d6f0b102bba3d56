"""A placement record: one car, where its engine was set, and how it ran."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from .. import catalog, model, spelling, units
from ..mechanics import balance, car_balance, components
from ..mechanics.scene import Scene
from ..record import DIMENSIONS, Described, angle, choice, entries, filled, length, quantity, ratio, size, sparse, text
from ..units import DEG, INCH

INVENTED = "INVENTED"
"""The word beside every number that comes from an invented record."""


@dataclass(frozen=True)
class PlacementRecord:
    """One car as it ran; mm, kg, s, rad. Lengths have wide bounds: one that was written in the wrong unit is told by ``check``, which
    knows the other records, better than by a bound."""
    car: str = text("name of the car", required=True)
    basis: str = choice("where the figures are from: the shop measured them, was told them, or they are invented", "measured", "told",
                        "invented", required=True)
    class_: str = text("class it ran in", key="class")
    body: str = choice("bodywork", "full", "open", required=True)
    wheelbase: float = size("wheelbase", low=1.0, required=True)
    engine: str = text("what the engine is called")
    displacement: float = quantity("volume", "displacement of the engine", low=1e5, high=5e7)
    engine_mass: float = quantity("mass", "mass of the engine, dressed", low=1.0, high=5000.0)
    engine_material: str = choice("material of the block", "cast_iron", "aluminium")
    power_adder: str = choice("power adder", "none", "nitrous", "supercharged", "turbocharged", default="none")
    power: float = quantity("power", "peak power of the engine", low=1e6, high=1e11)
    transmission: str = choice("kind of transmission", "automatic", "manual")
    tires: str = choice("rear tires", "slick", "street", default="slick")
    tire_radius: float = size("static loaded radius of the rear tire", low=1.0)
    mass: float = quantity("mass", "mass of the car with its driver", low=1.0, high=50_000.0)
    front_share: float = ratio("share of the car's weight on the front axle, 0 to 1", low=0.01, high=0.99)
    axle_to_block: float = size("rear axle centerline to the rear face of the block at its base", low=1.0, required=True)
    crank_height: float = length("crank centerline above the track at the rear face of the block", low=1.0, required=True)
    pitch: float = angle("crank pitch, positive = rear of the engine higher", limit=30 * DEG)
    pinion_pitch: float = angle("pitch of the pinion to the ground, positive = nose down", limit=30 * DEG)
    track: str = choice("length of the track that elapsed time and speed are of", "quarter", "eighth", default="quarter")
    sixty_foot: float = quantity("time", "60 ft time", low=0.3, high=10.0)
    elapsed_time: float = quantity("time", "elapsed time", low=1.0, high=60.0)
    speed: float = quantity("speed", "finish-line speed", low=1.0, high=250_000.0)
    left: str = choice("how it left: straight, in a wheelstand, or with the tires spinning", "straight", "wheelstand", "spin")
    venue: str = text("where and in what conditions it ran")
    date: str = text("day of the run, YYYY-MM-DD", form="date")
    note: str = text("anything else")

    @property
    def invented(self) -> bool:
        """Whether its figures are invented."""
        return self.basis == "invented"


def of_car(car: model.Car, scene: Scene, **given: Any) -> PlacementRecord:
    """The record of a car as it is placed: what a car holds; ``given`` are further fields, and others in place of the car's.

    scene: the car's (``mechanics.scene``). Mass and split are those of its scales, else of its list of masses, and absent where it has
    neither: engine and transmission alone are no car. Displacement and power are in no car. Without ``basis`` it is ``measured``, or
    ``invented`` where the catalog's row of the engine or transmission is. What the program has computed is rounded to what can be measured.
    """
    car = filled(car)
    step = 0.001 * (1.0 if car.car.units == "mm" else INCH)
    made_up = any(name in catalog.names(table) and catalog.about(table, name).basis == "invented"
                  for table, name in (("engines", car.engine.use), ("transmissions", car.transmission.use)))
    found: dict[str, Any] = {
        "car": car.car.name, "basis": "invented" if made_up else "measured", "class_": car.car.class_, "body": car.car.body,
        "wheelbase": car.car.wheelbase,
        "engine": car.engine.use, "engine_mass": car.engine.mass, "engine_material": car.engine.material,
        "power_adder": car.car.power_adder, "transmission": car.transmission.kind, "tires": car.car.tires,
        "tire_radius": scene.chassis.rear_tire.loaded_radius, "axle_to_block": scene.placement.axle_to_block,
        "crank_height": round(float(scene.engine_frame.origin[2]) / step) * step, "pitch": round(scene.pitch / DEG, 3) * DEG,
        "pinion_pitch": scene.rear_end.pinion_pitch,
        "track": car.car.track, "elapsed_time": car.car.elapsed_time, "speed": car.car.speed}
    mass, front_share = _weight(car, scene)
    found.update(mass=mass, front_share=front_share if front_share is None else round(front_share, 4))
    record: PlacementRecord = sparse(PlacementRecord, **{**found, **given})
    return record


def _weight(car: model.Car, scene: Scene) -> tuple[float | None, float | None]:
    """Mass and front share of a car; absent where neither is known, or its scales say what cannot be, of which its balance tells."""
    try:
        scales = car_balance.weighed(car)
    except ValueError:
        return None, None
    if scales is not None:
        return scales.mass, scales.front_share
    if not car.masses:
        return None, None
    mass, cg = components.whole(car, scene)
    return float(mass), float(balance.split(cg[0], car.car.wheelbase)[0])


# --- words -------------------------------------------------------------------------------------------------------------

_PLACES = {"length": (3, 1), "mass": (0, 0), "time": (3, 3), "angle": (2, 2), "speed": (1, 1), "volume": (0, 0), "power": (0, 0)}


def entry_of(field: str) -> Described:
    """The description of a field."""
    return entries(PlacementRecord)[field]


def unit_of(field: str, system: str) -> str:
    """The unit that people read a field in, of a car of inches (``in``) or millimeters (``mm``); empty where it has none."""
    kind = entry_of(field).kind
    if kind not in DIMENSIONS:
        return ""
    return units.READ_IN[kind][system == "mm"] if kind in units.READ_IN else units.WRITING[kind][0]


def value_text(field: str, value: Any, system: str = "in", signed: bool = False, fewer: int = 0) -> str:
    """A value as people read it, with so many places fewer than usual: ``82.500 in``; ``-`` where it is absent."""
    entry = entry_of(field)
    if value is None:
        return "-"
    if entry.kind in DIMENSIONS:
        unit = unit_of(field, system)
        number = units.to(value, entry.kind, unit)
        return f"{number:{'+' if signed else ''}.{_PLACES[entry.kind][system == 'mm'] - fewer}f} {unit}"
    if entry.kind == "ratio":
        return f"{100.0 * value:{'+' if signed else ''}.1f} %"
    return spelling.read(value) if entry.kind == "choice" else str(value)


def name_of(field: str) -> str:
    """A field as people read it: ``axle-to-block``."""
    return {"axle_to_block": "axle-to-block", "class_": "class", "sixty_foot": "60 ft", "front_share": "front share"}.get(
        field, field.replace("_", " "))
