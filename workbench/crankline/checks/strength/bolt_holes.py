"""Bolt holes of what holds a powertrain, joint by joint: bolt, hole, and how near to an edge they stand in each part.

Plates are measured as they are cut; tabs, feet and brackets follow from the numbers that they are laid out with.
"""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from ... import catalog, model
from ...geometry import front_plate, limiter, mid_plate, plate_layout, rail_clamp
from ...geometry.outline import Circle
from ...mechanics.frames import as_point
from ...mechanics.limiter_strut import Strut
from ...mechanics.mounting import Mounting
from ...mechanics.scene import Scene
from ...mechanics.tail_mount import TailMount
from ...units import sized
from . import load_model


@dataclass(frozen=True)
class Edge:
    """Edge distance of a joint's holes in one part: its key, what its material is to rules, hole's center to the nearest edge, mm."""
    part: str
    family: str
    distance: float


@dataclass(frozen=True)
class Hole:
    """The bolt holes of one joint: keys of its parts, nominal bolt, hole diameter; the edge distance in each part, mm. given: its holes
    are the engine's, not ours to size."""
    name: str
    subjects: tuple[str, ...]
    bolt: float
    diameter: float
    edges: tuple[Edge, ...]
    point: tuple[float, float, float]
    given: bool = False


def holes(car: model.Car, scene: Scene, held: Mounting | None = None) -> tuple[Hole, ...]:
    """The holes that a car's mounts get, joint by joint: in the plates as they are cut, in tabs and feet as they are laid out.
    held: ``load_model.mounting`` of the car, where that is there already.

    The engine's own patterns are there with the bolts that pass their holes; a hole that fits no bolt of the catalog, a dowel's, is not.
    """
    tabs, mounts, held = car.mounts.rail_tabs, car.mounts, held or load_model.mounting(car, scene)
    cut = load_model.plates_cut(car, scene)
    family = {"mid_plate": catalog.material(car.plates.mid.material).family}
    if car.plates.front is not None:
        family["front_plate"] = catalog.material(car.plates.front.material).family
    steel = catalog.material(tabs.material).family

    def away(key: str, places) -> np.ndarray:
        return load_model.edge_distances(cut[key][1], [Circle(*map(float, place)) for place in places])

    def in_plate(key: str, places) -> Edge:
        return Edge(key, family[key], float(away(key, places).min()))

    usual = rail_clamp.EDGE_DISTANCE
    found = []
    for seat in held.rails:
        level, side = ("upper" if seat.name.endswith(" upper") else "lower"), seat.tabs[0].split("/")[1].split("_")[0]
        x, thick = ((-scene.stack.total, scene.stack.mid_plate) if seat.plate == "mid_plate"
                    else (scene.engine.block_length, car.plates.front.thickness))
        ear = rail_clamp.clamp(scene, tabs, x, thick, side, level)
        edges = (in_plate(seat.plate, ear.bolts), *(Edge(key, steel, seat.mount.edge_distance) for key in seat.tabs))
        found.append(Hole(seat.name, (seat.plate, *seat.tabs), tabs.bolt, seat.mount.hole, edges, seat.point))
    for side, foot in zip(rail_clamp.SIDES, held.feet):
        lug = plate_layout.lug(car.plates.front, tabs, scene, side)
        edges = in_plate(foot.plate, lug.bolts), Edge(foot.foot, steel, usual * lug.bolt)
        found.append(Hole(foot.name, (foot.foot, foot.plate), lug.bolt, foot.hole, edges, foot.point))
    if held.ties:
        bored = plate_layout.tie_holes(car.plates.mid, tabs, mounts.support_tube, scene)
        for tie, hole in zip(held.ties, bored):
            edges = in_plate("mid_plate", [hole]), Edge(tie.key, steel, tie.edge)
            found.append(Hole(tie.name, (tie.key, "mid_plate"), tabs.bolt, tie.hole, edges, tie.point))
    if held.strut is not None:
        found += _strut_holes(car, held.strut, in_plate)
    if held.tail is not None:
        found += _tail_holes(car, held.tail)
    return (*found, *_patterns(scene, {key: spec for key, (spec, _flat) in cut.items()}, family, away))


def _strut_holes(car: model.Car, strut: Strut, in_plate) -> list[Hole]:
    steel, end, clevis = catalog.material(car.mounts.limiter_strut.material).family, strut.plate_end, strut.clevis
    bolt_ = car.mounts.limiter_strut.bolt
    ears = ("limiter_bracket", "limiter_seat")
    edges = in_plate("front_plate", limiter.bracket_holes(car.mounts.limiter_strut)), Edge("limiter_bracket", steel, end.edge)
    return [Hole("limiter bracket", ("front_plate", "limiter_bracket"), bolt_, end.hole, edges, strut.point),
            *(Hole(f"limiter strut in its {'bracket' if key == 'limiter_bracket' else 'seat'}", ("limiter_strut", key), bolt_, clevis.hole,
                   (Edge(key, steel, clevis.edge),), strut.point) for key in ears)]


def _tail_holes(car: model.Car, tail: TailMount) -> list[Hole]:
    steel, seat = catalog.material(car.mounts.transmission.material).family, tail.receiver
    return [Hole("tail bolts", ("transmission_mount", "transmission"), tail.tail_bolts.bolt.diameter, tail.tab.hole,
                 (Edge("transmission_mount", steel, tail.tab.edge),), tail.point),
            Hole("cross bolt", ("receiver", "transmission_mount"), tail.bolt.diameter, seat.hole,
                 (Edge("transmission_mount", steel, seat.tube_end), Edge("receiver", steel, seat.sleeve_end)), tail.bolt_point)]


def _patterns(scene: Scene, specs: Mapping[str, mid_plate.Spec | front_plate.Spec], family: Mapping[str, str],
              away: Callable[[str, list], np.ndarray]) -> list[Hole]:
    """The engine's own holes in the plates, size by size; away: from each of some holes in a plate to the nearest edge."""
    found = []
    patterns = [("mid_plate", "rear", scene.engine.rear_holes, -scene.stack.total)]
    if "front_plate" in specs:
        patterns.append(("front_plate", "front", scene.engine.front_holes, scene.engine.block_length))
    for key, face, pattern, x in patterns:
        pattern = mid_plate.drilled(pattern, specs[key].openings)
        for size in sorted({hole[2] for hole in pattern}):
            fits = catalog.bolt_in(size)
            if fits is None or (face == "rear" and scene.engine.dowel_diameter and abs(size - scene.engine.dowel_diameter) < 0.01):
                continue
            own = [hole for hole in pattern if hole[2] == size]
            distances = away(key, own)
            nearest = int(np.argmin(distances))
            found.append(Hole(f"engine's {face} face, bolts {sized(fits.diameter)}", (key, "engine"), fits.diameter, size,
                              (Edge(key, family[key], float(distances[nearest])),),
                              as_point(scene.engine_point(x, own[nearest][0], own[nearest][1])), True))
    return found
