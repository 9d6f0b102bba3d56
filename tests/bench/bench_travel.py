"""What a thousand positions of the driveshaft cost at once, over one at a time in a Python loop; and its envelope."""
from __future__ import annotations

import os
import sys

import numpy as np
from timing import best, show

from crankline import ROOT, carfile
from crankline.mechanics import envelope, release, scene, travel

sys.path.append(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from closed_forms import opening_of

COUNT, LOOPED = 1000, 50


def main() -> None:
    def demo(name: str) -> None:
        car = carfile.read(os.path.join(ROOT, "demo_assemblies", f"{name}.yaml"))
        place = scene.of(car)
        given, body = place.rear_end.suspension, travel.body_of(car.driveshaft)
        openings = [opening_of(loop, place) for loop in car.containment.loops]
        lifts = np.linspace(-given.droop, given.bump, COUNT)

        def positions(at):
            return travel.sweep(place, at)

        def everything(at):
            found = positions(at)
            for opening in openings:
                travel.ring_clearance(found, body, opening)
            return release.release(found, car.driveshaft, openings, None, car.car.driver_envelope)

        for what, work in ((f"{COUNT} positions", positions), ("the same with clearances and release", everything)):
            at_once = best(lambda work=work: work(lifts))
            looped = best(lambda work=work: [work(lift) for lift in lifts[:LOOPED]], 3) * COUNT / LOOPED
            show(f"{name}: {what}", at_once, looped, "a Python loop")
        show(f"{name}: sections of the envelope", best(lambda: envelope.sections(place, car.driveshaft)),
             best(lambda: positions(lifts)), f"{COUNT} positions")

    for name in ("full_bodied_automatic", "open_clutch"):
        demo(name)
    sys.stdout.flush()


main()
