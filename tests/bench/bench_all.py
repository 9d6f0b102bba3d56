"""Ratios measured in one run: what the program costs over what it cannot do without."""
from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import replace

import FreeCAD as App
import numpy as np
from timing import best, show

from crankline import ROOT, carfile
from crankline.features import make, read
from crankline.features.apply import apply
from crankline.mechanics import joints, placement, scene

DEMO = os.path.join(ROOT, "demo_assemblies", "full_bodied_automatic.yaml")


def start_of_host() -> float:
    """A bare start of the host that runs us, s."""
    program = next(path for path in (os.path.join(folder, name) for folder in os.environ["PATH"].split(os.pathsep)
                                     for name in ("FreeCADCmd", "freecadcmd")) if os.path.exists(path))
    return best(lambda: subprocess.run([program, "-c", "pass"], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL, check=False), 3)


def build() -> None:
    document = make.document(carfile.read(DEMO), "bench")
    App.closeDocument(document.Name)


def moved() -> float:
    """What OK of Place Powertrain does to the demo document, without a window: apply another placement and recompute, s."""
    car = carfile.read(DEMO)
    document = make.document(car, "bench")
    layout, forth = read.only_layout(document), [True]
    there = replace(car, placement=replace(car.placement, axle_to_block=car.placement.axle_to_block - 12.7))

    def place() -> None:
        apply(layout, there if forth[0] else car, title="Place Powertrain")
        forth[0] = not forth[0]

    found = best(place, 4)
    App.closeDocument(document.Name)
    return found


def placements(count: int = 100_000, looped: int = 500) -> tuple[float, float]:
    """(so many placements in one call, the same by a Python loop, extrapolated from a few), s."""
    place = scene.of(carfile.read(DEMO))
    block = place.block
    rng = np.random.default_rng(1)
    axle, height = rng.uniform(1981.0, 2235.0, count), rng.uniform(229.0, 292.0, count)
    pitch = np.radians(rng.uniform(0.0, 3.5, count))
    setback = place.stack.total + place.transmission.bell_to_seal + place.transmission.joint_from_seal

    def angles(a, h, p):
        frame = placement.locate(placement.Placement(a, h, p), block)
        return joints.driveline(placement.front_joint(frame, setback), frame.axis, place.rear_joint, place.pinion_axis).residual

    whole = best(lambda: angles(axle, height, pitch), 3)
    start = time.perf_counter()
    for values in zip(axle[:looped], height[:looped], pitch[:looped]):
        angles(*values)
    return whole, (time.perf_counter() - start) * count / looped


def main() -> None:
    build()   # first use of Part, YAML and the catalog
    built = best(build, 3)
    show("build of the demo document", built, start_of_host(), "bare host start")
    show("OK of a placement", moved(), built, "a build of the document")
    show("100,000 placements in one call", *placements(), "a Python loop")
    sys.stdout.flush()


main()
