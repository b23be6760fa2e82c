"""What the builder's meter makes of a true value: its gain error, last digits, and the way it measures AC."""

from __future__ import annotations

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.buildfile.models import Meter, Point
from benchtui.circuit.elements import Value
from benchtui.circuit.operating import Operating, waveform
from benchtui.quantities.tolerance import FINEST_OHM, FINEST_V

FORM_FACTOR = np.pi / (2.0 * np.sqrt(2.0))
"""An average-responding meter shows the mean magnitude times the form factor of a sine, 1.111."""


def resolution(meter: Meter, quantity: str, values: np.ndarray) -> np.ndarray:
    """Size of the last digit on the lowest decade range that holds each value; same shape and unit as `values`."""
    finest = FINEST_OHM if quantity == "resistance" else FINEST_V
    size = np.maximum(np.abs(values), finest)
    return np.maximum(10.0 ** np.ceil(np.log10(size / meter.counts)), finest)


def shown(meter: Meter, quantity: str, values: np.ndarray, draw: Draw, point: str) -> np.ndarray:
    """`values` as the meter may show them: a gain error for each kind of range, and last digits for each point."""
    if draw.samples is None:
        return values
    kind = {"dc": "dc", "ac": "ac", "ripple": "ac", "resistance": "ohms"}[quantity]
    share, digits = getattr(meter, kind)
    gain = draw.factor("meter", kind, (-share, share))
    last = draw.factor("meter", f"{point} digits", (-digits, digits)) - 1.0
    return values * gain + last * resolution(meter, quantity, values)


def mean_responding(operating: Operating, point: Point) -> Value:
    """An average-responding meter's reading of the AC at `point` as a share of its true rms; shape (samples,)."""
    wave = waveform(operating.between(operating.phasors, point.red, point.black))
    rms = np.sqrt((wave**2).mean(axis=0))
    return np.where(rms > 0, FORM_FACTOR * np.abs(wave).mean(axis=0) / np.where(rms > 0, rms, 1.0), 1.0)
