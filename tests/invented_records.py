"""Invented placement records, drawn by a seeded generator: no figure is of a real car, and none proves anything about one.

    python3 tests/invented_records.py > demo_assemblies/records/invented.yaml     writes the demo records again

What is behind them, so that tests know what they look for. A shop has five kinds of car (``KINDS``). Of each car everything but the
powertrain has a mass and a center of gravity that vary from car to car; the engine's mass follows displacement, material and power adder,
its power displacement and adder. The builder aims at a share of weight on the front axle, less for a car with more power for its mass,
and misses that by some tenths of a percent, as he knows some masses badly; the moments of chassis, engine and transmission then give
axle-to-block, which is rounded to a quarter inch, as fixtures are. Crank height follows body, tire and oil pan, with its own scatter.
Elapsed time in s and speed in mph go with the cube root of mass over power, 5.825 (lb/hp)^(1/3) and 234 (hp/lb)^(1/3) (common practice,
no source), with scatter; a car whose share is far below the aim lifts its front wheels, one that is far above it spins, and either costs
time. Some shops leave fields out, and so do these.

Python's own ``random`` makes the same numbers with every version; numpy's streams may change.
"""
from __future__ import annotations

import pathlib
import random
import sys
from dataclasses import dataclass, replace

if __name__ == "__main__":
    sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "workbench"))

from crankline.carfile.lines import block
from crankline.carfile.writer import written
from crankline.record import sparse
from crankline.records.placement_record import PlacementRecord
from crankline.units import DEG, INCH, of

SEED, COUNT = 1320, 72
"""Of the demo records."""

HEAD = """\
# Placement records that are INVENTED, every one of them: drawn by tests/invented_records.py (seed {seed}), which says how.
# Nothing was measured on, or copied from, a real car, and where an engine goes in a real car these say nothing about.
records: 1
rows:
"""


@dataclass(frozen=True)
class Kind:
    """A kind of car: ranges of wheelbase in inches, rest of the car in pounds and where its center of gravity is as a share of the
    wheelbase, displacement in cubic inches, loaded tire radius in inches, the share aimed at; what it may have; crank height in inches."""
    name: str
    body: str
    wheelbase: tuple[float, float]
    rest: tuple[float, float]
    rest_at: float
    displacement: tuple[float, float]
    tire: tuple[float, float]
    aim: float
    adders: tuple[str, ...]
    materials: tuple[str, ...]
    transmission: str
    tires: str
    crank: float


KINDS = (
    Kind("invented street class", "full", (104, 112), (2150, 2500), 0.430, (350, 480), (13.3, 14.3), 0.516, ("none", "nitrous"),
         ("cast_iron",), "automatic", "street", 10.6),
    Kind("invented heavy street class", "full", (106, 115), (2050, 2400), 0.419, (420, 600), (14.4, 15.6), 0.520,
         ("nitrous", "turbocharged", "supercharged"), ("cast_iron", "aluminium"), "automatic", "slick", 10.4),
    Kind("invented full-bodied class, composite shaft", "full", (108, 116), (1700, 1980), 0.355, (520, 680), (15.4, 16.5), 0.500,
         ("none", "nitrous", "turbocharged"), ("aluminium",), "automatic", "slick", 10.0),
    Kind("invented open-bodied class, clutch", "open", (100, 112), (1200, 1480), 0.345, (340, 480), (15.4, 16.5), 0.500,
         ("none", "supercharged"), ("cast_iron", "aluminium"), "manual", "slick", 10.0),
    Kind("invented open-bodied class, automatic", "open", (98, 110), (1230, 1500), 0.345, (340, 560), (15.0, 16.3), 0.503,
         ("none", "nitrous"), ("cast_iron", "aluminium"), "automatic", "slick", 9.8))

BLOCK = {"cast_iron": 350.0, "aluminium": 270.0}
"""Mass of a dressed engine in pounds is this and 0.62 lb for each cubic inch."""
ADDED = {"none": 0.0, "nitrous": 20.0, "supercharged": 85.0, "turbocharged": 70.0}
"""Pounds that a power adder brings."""
OUTPUT = {"none": (1.55, 1.95), "nitrous": (2.1, 2.8), "supercharged": (1.9, 2.7), "turbocharged": (2.3, 3.2)}
"""Horsepower for each cubic inch."""
TRANSMISSION = {"automatic": 205.0, "manual": 165.0}
"""Pounds, with converter or clutch."""
NOTES = ("", "", "", "new shocks that weekend", "short tire", "tail wind", "first time out", "bars moved up one hole")


