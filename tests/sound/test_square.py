"""Square waves through filters that are known: summed from their Fourier series, so nothing folds back."""

from __future__ import annotations

from math import exp, pi, sqrt

import numpy as np
import pytest

from benchtui.sound.errors import SoundError
from benchtui.sound.square import corner_of_droop, droop_of, square_wave


def square(
    hertz: float, rate: float, *, low: float = 0.0, high: float = 1e9, damping: float | None = None
) -> np.ndarray:
    """16 periods of a square wave of +-0.4, behind a high-pass and a low-pass, of second order with `damping`."""
    time = np.arange(int(16 * rate / hertz)) / rate
    made = np.zeros(len(time))
    for order in range(1, int(rate / 2 / hertz) + 1, 2):
        s = 1j * order * hertz
        through = (s / (s + low)) if low else 1.0
        through *= 1 / (1 + s / high) if damping is None else 1 / (1 + 2 * damping * s / high + (s / high) ** 2)
        made += np.real(4 / pi / order / 1j * through * np.exp(2j * pi * order * hertz * time))
    return 0.4 * made


@pytest.mark.parametrize(("hertz", "low", "rate"), [(40.0, 3.0, 48_000), (100.3, 5.0, 96_000), (1000.7, 20.0, 192_000)])
def test_the_droop_is_that_of_the_high_pass(hertz: float, low: float, rate: float) -> None:
    told = square_wave(square(hertz, rate, low=low, high=hertz * 20), rate)
    assert told.hertz == pytest.approx(hertz, rel=1e-4)
    assert told.droop_percent == pytest.approx(100 * (1 - exp(-pi * low / hertz)), abs=0.1)
    assert told.low_hz == pytest.approx(low, rel=0.02)
    assert told.step == pytest.approx(0.8, rel=0.005)


@pytest.mark.parametrize("high", [2000.0, 5000.0, 10_000.0])
def test_the_rise_time_is_that_of_the_low_pass(high: float) -> None:
    """A first-order low-pass takes ln 9 / (2 pi f) from 10 to 90 %, which is 0.35 / f."""
    told = square_wave(square(high / 20, 192_000, high=high), 192_000)
    assert told.rise_s == pytest.approx(np.log(9) / (2 * pi * high), rel=0.02)
    assert told.high_hz == pytest.approx(high, rel=0.02) and not told.rise_limited
    assert told.overshoot_percent < 0.3 and told.low_hz is None


@pytest.mark.parametrize("damping", [0.3, 0.5, 0.7])
def test_the_overshoot_is_that_of_the_second_order(damping: float) -> None:
    """exp(-pi d / sqrt(1 - d^2)) of the step (any textbook on control)."""
    told = square_wave(square(500.0, 192_000, high=8000.0, damping=damping), 192_000)
    assert told.overshoot_percent == pytest.approx(100 * exp(-pi * damping / sqrt(1 - damping**2)), abs=0.3)


def test_noise_moves_the_figures_little() -> None:
    made = square(100.0, 96_000, low=5.0, high=5000.0)
    made = made + 1e-3 * np.random.default_rng(3).standard_normal(len(made))
    told = square_wave(made, 96_000)
    assert told.droop_percent == pytest.approx(100 * droop_of(5.0, 100.0), abs=0.3)
    assert told.overshoot_percent < 0.7


def test_an_edge_of_the_converter_itself_says_that_it_is_one() -> None:
    assert square_wave(square(1000.0, 48_000), 48_000).rise_limited


def test_droop_and_corner_are_each_others_inverse() -> None:
    assert corner_of_droop(droop_of(7.0, 50.0), 50.0) == pytest.approx(7.0)
    assert corner_of_droop(0.0, 50.0) is None


@pytest.mark.parametrize(
    ("samples", "said"),
    [
        (np.zeros(1000), "no square wave"),
        (square(1000.0, 48_000)[:200], "no square wave of 10 periods"),
        (square(4000.0, 48_000), "12 samples a period, at least 32"),
        (0.4 * np.sin(2 * pi * 100 * np.arange(48_000) / 48_000), "not flat enough"),
        (3 * square(1000.0, 48_000), "clipped"),
        (np.full(1000, np.nan), "no numbers"),
    ],
)
def test_what_is_no_square_wave_is_refused(samples: np.ndarray, said: str) -> None:
    with pytest.raises(SoundError, match=said):
        square_wave(samples, 48_000)
