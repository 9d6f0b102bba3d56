"""The components of a car, each once: engine and transmission where the placement puts them, and what the car lists where it stands.

Arrays over placements go through: a scene of many placements gives components of many places. mm, kg in the car frame.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .. import model
from .balance import Mass, total
from .scene import Scene

POWERTRAIN = ("engine", "transmission")
"""Roles of what a placement moves; everything else stays where it is."""


@dataclass(frozen=True, eq=False)
class Component:
    """One component: name as listed, role (engine, transmission, or what ``model.Mass.role`` says; empty where it is not known), mass and
    center of gravity, whether it moves with the wheels, and what is told of it beside its name."""
    name: str
    role: str
    mass: Mass
    unsprung: bool = False
    note: str = ""


def powertrain(scene: Scene) -> tuple[Mass, Mass]:
    """Engine and transmission where they stand."""
    engine, transmission = scene.engine, scene.transmission
    at = transmission.cg
    return (Mass(engine.mass, scene.engine_point(engine.cg.x, engine.cg.y, engine.cg.z)),
            Mass(transmission.mass, scene.engine_point(at.x - scene.stack.total, at.y, at.z)))


def of(car: model.Car, scene: Scene) -> tuple[Component, ...]:
    """Every component of a car with its defaults filled in, powertrain first."""
    engine, transmission = powertrain(scene)
    block = {"cast_iron": "iron block", "aluminium": "aluminum block"}.get(car.engine.material or "", "")
    adder = "" if car.car.power_adder in (None, "none") else car.car.power_adder
    found = [Component("engine", "engine", engine, False, ", ".join(filter(None, (block, adder)))),
             Component("transmission", "transmission", transmission)]
    found += [Component(item.name, item.role or "", Mass(item.mass, np.array([item.cg.x, item.cg.y, item.cg.z])), bool(item.unsprung))
              for item in car.masses or ()]
    return tuple(found)


def whole(car: model.Car, scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Mass, kg, and center of gravity (..., 3) of all components together; ValueError where they have none."""
    return total(component.mass for component in of(car, scene))
