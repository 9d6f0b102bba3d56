"""What placement records say of cars: how often the 80 % interval holds the truth, how often nothing is said, and what it costs."""
from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from timing import seconds

from crankline import ROOT, carfile, records
from crankline.mechanics import scene

sys.path.append(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import invented_records
import record_coverage

SEEDS, CARS = range(101, 113), 50


def told(what: str, found: record_coverage.Coverage) -> None:
    inside = ", ".join(f"{field} {100 * share:.0f} %" for field, share in found.inside.items())
    print(f"{what}: the 80 % interval holds {inside}; {100 * found.refused:.0f} % refused; "
          f"axle-to-block within {found.width / 25.4:.1f} in")


def spread(what: str, found: Sequence[record_coverage.Coverage]) -> None:
    shares = {field: [100 * one.inside[field] for one in found] for field in found[0].inside}
    inside = ", ".join(f"{field} {sum(one) / len(one):.0f} % ({min(one):.0f} to {max(one):.0f})" for field, one in shares.items())
    print(f"{what}: the 80 % interval holds {inside}; {100 * sum(one.refused for one in found) / len(found):.0f} % refused")


def main() -> None:
    demo = records.load([os.path.join(ROOT, "demo_assemblies", "records")])
    told(f"{len(demo.entries)} INVENTED demo records, each left out", record_coverage.leaving_out(demo))
    held = {seed: record_coverage.collection(seed) for seed in SEEDS}
    spread(f"{len(SEEDS)} other seeds of as many INVENTED records, each left out",
           [record_coverage.leaving_out(one) for one in held.values()])
    spread(f"the same, {CARS} cars that none of them is of",
           [record_coverage.of_cars(one, seed + 1000, CARS) for seed, one in held.items()])
    print(f"one figure outside all records: {100 * record_coverage.refused_outside(demo, 7, 40):.0f} % refused (wanted: 100 %)")
    car = carfile.read(os.path.join(ROOT, "demo_assemblies", "full_bodied_automatic.yaml"))
    asked = records.of_car(car, scene.of(car))
    for count in (invented_records.COUNT, 1000):
        held = record_coverage.collection(7, count)
        records.suggest(asked, held)
        print(f"a suggestion from {count} records: {1e3 * seconds(lambda held=held: records.suggest(asked, held)):.0f} ms")
    sys.stdout.flush()


main()
