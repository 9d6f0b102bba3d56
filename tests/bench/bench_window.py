"""What a placement window of 200 x 200 x 3 costs at once: figures and every rule that is read, over one placement at a time."""
from __future__ import annotations

import os
import sys

import numpy as np
from timing import seconds, show

from crankline import ROOT, carfile, placement_window

LOOPED = 40


def main() -> None:
    def demo(name: str) -> None:
        car = carfile.read(os.path.join(ROOT, "demo_assemblies", f"{name}.yaml"))
        x, z, pitches = np.linspace(2000.0, 2200.0, 200), np.linspace(216.0, 305.0, 200), np.radians([1.9, 2.0, 2.1])
        judge = placement_window.Judge(car)
        flat = [part.ravel() for part in np.meshgrid(x, z, pitches, indexing="ij")]
        whole = min(seconds(lambda: judge.cells(*flat)) for _ in range(3))
        places = np.random.default_rng(1).integers(0, flat[0].size, LOOPED)
        looped = seconds(lambda: [judge.cells(*([part[i]] for part in flat)) for i in places]) * flat[0].size / LOOPED
        show(f"{name}: window of 200 x 200 x 3 (wanted: under 1000 ms)", whole, looped, "a Python loop")

    for name in ("full_bodied_automatic", "open_clutch"):
        demo(name)
    sys.stdout.flush()


main()
