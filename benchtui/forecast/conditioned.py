"""What earlier readings of this build say of later ones: the ensemble narrowed to builds that read alike.

Linear regression of each reading on the earlier ones, over the drawn builds. What it leaves is told by leaving out each
build in turn, so that an ensemble of a few hundred does not flatter itself with thirty regressors; a reading far from
the middle of the ensemble leaves more (textbook: prediction error and leverage of least squares).
Weighing the builds by how well they fit was tried: twenty precise readings leave one build of a thousand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

RIDGE = 1e-3
"""Added to the variance 1 of each earlier reading, so that readings that say the same share what they explain."""

LEAST_VARIED = 1e-9
"""An earlier reading that moves by less than this share of its size over all builds tells nothing."""


@dataclass(frozen=True, eq=False)
class Known:
    """Earlier readings: as drawn (samples, readings), and as this build read them (readings,)."""

    drawn: np.ndarray
    read: np.ndarray


def conditioned(drawn: np.ndarray, known: Sequence[Known]) -> np.ndarray:
    """`drawn` (samples, points) as builds that read like this one would give it; NaN rows and columns stay NaN.

    The result has the same shape and is used like an ensemble: its middle is what is foretold for this build, its
    spread what the earlier readings leave open. Where they tell nothing it is `drawn` itself.
    """
    before = [np.zeros((len(drawn), 0))] + [each.drawn for each in known]
    earlier, read = np.concatenate(before, axis=1), np.concatenate([np.zeros(0)] + [each.read for each in known])
    sound = np.isfinite(earlier).any(axis=0) & np.isfinite(read)
    earlier, read = earlier[:, sound], read[sound]
    points = np.isfinite(drawn).any(axis=0)
    rows = np.isfinite(earlier).all(axis=1) & np.isfinite(drawn[:, points]).all(axis=1)
    if not rows.any():
        return drawn
    middle, spread = earlier[rows].mean(axis=0), earlier[rows].std(axis=0)
    varied = spread > LEAST_VARIED * np.abs(middle)
    if not varied.any():
        return drawn
    x = ((earlier - middle) / np.where(varied, spread, 1.0))[:, varied]
    found = np.full(drawn.shape, np.nan)
    found[np.ix_(rows, points)] = _foretold(
        x[rows], drawn[np.ix_(rows, points)], ((read - middle) / np.where(varied, spread, 1.0))[varied]
    )
    return found


def _foretold(x: np.ndarray, y: np.ndarray, here: np.ndarray) -> np.ndarray:
    """What is foretold at `here` plus what is left over of each row when that row is left out; `y` where no better."""
    count = len(x)
    inverse = np.linalg.inv(x.T @ x + count * RIDGE * np.eye(x.shape[1]))
    slope = inverse @ x.T @ (y - y.mean(axis=0))
    leverage = np.einsum("si,ij,sj->s", x, inverse, x) + 1.0 / count
    left = (y - y.mean(axis=0) - x @ slope) / (1.0 - leverage)[:, None]
    own = 1.0 + here @ inverse @ here + 1.0 / count
    usual = 1.0 + float((leverage / (1.0 - leverage)).mean())
    left = left * np.sqrt(max(1.0, own / usual))
    return np.where(left.std(axis=0) < y.std(axis=0), y.mean(axis=0) + here @ slope + left, y)
