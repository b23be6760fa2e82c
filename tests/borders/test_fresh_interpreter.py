"""What importing a package really pulls in, seen in a fresh interpreter."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

#: Package or module below `benchtui` and what importing all of it must not bring along.
ABSENT = {
    "quantities": "numpy pydantic pint textual rich",
    "record": "numpy pydantic pint textual rich benchtui.quantities",
    "verdicts": "numpy pydantic pint textual rich",
    "buildfile": "numpy textual rich",
    "parts": "numpy pint textual rich",
    "identify": "numpy pydantic pint textual rich benchtui.buildfile benchtui.record",
    "circuit": "pydantic pint textual rich",
    "sound": "pydantic pint textual rich soundfile sounddevice benchtui.buildfile benchtui.circuit",
    "assemble": "textual rich",
    "metalwork": "numpy textual rich reportlab drawsvg ezdxf",
    "procedure": "numpy pydantic pint textual rich benchtui.circuit benchtui.record",
    "forecast": "textual rich benchtui.record benchtui.procedure",
    "diagnosis": "textual rich benchtui.record benchtui.procedure",
    "wiring": "textual rich benchtui.record benchtui.procedure",
    "rehearsal": "textual rich benchtui.record benchtui.procedure",
    "session": "textual rich",
    "tui": "numpy pydantic pint benchtui.sound",
    "cli.main": "numpy pydantic pint textual rich benchtui.sound",
}


def modules(name: str) -> list[str]:
    """The module called `name`, or every module of the package called so."""
    place = ROOT / "benchtui" / name.replace(".", "/")
    files = sorted(place.rglob("*.py")) if place.is_dir() else [place.with_suffix(".py")]
    names = [".".join(file.relative_to(ROOT).with_suffix("").parts) for file in files]
    return [name.removesuffix(".__init__") for name in names]


def brought_along(name: str) -> set[str]:
    """Top-level names, and packages of ours, in `sys.modules` after importing `name` alone."""
    lines = [f"import {module}" for module in modules(name)]
    lines += ["import sys", "print(*sys.modules)"]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", "\n".join(lines)],
        cwd=ROOT, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    loaded = done.stdout.split()
    return {name.split(".")[0] for name in loaded} | {name for name in loaded if name.startswith("benchtui.")}


@pytest.mark.parametrize("name", ABSENT)
def test_importing_brings_nothing_along_that_it_must_not(name: str) -> None:
    assert brought_along(name) & set(ABSENT[name].split()) == set()


def test_a_package_that_is_brought_along_is_seen() -> None:
    assert {"numpy", "benchtui.circuit"} <= brought_along("circuit")
