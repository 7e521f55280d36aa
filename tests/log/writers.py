"""Two writers at once, and writers killed at random moments, in processes of their own.

A test module that uses them has ``write_many(folder, name, count)``, which writes things named by
writer and number and says each on standard output, and ``check(folder, acknowledged)``.
"""

from __future__ import annotations

import importlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]


def two_at_once(module: str, folder: Path, count: int) -> list[str]:
    """Return what two writers acknowledged that wrote ``count`` things each at the same time."""
    calls = [f"write_many(Path({str(folder)!r}), {name!r}, {count})" for name in "ab"]
    running = [_started(module, call) for call in calls]
    acknowledged = [line for process in running for line in _said(process).splitlines()]
    assert len(acknowledged) == 2 * count
    return acknowledged


def killed(module: str, folder: Path, kills: int) -> list[str]:
    """Return what the killed writers had acknowledged; at least one was killed while it wrote."""
    call = f"writers.kill_writers({module!r}, Path({str(folder)!r}), {kills})"
    told = json.loads(_said(_started("tests.log", call, "writers")))
    assert told["midway"] > 0  # else the kills fell between the writes and tested nothing
    return told["acknowledged"]


def kill_writers(module: str, folder: Path, kills: int) -> None:
    """Kill writers at random moments; print the acknowledged, and how many died while writing."""
    test = importlib.import_module(module)
    chance = random.Random(20261)
    acknowledged: list[str] = []
    midway = 0
    # On a slow machine a write takes longer than the moments drawn: some more, and later ones.
    for round_ in range(12 * kills):
        late = round_ >= kills
        if late and midway:
            break
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.dup2(writing, 1)
            test.write_many(folder, f"writer {round_}", 1_000)
            os._exit(0)
        os.close(writing)
        # Counted in writes, not in time alone: a busy machine shall not make the check an empty one.
        said_so = b""
        wanted = chance.choice((0, 1, 1, 2))
        while said_so.count(b"\n") < wanted and (more := os.read(reading, 4096)):
            said_so += more
        time.sleep(chance.uniform(0.0, 0.08 if late else 0.012))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(reading, "rb") as pipe:
            said_so += pipe.read()
        acknowledged += said_so.decode().splitlines()
        midway += any(folder.rglob(".*.new"))
        test.check(folder, acknowledged)
    print(json.dumps({"acknowledged": acknowledged, "midway": midway}))  # noqa: T201


def _started(module: str, call: str, names: str = "*") -> subprocess.Popen[str]:
    """Start a call of a module in a process of its own: one thread, so that it may fork."""
    code = f"from pathlib import Path; from {module} import {names}; {call}"
    return subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _said(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    return out
