"""Forecasts from a process of their own: the same answers, told when they fail, and gone with the program."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import soundfile

from benchtui.buildfile.load import load
from benchtui.session.apart import Apart, ForecastFailed
from benchtui.session.forecaster import Forecaster, RealForecaster
from tests.session.made_up import BUILDS
from tests.session.test_hearing import ASKED
from tests.sound.signals import Made

BUILD = load(BUILDS / "pp-6v6.toml").build

#: A program that asks for a forecast, says who computes it, and then waits in a computation without end.
PROGRAM = f"""
from pathlib import Path
from benchtui.buildfile.load import load
from benchtui.session.apart import Apart
build, apart = load(Path({str(BUILDS / "pp-6v6.toml")!r})).build, Apart()
apart.gate(build, "heaters")
print(apart._process.pid, flush=True)
while True:
    apart.review(build)
"""


@pytest.fixture(scope="module")
def apart() -> Iterator[Apart]:
    made = Apart()
    yield made
    made._ended()


def test_a_capture_is_told_there_too(apart: Apart, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", Made(tone=1000.0, seconds=1.0).samples(), 48_000, subtype="PCM_24")
    asked = replace(ASKED, folder=str(tmp_path), meter_v=2.0)
    assert repr(apart.heard(BUILD, asked)) == repr(RealForecaster().heard(BUILD, asked))  # nan is no equal of itself
    assert "no file" in apart.heard(BUILD, replace(asked, whole="b.wav", parts=("b.wav",))).trouble


def test_answers_are_those_of_the_forecaster_itself(apart: Apart) -> None:
    """By their text: a figure that is no number equals nothing, itself included."""
    for ask in (lambda of: of.gate(BUILD, "heaters"), lambda of: of.stage(BUILD, "heaters", 231.0, ())):
        assert repr(ask(apart)) == repr(ask(RealForecaster()))


def test_what_is_computed_wrongly_is_told_in_words_and_the_next_is_computed(apart: Apart) -> None:
    with pytest.raises(ForecastFailed, match="KeyError"):
        apart.trim(BUILD, "output", "no such pot", 300.0, 230.0)
    assert apart.gate(BUILD, "heaters").clip == ("ht", "0")


def test_a_process_that_was_killed_is_told_and_the_next_question_starts_another(apart: Apart) -> None:
    apart.gate(BUILD, "heaters")
    assert apart._process is not None
    apart._process.kill()
    apart._process.wait()
    with pytest.raises(ForecastFailed, match="has ended"):
        apart.gate(BUILD, "heaters")
    assert apart.gate(BUILD, "heaters").clip == ("ht", "0")


def test_it_is_gone_soon_after_the_program_is_killed_in_the_middle_of_a_computation() -> None:
    root = Path(__file__).parents[2]
    with subprocess.Popen([sys.executable, "-c", PROGRAM], stdout=subprocess.PIPE, cwd=root) as program:
        assert program.stdout is not None
        computing = int(program.stdout.readline())
        program.send_signal(signal.SIGKILL)
    end = time.monotonic() + 10.0
    while alive(computing) and time.monotonic() < end:
        time.sleep(0.05)
    assert not alive(computing)


def alive(pid: int) -> bool:
    """Does the process run? One that has ended and that nobody has asked about since does not."""
    try:
        os.kill(pid, 0)
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (ProcessLookupError, FileNotFoundError):
        return False
    return state != "Z"


def test_everything_that_a_session_asks_can_be_asked_of_the_other_process() -> None:
    asked = {name for name in vars(Forecaster) if not name.startswith("_")}
    assert asked and not [name for name in asked if not hasattr(Apart, name)]
