"""Sound layouts get no finding at all, not even a note."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.metalwork.review import layout_review
from tests.metalwork.layouts import ROOT, review
from tests.metalwork.sound import SOUND


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_layout_has_no_finding(name: str) -> None:
    assert [f"{finding.rule}: {finding.text}" for finding in review(SOUND[name])] == []


def test_ten_of_them_have_openings_to_be_judged() -> None:
    assert sum("[panel." in text for text in SOUND.values()) >= 10


@pytest.mark.parametrize("path", sorted((ROOT / "builds").glob("*.toml")), ids=lambda path: path.stem)
def test_the_panels_of_a_demo_build_have_no_finding(path: Path) -> None:
    assert layout_review(load_checked(path).build) == ()
