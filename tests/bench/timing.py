"""How measurements are taken and shown. Ratios only: a time by itself says more of the machine than of the program."""
from __future__ import annotations

import time


def best(action, times: int = 5) -> float:
    """Shortest of several runs, s."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        found.append(time.perf_counter() - start)
    return min(found)


def seconds(action) -> float:
    """Seconds of the processor that an action takes: other work on the machine does not count."""
    start = time.process_time()
    action()
    return time.process_time() - start


def show(what: str, ours: float, theirs: float, against: str) -> None:
    """One line: what it takes, and how many times that of what it is measured against."""
    print(f"{what:58s} {ours * 1e3:9.2f} ms  = {ours / theirs:8.4f} x  {against} ({theirs * 1e3:.2f} ms)")
