"""The window of all spectra.

A 7-term cosine sum, for two reasons. Its side lobes lie 180 dB down, so that a tone of full scale hides no harmonic
that a 24-bit converter could tell. And the energy of a tone stands within its main lobe, 7 bins to either side: levels
are taken as the sum of the lobe, which is the same wherever the tone lies between two bins, so no flat top is needed.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

#: Half the width of its main lobe, in bins: as many as it has terms.
HALF_LOBE = 7


@cache
def coefficients() -> tuple[float, ...]:
    """The window's terms, all positive; their signs alternate."""
    text = files("benchtui.sound").joinpath("windows.toml").read_text("utf-8")
    return tuple(tomllib.loads(text)["seven_term"]["coefficients"])


def window(count: int) -> NDArray[np.float64]:
    """The window over `count` samples, (count,), periodic as a transform wants it."""
    turn = 2 * np.pi * np.arange(count) / count
    result = np.zeros(count)
    for order, term in enumerate(coefficients()):
        result += (-1) ** order * term * np.cos(order * turn)
    return result
