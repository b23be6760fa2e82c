"""The forming dialogue: durable before it answers, silent once it cannot be, and told how it was left."""

from __future__ import annotations

import errno
import json
from collections.abc import Iterable
from pathlib import Path

import pytest

from benchtui.cli.answer import Exit
from benchtui.cli.forming_dialogue import prompt, state_of, talk
from benchtui.cli.main import main
from benchtui.identify.forming import Plan
from benchtui.identify.forming_gate import Mode, State
from benchtui.record import Clock, Files, Journal
from tests.identify.on_paper import HEAD
from tests.identify.test_forming_gate import GATE, MODES

PLAN = Plan(50e-6, 450.0, 450.0, 47e3, 10.0, 2200.0, 10.0, 12.0, 10e6, 6000, 3)


class Bench(Clock):
    """A clock that goes on two minutes with each reading of it, and what was said."""

    def __init__(self) -> None:
        self.now, self.said = 0.0, []

    def steady(self) -> float:
        self.now += 120.0
        return self.now

    def talked(self, journal: Journal, lines: Iterable[str]) -> Exit:
        left = iter(lines)

        def hear() -> str:
            try:
                return next(left)
            except StopIteration:
                raise EOFError from None

        return talk(journal, PLAN, hear, self.said.append)


def opened(path: Path, bench: Bench, files: Files | None = None) -> Journal:
    return Journal.create(path / "n.C2.forming", {"forming": "C2"}, clock=bench, **({"files": files} if files else {}))


def test_left_through_the_gate_is_fine_and_is_said(tmp_path: Path) -> None:
    bench = Bench()
    with opened(tmp_path, bench) as journal:
        assert bench.talked(journal, (*GATE, "leave")) is Exit.FINE
        assert state_of(journal.events).mode == "left"
    assert "Left through the gate, not formed yet" in bench.said[-1]


def test_left_without_the_proof_is_a_finding_and_says_live_and_charged(tmp_path: Path) -> None:
    bench = Bench()
    with opened(tmp_path, bench) as journal:
        assert bench.talked(journal, GATE[:5]) is Exit.FINDINGS
    assert "live and charged" in " ".join(bench.said[-1].split())


def test_a_later_start_goes_on_from_the_same_record_at_the_gate(tmp_path: Path) -> None:
    bench = Bench()
    with opened(tmp_path, bench) as journal:
        bench.talked(journal, GATE[:7])
        bench.talked(journal, ())
        assert state_of(journal.events).mode == "plug"


class Full(Files):
    """A disk that is full from some write on."""

    def __init__(self, writes: int) -> None:
        self.left = writes

    def write(self, fd: int, data: bytes) -> int:
        self.left -= 1
        if self.left < 0:
            raise OSError(errno.ENOSPC, "")
        return super().write(fd, data)


@pytest.mark.parametrize("writes", range(3, 9))
def test_where_a_line_cannot_be_saved_it_is_not_answered_and_the_work_halts(tmp_path: Path, writes: int) -> None:
    bench = Bench()
    with opened(tmp_path, bench, Full(writes)) as journal:
        assert bench.talked(journal, (*GATE, "leave")) is Exit.PLACE_WRONG
        saved = [event for event in journal.events if event.kind == "typed"]
    assert "NOT SAVED" in bench.said[-1] and "plug out" in " ".join(bench.said[-1].split())
    assert len([line for line in bench.said if line.startswith("noted.")]) == len(saved)


@pytest.mark.parametrize("mode", [mode for mode in MODES if mode != "left"])
def test_every_mode_asks_for_one_thing_and_says_what_is_typed(mode: Mode) -> None:
    lines = list(prompt(State(mode), PLAN))
    assert lines[1] and lines[2].startswith("  type ") and "{" not in "".join(lines)
    assert "safe" not in " ".join(lines).casefold()


def forming(path: Path, bench: Bench, verdict_volts: str) -> None:
    """A whole forming, the last reading of the last step as given."""
    path.joinpath("n.toml").write_text(
        HEAD + '[capacitor.C2]\nvalue = "50u"\nvolts = "450 V"\nresistor_watts = "10 W"\n'
    )
    steps = [f"{volts:.1f}" for volts in PLAN.steps]
    lines = [*GATE, "close", "47k", "right", "off", "covered"]
    for number, volts in enumerate(steps):
        rounds = 9 if number == 3 else 4
        lines += [volts, f"{float(volts) - 3:.1f}"] * rounds + (["up"] if number < 3 else [])
    lines += [steps[-1], verdict_volts, "stop"]
    lines += ["out", "9.1", "0.3", "9.1", *GATE[2:], "leave"]  # dead so soon after live: the meter is proved once more
    with opened(path, bench) as journal:
        bench.talked(journal, lines)


def test_what_forming_came_to_stands_in_the_section(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bench = Bench()
    forming(tmp_path, bench, "447.2")
    assert "Formed" in bench.said[-1]
    assert main(["identify", str(tmp_path / "n.toml"), "--json"]) == Exit.FINE
    told = json.loads(capsys.readouterr().out)["parts"][0]
    assert told["next"] is None
    assert "[salvaged.C2]" in told["section"] and "formed on" in told["section"] and "leakage" in told["section"]


def test_one_that_breaks_down_at_the_end_is_told_as_not_usable(tmp_path: Path) -> None:
    bench = Bench()
    forming(tmp_path, bench, "300.0")
    assert "Given up" in bench.said[-1]
    assert main(["identify", str(tmp_path / "n.toml")]) == Exit.FINDINGS
