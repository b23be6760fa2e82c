"""The four-parameter fit against sines with known answers, and against what noise lets anyone know."""

from __future__ import annotations

from math import degrees, pi, sqrt

import numpy as np
import pytest

from benchtui.sound.fit import fit_sine

RATE = 48000.0


def sine(hertz: float, count: int, *, amplitude: float = 0.7, phase: float = 0.4, offset: float = 0.03) -> np.ndarray:
    return amplitude * np.cos(2 * pi * hertz * np.arange(count) / RATE + phase) + offset


@pytest.mark.parametrize("hertz", [20.37, 49.93, 997.123, 15000.7])
@pytest.mark.parametrize("away", [-0.3, 0.0, 0.3])
def test_a_clean_sine_is_found_whole(hertz: float, away: float) -> None:
    count = 48000
    fit = fit_sine(sine(hertz, count), RATE, hertz + away * RATE / count)
    assert fit.settled
    assert fit.hertz == pytest.approx(hertz, rel=1e-9)
    assert fit.amplitude == pytest.approx(0.7, rel=1e-9)
    assert fit.phase_deg == pytest.approx(degrees(0.4), abs=1e-6)
    assert fit.offset == pytest.approx(0.03, abs=1e-9)
    assert fit.residual_rms < 1e-9


def test_in_noise_its_frequency_is_as_good_as_can_be() -> None:
    """The Cramer-Rao bound: variance of w (rad a sample) >= 24 s^2 / (A^2 N (N^2 - 1)) for a sine with unknown phase,
    amplitude, frequency (S. M. Kay, "Fundamentals of Statistical Signal Processing", vol. 1, 1993, ex. 3.14)."""
    count, noise, trials = 2048, 0.1, 200
    random = np.random.default_rng(5)
    clean = sine(1234.5, count)
    errors = [
        fit_sine(clean + noise * random.standard_normal(count), RATE, 1230.0).hertz - 1234.5 for _ in range(trials)
    ]
    bound = sqrt(24 * noise**2 / (0.7**2 * count * (count**2 - 1))) * RATE / (2 * pi)
    # 200 trials tell an rms within 5 %; three times that
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(bound, rel=0.15)


def test_what_is_left_over_is_the_noise() -> None:
    random = np.random.default_rng(6)
    fit = fit_sine(sine(997.0, 48000) + 0.01 * random.standard_normal(48000), RATE, 997.1)
    assert fit.residual_rms == pytest.approx(0.01, rel=0.01)


def test_a_sine_that_is_elsewhere_does_not_settle() -> None:
    assert not fit_sine(sine(997.0, 48000), RATE, 1100.0).settled
