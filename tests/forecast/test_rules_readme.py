"""README.md lists the rules of `check`, all of them and no others."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
MADE_UP = {"anode-w", "screen-w", "anode-v", "screen-v", "cathode-a", "left-out-", "unsolved"}
"""Rules whose names are put together, or told by the review itself."""


def written() -> Iterator[str]:
    """Rule names in the calls that make findings."""
    for module in (ROOT / "benchtui" / "forecast").glob("rules_*.py"):
        for call in ast.walk(ast.parse(module.read_text("utf-8"))):
            name = getattr(call.func, "attr", getattr(call.func, "id", "")) if isinstance(call, ast.Call) else ""
            if name in ("find", "Finding", "_finding", "watts_judged"):
                told = (arg.value for arg in call.args if isinstance(arg, ast.Constant) and isinstance(arg.value, str))
                yield from (text for text in told if re.fullmatch(r"[a-z]+(-[a-z]+)+", text))


def of_panels() -> Iterator[str]:
    """Rule names in the rules of the layout, where some are chosen by the edge that is near."""
    for module in (ROOT / "benchtui" / "metalwork").glob("rules_*.py"):
        for text in ast.walk(ast.parse(module.read_text("utf-8"))):
            if isinstance(text, ast.Constant) and re.fullmatch(r"panel(-[a-z]+)+", str(text.value)):
                yield text.value


def test_readme_lists_every_rule() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    section = readme.split("### What `check` looks at")[1].split("\n## ")[0]
    assert set(re.findall(r"`([a-z]+(?:-[a-z]*)+|unsolved)`", section)) == {*written(), *of_panels(), *MADE_UP}
