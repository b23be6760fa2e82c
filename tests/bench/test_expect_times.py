"""`benchtui expect --json` of a whole build as a process, beside one that imports numpy and nothing else.

    BENCHTUI_LONG=1 python -m pytest -n 0 -s tests/bench/test_expect_times.py

Cold: nothing kept from before. Warm: asked again. Memory is the largest of the process and of each that it splits off.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROUNDS = 5
NAMES = ("pp-6v6", "pp-el34", "se-stereo")


@dataclass(frozen=True)
class Cost:
    """Of one process: wall and processor seconds, megabytes."""

    wall_s: float
    cpu_s: float
    peak_mb: float


def cost(cache: Path, *arguments: str) -> Cost:
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = str(cache.parent / "compiled")  # as an installed package is: compiled before
    begin = time.perf_counter()
    done = subprocess.Popen(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=environment | {"XDG_CACHE_HOME": str(cache)},
        stdout=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(done.pid, 0)
    done.returncode = os.waitstatus_to_exitcode(status)
    assert done.returncode == 0
    wall_s = time.perf_counter() - begin
    return Cost(wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


@pytest.mark.parametrize("name", NAMES)
def test_expect_beside_an_import_of_numpy(name: str, tmp_path: Path) -> None:
    expect = ("-m", "benchtui.cli.main", "expect", f"builds/{name}.toml", "--json")
    thousand = ("-m", "tests.bench.expect_child", f"builds/{name}.toml", "1000")
    cost(tmp_path / "before", "-c", "import numpy"), cost(tmp_path / "before", *expect)
    found: dict[str, list[Cost]] = {}
    for number in range(ROUNDS):
        cache = tmp_path / str(number)
        found.setdefault("numpy", []).append(cost(cache, "-c", "import numpy"))
        found.setdefault("cold", []).append(cost(cache, *expect))
        found.setdefault("warm", []).append(cost(cache, *expect))
        if ROUNDS > 1:
            found.setdefault("1,000 builds", []).append(cost(cache, *thousand))
    least = {what: (min(c.wall_s for c in costs), min(c.cpu_s for c in costs)) for what, costs in found.items()}
    wall_s, cpu_s = least.pop("numpy")
    for what, (wall, cpu) in least.items():
        peak_mb = max(c.peak_mb for c in found[what])
        print(f"\n{name} {what}: {wall / wall_s:.1f} of numpy's time, {cpu / cpu_s:.1f} of its work, {peak_mb:.0f} MB")
