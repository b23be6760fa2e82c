"""The window against its published figures.

Published: H.-H. Albrecht, Proc. IEEE ICASSP 2001, p. 3081-3084, table for 7 terms, as later texts quote it.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.sound.window import HALF_LOBE, coefficients, window

COUNT = 4096
#: Bins between which its transform is looked at: 64 points a bin.
FINE = 64


@pytest.fixture(scope="module")
def transform() -> np.ndarray:
    """Its transform in dB of what stands still, every 1/64 of a bin from 0."""
    padded = np.abs(np.fft.rfft(window(COUNT), COUNT * FINE))
    return 20 * np.log10(np.maximum(padded / padded[0], 1e-14))


def test_its_noise_bandwidth_is_the_published_one() -> None:
    weights = window(COUNT)
    assert COUNT * (weights @ weights) / weights.sum() ** 2 == pytest.approx(2.63025, abs=5e-6)


def test_its_gain_is_the_published_one() -> None:
    assert 20 * np.log10(window(COUNT).mean()) == pytest.approx(-11.33355, abs=5e-6)


def test_its_scalloping_is_the_published_one(transform: np.ndarray) -> None:
    assert transform[FINE // 2] == pytest.approx(-0.48523, abs=5e-6)


@pytest.mark.parametrize(("down", "bins"), [(-3.0, 2.47830), (-6.0, 3.49095)])
def test_its_lobe_is_as_wide_as_published(down: float, bins: float, transform: np.ndarray) -> None:
    half = np.interp(-down, -transform[: 3 * FINE], np.arange(3 * FINE) / FINE)
    assert 2 * half == pytest.approx(bins, abs=1e-3)


def test_its_side_lobes_are_as_low_as_published(transform: np.ndarray) -> None:
    assert transform[HALF_LOBE * FINE :].max() == pytest.approx(-180.468, abs=0.02)


def test_its_lobe_ends_where_it_is_said_to(transform: np.ndarray) -> None:
    assert len(coefficients()) == HALF_LOBE
    assert transform[: (HALF_LOBE - 1) * FINE].min() > -180 > transform[HALF_LOBE * FINE]
