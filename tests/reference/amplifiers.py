"""The two reference amplifiers as builds, and their readings."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from benchtui.buildfile.load import Loaded, load_text
from tests.reference.convert import convert

NAMES = ("a", "c")

_HERE = Path(__file__).parent


def described(name: str) -> dict[str, Any]:
    """The JSON description of amplifier `name`, a fresh copy."""
    return _read(f"{name}.json")["amplifier"]


@cache
def build(name: str) -> Loaded:
    """Amplifier `name` converted and loaded."""
    return load_text(convert(described(name)).text, f"{name}.toml")


def nominal(name: str) -> dict[str, Any]:
    """Stage -> readings (under `test_points`) and stresses of the nominal amplifier `name`, by ngspice."""
    return _read(f"{name}_nominal.json")["stages"]


def healthy(name: str) -> list[dict[str, Any]]:
    """Records of sound builds of amplifier `name`: build, stage, mains_v, readings."""
    return _read(f"{name}_healthy.json")["records"]


def faults(name: str) -> list[dict[str, Any]]:
    """Records of builds of amplifier `name` with one fault each: stage, fault, part, readings, outside."""
    return _read(f"{name}_faults.json")["records"]


def _read(file: str) -> dict[str, Any]:
    return json.loads((_HERE / file).read_text("utf-8"))
