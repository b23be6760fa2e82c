"""Recording, with a card that is made up: what is asked of it, and what is said when it refuses."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import numpy as np
import pytest

from benchtui.sound.card import record
from benchtui.sound.errors import CardError, SoundError


class Refused(Exception):
    """The library's own error."""


def card(monkeypatch: pytest.MonkeyPatch, *, inputs: int = 2, refuses: str = "") -> list[dict[str, object]]:
    """Put a card into place whose samples count up from 0, and give the list of what it is asked to record."""
    asked: list[dict[str, object]] = []

    def query_devices(device: str | None, kind: str) -> dict[str, object]:
        if refuses:
            raise Refused(refuses)
        return {"name": device or "usual", "default_samplerate": 48_000.0, "max_input_channels": inputs}

    def rec(frames: int, **settings: object) -> np.ndarray:
        asked.append({"frames": frames, **settings})
        return np.repeat(np.arange(frames, dtype="float32")[:, None], int(settings["channels"]), axis=1)

    module = SimpleNamespace(query_devices=query_devices, rec=rec, PortAudioError=Refused)
    monkeypatch.setitem(sys.modules, "sounddevice", module)
    return asked


def test_so_many_seconds_come_without_the_click_at_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = card(monkeypatch, inputs=6)
    made = record(2.0)
    assert made.samples.shape == (96_000, 2) and made.samples[0, 0] == 4800
    assert (made.rate, made.device) == (48_000.0, "usual")
    assert asked[0]["frames"] == 100_800 and asked[0]["blocking"] is True


def test_device_and_rate_are_those_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = card(monkeypatch, inputs=1)
    made = record(1.0, "line", 96_000.0)
    assert made.samples.shape == (96_000, 1) and made.device == "line"
    assert (asked[0]["samplerate"], asked[0]["device"], asked[0]["channels"]) == (96_000.0, "line", 1)


def test_a_card_that_refuses_is_quoted_on_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    card(monkeypatch, refuses="No input device\nmatching 'line'")
    with pytest.raises(CardError, match="cannot record: No input device matching 'line'"):
        record(1.0, "line")


@pytest.mark.parametrize("seconds", [0.0, -1.0, 0.1, 1e4, float("nan")])
def test_seconds_that_make_no_sense_are_refused_before_the_card_is_asked(seconds: float) -> None:
    with pytest.raises(SoundError, match="cannot be recorded"):
        record(seconds)


def test_without_the_package_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(CardError, match=r"pip install 'benchtui\[sound\]'"):
        record(1.0)
