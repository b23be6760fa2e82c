"""Volts by a meter: found, written, read again, and what is wrong with a file that tells them."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.sound.calibration import Calibration, calibrate, doubts, read, written
from benchtui.sound.errors import SoundError
from tests.sound.signals import Made, percent

FOUND = Calibration(17.25, 8.5, -6.147, 997.12, "2026-01-31", 'a "tone".wav')


def test_the_meter_is_held_against_all_that_moves() -> None:
    made = Made(harmonics={2: -20.0}, offset=0.1)
    found = calibrate(made.samples(), made.rate, 2.83)
    with_harmonic = 0.5 * np.hypot(1, percent(-20.0) / 100)
    assert found.volts_full_scale == pytest.approx(2.83 / with_harmonic, rel=1e-6)
    assert found.tone_hz == pytest.approx(made.tone, rel=1e-6) and doubts(found) == ()


def test_what_is_written_is_read() -> None:
    assert read(written(FOUND)) == FOUND


@pytest.mark.parametrize("volts", [0.0, -2.0, float("nan"), float("inf"), 2e4])
def test_a_reading_that_is_none_is_refused(volts: float) -> None:
    with pytest.raises(SoundError, match="no reading to calibrate by"):
        calibrate(Made().samples(), 48_000.0, volts)


def test_noise_calibrates_nothing() -> None:
    with pytest.raises(SoundError, match="no tone stands out"):
        calibrate(0.1 * np.random.default_rng(2).standard_normal(48_000), 48_000.0, 2.83)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no calibration of format 1"),
        ("my letter", "it is no calibration, "),
        (written(FOUND).replace("format = 1", "format = 2"), "no calibration of format 1"),
        (written(FOUND).replace("volts_full_scale = 17.25", "volts_full_scale = -1"), "volts above 0"),
        (written(FOUND).replace("volts_full_scale = 17.25", "volts_full_scale = nan"), "volts_full_scale is missing"),
        (written(FOUND).replace("meter_volts = 8.5", "meter_volts = true"), "meter_volts is missing or no number"),
        (written(FOUND).replace("tone_hz", "tone"), "tone_hz is missing"),
    ],
)
def test_a_file_that_is_none_is_refused(text: str, said: str) -> None:
    with pytest.raises(SoundError, match=said):
        read(text)


def test_a_meter_out_of_its_band_and_a_low_level_are_doubted() -> None:
    said = " ".join(doubts(Calibration(1.0, 1.0, -50.0, 15_000.0)))
    assert "15000 Hz" in said and "-50 dBFS" in said
