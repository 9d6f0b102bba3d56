"""Code run in a Python of its own, into which nothing of ours and nothing of the host has been imported: what our modules import by
themselves is seen there.

Numpy and PyYAML, which all of our modules may have, are imported once, in a process that stays; each run is a fork of it.
"""
from __future__ import annotations

import atexit
import json
import subprocess
import sys
from functools import cache

from conftest import WORKBENCH

_SERVER = '''
import json, os, sys, traceback
import numpy, yaml
sys.path.insert(0, sys.argv[1])
for line in sys.stdin:
    told, tells = os.pipe()
    child = os.fork()
    if not child:
        try:
            os.dup2(2, 1)
            exec(compile(json.loads(line), "<bare>", "exec"), {"__name__": "__main__"})
        except BaseException:
            with open(tells, "w") as pipe:
                traceback.print_exc(file=pipe)
            os._exit(1)
        os._exit(0)
    os.close(tells)
    with open(told) as pipe:
        said = pipe.read()
    _child, status = os.waitpid(child, 0)
    print(json.dumps(said or (f"it ended with {status}" if status else "")), flush=True)
'''


@cache
def _server() -> subprocess.Popen:
    process = subprocess.Popen([sys.executable, "-c", _SERVER, str(WORKBENCH)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    atexit.register(process.kill)
    return process


def refusal(code: str) -> str:
    """What went wrong when code ran, our package on the path: a traceback, or how its process ended; empty where nothing did."""
    server = _server()
    assert server.stdin is not None and server.stdout is not None
    print(json.dumps(code), file=server.stdin, flush=True)
    return json.loads(server.stdout.readline())
