"""What `check` and the app are told of panels: lengths in metres, the stage `metal`, and where the panel is."""

from __future__ import annotations

import pytest

from benchtui.forecast import review
from benchtui.forecast.results import Finding
from benchtui.session.findings import objections, told
from benchtui.session.reviewing import panel_findings, whole_review
from tests.metalwork.layouts import built
from tests.metalwork.planted import PLANTED


def test_lengths_are_in_metres_and_the_part_is_panel_and_hole() -> None:
    (found,) = panel_findings(built(PLANTED["a hole at the edge"].text))
    assert (found.stage, found.part, found.rule) == ("metal", "top extra", "panel-hole-edge")
    assert (found.value, found.limit) == (pytest.approx(1.5e-3), pytest.approx(3e-3))


def test_findings_about_parts_and_panels_stand_worst_first(monkeypatch: pytest.MonkeyPatch) -> None:
    parts = (
        Finding("warn", "supply", "C1", "capacitor-volts", "510 V of 450 V", 510.0, 450.0, "marked"),
        Finding("note", "supply", "", "gate-cost", "2 minutes", None, None, "computed"),
    )
    monkeypatch.setattr(review, "review", lambda build: parts)
    found = whole_review(built(PLANTED["no earth bolt"].text))
    assert [(each.severity, each.rule) for each in found] == [
        ("stop", "panel-earth-missing"),
        ("warn", "capacitor-volts"),
        ("note", "gate-cost"),
    ]


def test_the_app_tells_which_panel_is_meant_and_objects_to_power_without_earth() -> None:
    found = tuple(panel_findings(built(PLANTED["no earth bolt"].text)))
    assert objections(found, "")[0].startswith("top: the chassis is metal and has no earth bolt")
    found = tuple(panel_findings(built(PLANTED["a hole at the edge"].text)))
    assert told(found, "")[0].startswith("warn: top extra: extra: 1.5 mm of sheet to the left edge")
    assert objections(found, "") == ()
