"""The shape of the tree: its top-level names, and modules that stay short."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "benchtui", "tests", "builds"}
LONGEST_MODULE = 400

SOURCES = sorted((ROOT / "benchtui").rglob("*.py"))


def tracked() -> list[str]:
    if not (ROOT / ".git").exists():
        pytest.skip("this is no git checkout")
    listing = subprocess.run(
        ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"],
        cwd=ROOT, capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip
    return listing.stdout.rstrip("\0").split("\0")


def test_nothing_else_stands_at_the_top() -> None:
    names = {name.split("/")[0] for name in tracked()}
    assert {name for name in names if not name.startswith(".")} <= TOP_LEVEL


def test_everything_that_belongs_at_the_top_is_there() -> None:
    assert {name.split("/")[0] for name in tracked()} >= TOP_LEVEL


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_stays_short_enough_to_be_one_idea(path: Path) -> None:
    assert path.read_text("utf-8").count("\n") <= LONGEST_MODULE
