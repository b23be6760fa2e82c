"""Which channel of a capture is told."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.sound.channels import meant_channel
from benchtui.sound.errors import SoundError

LOUD = np.sin(np.arange(4800) / 7.0)


@pytest.mark.parametrize("decibels", [-20.1, -60.0])
def test_the_loudest_is_told_where_the_other_is_far_below(decibels: float) -> None:
    other = 10 ** (decibels / 20) * np.cos(np.arange(4800) / 5.0)
    assert meant_channel(np.stack([other, LOUD], axis=1)) == 2


def test_two_that_are_about_as_loud_are_asked_about_unless_they_are_one_signal() -> None:
    other = 10 ** (-19.5 / 20) * np.cos(np.arange(4800) / 5.0)
    with pytest.raises(SoundError, match="channels 1 and 2 are about as loud"):
        meant_channel(np.stack([LOUD, other], axis=1))
    assert meant_channel(np.stack([LOUD, other], axis=1), 2) == 2
    assert meant_channel(np.stack([LOUD, LOUD], axis=1)) == 1


@pytest.mark.parametrize("named", [0, 3])
def test_a_channel_that_is_not_there_is_refused(named: int) -> None:
    with pytest.raises(SoundError, match=f"no channel {named}, it has 2"):
        meant_channel(np.stack([LOUD, LOUD], axis=1), named)
