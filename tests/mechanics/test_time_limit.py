"""A run whose host does not come back from a call ends itself, and leaves the name of what it was asked about."""
from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest
from conftest import WORKBENCH

HANGS = """
import sys
sys.path.insert(0, sys.argv[1])
from crankline import progress, time_limit
time_limit.watch(sys.argv[2])
progress.working_on("Loop, rear")
progress.working_on("Loop, front")
while True: pass
"""


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="the system has no such timer")
def test_a_call_that_never_ends_is_ended(tmp_path):
    done = tmp_path / "done"
    run = subprocess.run([sys.executable, "-c", HANGS, str(WORKBENCH), str(done)], env={**os.environ, "CRANKLINE_LIMIT": "0.2"}, timeout=60)
    assert run.returncode == -signal.SIGPROF
    assert (tmp_path / "done.about").read_text(encoding="utf-8") == "Loop, front" and not done.exists()
