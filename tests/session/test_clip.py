"""The bleed clip at the gate, and an HT that is shorted, which hides it."""

from __future__ import annotations

from tests.session.made_up import Desk


def test_a_shorted_ht_lets_hands_in_by_the_clip_read_alone(desk: Desk) -> None:
    view = desk.reach("Clip on")
    view = desk.type("0.2")
    assert view.banner is not None and view.banner.kind == "question" and "HT is shorted" in view.banner.text
    assert view.prompt.title == "Clip alone" and "2.20 kΩ" in " ".join(view.prompt.lines)
    assert desk.type("0.2").banner.kind == "refused"
    assert desk.type("2k2").prompt.title == "Clip on"
    assert desk.type("0.3").prompt.title not in ("Clip on", "Clip alone")
    assert desk.reach("Hands in").danger.word == "ASSUME LIVE"
