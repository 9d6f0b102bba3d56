"""The as-built fit: whether its 95 % region holds the truth as often as it says, and what 1,000 fits cost in one call."""
from __future__ import annotations

import sys
from pathlib import Path

from timing import seconds, show

sys.path.append(str(Path(__file__).resolve().parents[1]))

import simulated_builds

COUNT = 1000


def main() -> None:
    share = simulated_builds.coverage(COUNT)
    print(f"{f'as-built fit, 95 % region over {COUNT:,} simulated builds':58s} {100.0 * share:9.1f} %   (93 to 97 is right)")
    one = seconds(lambda: [simulated_builds.coverage(1) for _ in range(20)]) / 20.0
    show(f"{COUNT:,} fits in one call", seconds(lambda: simulated_builds.coverage(COUNT)), one * COUNT, "one by one")
    sys.stdout.flush()


main()
