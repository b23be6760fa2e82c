"""Layouts for tests: the demo builds and variants of them, changed by a line or two of their text."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

from benchtui.assemble.checked import load_text_checked
from benchtui.assemble.openings import openings_found
from benchtui.buildfile import panel_sense
from benchtui.buildfile.models import Build
from benchtui.buildfile.panels import Panel
from benchtui.metalwork.finding import Finding
from benchtui.metalwork.review import layout_review

ROOT = Path(__file__).parents[2]
EXAMPLE = (ROOT / "tests" / "buildfile" / "example.toml").read_text("utf-8")

Change = tuple[str, str]


_POINT = '[point.p]\nname = "x"\nred = "0"\nblack = "pe"\nquantity = "resistance"\nstages = ["cold"]\n'


@cache
def demo(name: str) -> str:
    """The text of a demo build without points, trims and stages, which say nothing of panels and take half the time."""
    text = (ROOT / "builds" / f"{name}.toml").read_text("utf-8")
    sections = text.split("\n# ---- ")
    return "\n# ---- ".join(each for each in sections if not each.startswith(("Test", "Stages", "Bias --"))) + _POINT


def changed(text: str, *changes: Change) -> str:
    """The text with each change made; what is to be changed must stand there."""
    for old, new in changes:
        if old not in text:
            raise ValueError(f"nothing to change: {old}")
        text = text.replace(old, new)
    return text


_WHOLE: dict[str, Build] = {}


def built(text: str) -> Build:
    """The build of a text, held against the library; what is no panel is read once for all texts that share it."""
    data = tomllib.loads(text)
    panels = {key: Panel.model_validate(panel) for key, panel in data.pop("panel", {}).items()}
    rest = repr(data)
    if rest not in _WHOLE:
        _WHOLE[rest] = load_text_checked(text, "layout.toml").build
    build = _WHOLE[rest].model_copy(update={"panel": panels})
    wrong = [*panel_sense.check(build), *openings_found(build)]
    if wrong:
        raise ValueError(f"no layout to be judged: {wrong}")
    return build


@cache
def review(text: str) -> tuple[Finding, ...]:
    """What the layout of a text is found to have."""
    return layout_review(built(text))


def rules(text: str) -> set[str]:
    """The rules of these findings."""
    return {finding.rule for finding in review(text)}
