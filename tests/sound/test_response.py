"""Corners by interpolation, against a response that is known."""

from __future__ import annotations

from math import log10

import pytest

from benchtui.sound.errors import SoundError
from benchtui.sound.response import response


def level(hertz: float, low: float, high: float) -> float:
    """One high-pass and one low-pass."""
    return -10 * log10(1 + (low / hertz) ** 2) - 10 * log10(1 + (hertz / high) ** 2) - 6.0


def thirds(first: float, last: float) -> list[float]:
    return [hertz for step in range(40) if (hertz := first * 2 ** (step / 3)) <= last]


def test_corners_are_where_half_the_power_is_left() -> None:
    told = response((hertz, level(hertz, 12.0, 31_000.0)) for hertz in thirds(5.0, 80_000.0))
    assert told.low_hz == pytest.approx(12.0, rel=0.01)
    assert told.high_hz == pytest.approx(31_000.0, rel=0.01)
    assert told.middle_hz == pytest.approx(1000.0, rel=0.13)


def test_corners_that_were_not_reached_are_none_and_order_is_no_matter() -> None:
    told = response([(10_000.0, -6.2), (100.0, -6.1), (1000.0, -6.0)])
    assert (told.low_hz, told.high_hz) == (None, None)
    assert [point.db for point in told.points] == pytest.approx([-0.1, 0.0, -0.2])


def test_two_captures_tell_no_corner() -> None:
    assert response([(1000.0, -6.0), (20_000.0, -12.0)]).high_hz is None


@pytest.mark.parametrize(("levels", "said"), [([(1000.0, -6.0)], "two frequencies"), ([(1e3, -6.0)] * 2, "same freq")])
def test_too_few_captures_are_refused(levels: list[tuple[float, float]], said: str) -> None:
    with pytest.raises(SoundError, match=said):
        response(levels)
