"""What a gate costs in keys: one short entry an item, so that nobody is tempted to go round it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from benchtui.buildfile.models import Build
from benchtui.session.forecaster import GateFacts
from tests.session.made_up import BUILDS, Desk, MadeUp

#: What a meter of three digits shows, by the words that a prompt's title begins with; HT falls on the range it had.
SHOWN = {
    "Prove the meter on DC": "9.2", "Prove the meter on AC": "12.1", "HT has fallen to?": "4", "Round": "0.3",
    "Read the mains side dead": "0.1", "Clip on": "2k2", "Links on": "1", "Prove the meter again, DC": "9.2",
    "Prove the meter again, AC": "12.1",
}  # fmt: skip


class TwoReservoirs(MadeUp):
    """HT and bias supply, each with a reservoir."""

    def gate(self, build: Build, stage: str) -> GateFacts:
        facts = super().gate(build, stage)
        held = [replace(one, id=id, parts=(id,)) for one in facts.gate.reservoirs for id in ("C1", "C5")]
        return replace(facts, gate=replace(facts.gate, reservoirs=tuple(held)))


@pytest.fixture
def at_gate(tmp_path: Path) -> Desk:
    """After the first power with HT."""
    desk = Desk(BUILDS / "pp-el34.toml", tmp_path, forecaster=TwoReservoirs())
    desk.till(lambda view: view.stage == "HT off load" and view.danger.word == "LIVE")
    return desk


def keys(desk: Desk) -> tuple[int, float]:
    """Keys struck, Enter included, up to hands in, and the seconds of the waits."""
    struck, began, waited = 0, desk.clock.passed_s, 0.0
    while (view := desk.session.view()).danger.word != "DEAD AS MEASURED":
        desk.compute()
        view = desk.session.view()
        if view.prompt.entry == "nothing" or view.prompt.title == "Wait":
            waited += view.prompt.wait_s or 0.0
            desk.wait((view.prompt.wait_s or 0.0) + 1.0)
            continue
        if view.prompt.title.startswith("Round"):
            desk.wait(6.0)
        shown = [text for title, text in SHOWN.items() if view.prompt.title.startswith(title)]
        typed = shown[0] if shown else view.prompt.words[0]
        desk.type(typed)
        struck += len(typed) + 1
    assert desk.clock.passed_s > began
    return struck, waited


def test_two_reservoirs_cost_fifty_keys_beside_the_waits_and_one_more_after_stop(at_gate: Desk) -> None:
    at_gate.session.stop()
    struck, waited = keys(at_gate)
    assert struck <= 51 and waited <= 75.0, (struck, waited)
    at_gate.till(lambda view: view.prompt.title == "Switch off")
    at_gate.type("off")
    assert at_gate.session.view().prompt.title == "Pull the plug"
    struck, waited = keys(at_gate)
    assert struck <= 50 and waited <= 75.0, (struck, waited)


def test_every_entry_stands_on_one_screen_with_what_is_done_and_what_comes(at_gate: Desk) -> None:
    at_gate.session.stop()
    at_gate.type("out")
    at_gate.compute()
    view = at_gate.session.view()
    states = [item.state for item in view.prompt.items]
    assert states.count("now") == 1 and states[0] == "done" and len(states) >= 9
