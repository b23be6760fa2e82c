"""Which channel of a capture is meant."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import SoundError

#: A channel this far below the loudest is no other one that may be meant: hum and noise of an open input. Common
#: practice, no source.
_ALIKE = 10 ** (-20 / 20)


def meant_channel(samples: NDArray[np.float64], named: int | None = None) -> int:
    """The channel, from 1, that is told of `samples` (frames, channels): the `named` one, or the loudest.

    Raises SoundError for one that is not there, and where another channel is about as loud and holds something else.
    """
    count = samples.shape[1]
    if named is not None:
        if not 1 <= named <= count:
            raise SoundError(f"it has no channel {named}, it has {count}")
        return named
    if not len(samples) or not np.isfinite(samples).all():  # refused where it is analysed
        return 1
    rms = np.std(samples, axis=0)
    loudest = int(rms.argmax())
    alike = [k for k in range(count) if k != loudest and rms[k] > _ALIKE * rms[loudest]]
    others = [k for k in alike if not np.array_equal(samples[:, k], samples[:, loudest])]
    if others:
        listed = " and ".join(str(k + 1) for k in sorted((loudest, *others)))
        raise SoundError(
            f"channels {listed} are about as loud: say which one is meant, such as 'channel {loudest + 1}'"
        )
    return loudest + 1
