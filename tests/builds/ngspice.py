"""ngspice run on a deck, and its results as arrays."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np

PROGRAM = shutil.which("ngspice")

_SHOWN = re.compile(r"^shown = ([-+0-9.eE]+)\s*$", re.M)


class SpiceError(RuntimeError):
    """ngspice stopped without a result; the message is what it printed last."""


def transient(lines: list[str], *, timeout_s: float = 120) -> dict[str, np.ndarray]:
    """Every saved vector of a deck whose control block writes `out.raw`, by its lower-case name, time included."""
    with tempfile.TemporaryDirectory() as folder:
        said = _run(lines, Path(folder), timeout_s)
        raw = Path(folder, "out.raw")
        if not raw.exists():
            raise SpiceError(said[-2000:])
        return _vectors(raw.read_bytes())


def table(lines: list[str]) -> np.ndarray:
    """The columns of numbers that a deck's control block writes to `out.txt`."""
    with tempfile.TemporaryDirectory() as folder:
        said = _run(lines, Path(folder))
        written = Path(folder, "out.txt")
        if not written.exists():
            raise SpiceError(said[-2000:])
        return np.loadtxt(written)


def show(expression: str) -> list[str]:
    """Control lines that show the value of `expression`, for `shown` to find."""
    return [f"let shown = {expression}", "print shown"]


def shown(lines: list[str]) -> list[float]:
    """The numbers that the deck's control block shows, in order."""
    with tempfile.TemporaryDirectory() as folder:
        said = _run(lines, Path(folder))
    values = [float(match[1]) for match in _SHOWN.finditer(said)]
    if not values:
        raise SpiceError(said[-2000:])
    return values


def _run(lines: list[str], folder: Path, timeout_s: float = 120) -> str:
    if PROGRAM is None:
        raise SpiceError("ngspice is not installed")
    deck = folder / "deck.cir"
    deck.write_text("\n".join(lines) + "\n", "utf-8")
    done = subprocess.run([PROGRAM, "-b", str(deck)], cwd=folder, capture_output=True, text=True, timeout=timeout_s)
    return done.stdout + done.stderr


def _vectors(raw: bytes) -> dict[str, np.ndarray]:
    head, data = raw.split(b"Binary:\n", 1)
    text = head.decode("ascii", "replace")
    count = int(re.search(r"No\. Variables: (\d+)", text)[1])
    names = re.findall(r"^\s*\d+\t(\S+)\t", text.split("Variables:\n", 1)[1], re.M)
    table = np.frombuffer(data, dtype="<f8").reshape(-1, count)
    return {name.lower(): table[:, k] for k, name in enumerate(names)}
