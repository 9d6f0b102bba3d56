"""Thirty seeded variants of both demo cars in one run, against thirty runs of one car each (extrapolated from two of each demo)."""
from __future__ import annotations

import io
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from timing import show

from crankline import ROOT, carfile, headless, source
from crankline.batch import pool, variants

DEMOS = ("full_bodied_automatic", "open_clutch")
EACH, SINGLE = 15, 2
OPTIONS = ["--remedies", "none", "--event-date", "2026-12-01", "--quiet"]


def written(folder: Path) -> list[Path]:
    """Variants of both demos, the engine up to an inch from where it is and up to 0.2 deg more or less inclined."""
    rng, paths = random.Random(14), []
    for name in DEMOS:
        path = Path(ROOT) / "demo_assemblies" / f"{name}.yaml"
        root, place = source.read(path), carfile.read(path).placement
        for number in range(EACH):
            values = {"placement.axle_to_block": f"{(place.axle_to_block + rng.uniform(-25.4, 25.4)) / 25.4:.3f} in",
                      "placement.pitch": f"{2.0 + rng.uniform(-0.2, 0.2):.2f} deg"}
            target = folder / f"{name}-{number:02}.yaml"
            carfile.save(variants.changed(root, values), target)
            paths.append(target)
    return paths


def main() -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        paths = written(folder)
        begun = time.perf_counter()
        out, err = io.StringIO(), io.StringIO()
        headless.main(["check", *map(str, paths), "--out", str(folder / "results"), *OPTIONS], out, err)
        together = time.perf_counter() - begun
        chosen = [*paths[:SINGLE], *paths[EACH:EACH + SINGLE]]
        begun = time.perf_counter()
        for path in chosen:
            subprocess.run(["bash", os.path.join(ROOT, "workbench", "run"), "check", str(path), "--out", str(folder / "one"), *OPTIONS],
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        single = (time.perf_counter() - begun) * len(paths) / len(chosen)
        show(f"{len(paths)} cars in one run, {pool.jobs_of_machine()} processes", together, single, "as many runs of one car")
        print(out.getvalue().splitlines()[-1])
    sys.stdout.flush()


main()