def records(seed: int = SEED, count: int = COUNT) -> dict[str, PlacementRecord]:
    """Name to record, the same for the same seed."""
    draw = random.Random(seed)
    return {f"invented_{number:03d}": _record(draw, number) for number in range(1, count + 1)}


def _record(draw: random.Random, number: int) -> PlacementRecord:
    kind = KINDS[draw.randrange(len(KINDS))]
    wheelbase = round(2 * draw.uniform(*kind.wheelbase)) / 2
    adder, material = (options[draw.randrange(len(options))] for options in (kind.adders, kind.materials))
    displacement = float(round(draw.uniform(*kind.displacement)))
    engine = round(BLOCK[material] + 0.62 * displacement + ADDED[adder] + draw.gauss(0.0, 12.0))
    power = round(displacement * draw.uniform(*OUTPUT[adder]), -1)
    rest, transmission = draw.uniform(*kind.rest), TRANSMISSION[kind.transmission] + draw.gauss(0.0, 8.0)
    mass = float(round((rest + engine + transmission) / 5) * 5)
    tire = round(20 * draw.uniform(*kind.tire)) / 20
    # What the builder aims at, and by how much he misses it; all moments about the rear axle, lb in.
    aim = kind.aim - 0.05 * (power / mass - 0.5) + draw.gauss(0.0, 0.003)
    rest_at = (kind.rest_at + draw.gauss(0.0, 0.002)) * wheelbase
    block = (aim * mass * wheelbase - rest * rest_at - 10.0 * engine + 14.0 * transmission) / (engine + transmission)
    block = round(4 * (block + draw.gauss(0.0, 0.3))) / 4
    share = (rest * rest_at + engine * (block + 10.0) + transmission * (block - 14.0)) / (mass * wheelbase)
    crank = round(8 * (kind.crank + 0.4 * (tire - sum(kind.tire) / 2) + (0.3 if adder == "supercharged" else 0.0)
                       + draw.gauss(0.0, 0.3))) / 8
    pitch = round(10 * draw.gauss(2.0, 0.35)) / 10
    # How it ran.
    off = share - (kind.aim - 0.05 * (power / mass - 0.5)) + draw.gauss(0.0, 0.002)
    left, lost = ("wheelstand", 0.03) if off < -0.0055 else ("spin", 0.05) if off > 0.0055 else ("straight", 0.0)
    quarter = 5.825 * (mass / power) ** (1 / 3) * (1.0 + abs(draw.gauss(0.0, 0.012)))
    sixty = 0.155 * quarter * (1.0 + lost + draw.gauss(0.0, 0.012))
    eighth = draw.random() < 0.3
    elapsed = (quarter + 1.4 * 0.155 * quarter * lost) / (1.56 if eighth else 1.0)
    speed = 234.0 * (power / mass) ** (1 / 3) * (1.0 + draw.gauss(0.0, 0.01)) / (1.26 if eighth else 1.0)
    day = f"{draw.randint(2019, 2026)}-{draw.randint(3, 10):02d}-{draw.randint(1, 28):02d}"
    found = sparse(
        PlacementRecord, car=f"Invented car {number}", basis="invented", class_=kind.name, body=kind.body, wheelbase=wheelbase * INCH,
        engine=f"invented {displacement:.0f}", displacement=of(displacement, "volume", "in3"), engine_mass=of(engine, "mass", "lb"),
        engine_material=material, power_adder=adder, power=of(power, "power", "hp"), transmission=kind.transmission, tires=kind.tires,
        tire_radius=tire * INCH, mass=of(mass, "mass", "lb"), front_share=round(share, 3), axle_to_block=block * INCH,
        crank_height=crank * INCH, pitch=pitch * DEG, pinion_pitch=round(10 * (pitch + draw.gauss(0.1, 0.2))) / 10 * DEG,
        track="eighth" if eighth else "quarter", sixty_foot=round(sixty, 3), elapsed_time=round(elapsed, 3),
        speed=of(round(speed, 1), "speed", "mph"), left=left, venue="invented strip", date=day,
        note=NOTES[draw.randrange(len(NOTES))] or None)
    # What some shops do not write down.
    gone = {field: None for field in ("displacement", "power", "tire_radius", "pinion_pitch", "speed") if draw.random() < 0.08}
    return replace(found, **gone)


def text(seed: int = SEED, count: int = COUNT) -> str:
    """A file of invented records."""
    lines = [line for name, record in records(seed, count).items()
             for line in block(name, list(written(record, "in", "invented records")), 2)]
    return HEAD.format(seed=seed) + "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(text())
