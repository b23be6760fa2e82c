"""What the true value may be where the builder's meter shows a number."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log10

from benchtui.identify.spans import Span
from benchtui.quantities.tolerance import Accuracy

_FINEST_OHM = 0.1
_FINEST_V = 1e-4
"""Last digit of the lowest range of a usual hand meter: 0.1 ohm and 0.1 mV (common practice, no source)."""


@dataclass(frozen=True)
class Meter:
    """`counts` of its display, accuracies by what is read, and the ohms of its leads where they are not nulled."""

    counts: int
    ohms: Accuracy
    ac: Accuracy
    dc: Accuracy
    lead_ohm: float = 0.0

    def resistance(self, shown: float) -> Span:
        """Ohms without those of the leads."""
        span = self._span(shown, self.ohms, _FINEST_OHM)
        low, value, high = (max(edge - self.lead_ohm, 0.0) for edge in (span.low, span.value, span.high))
        return Span(low, value, high)

    def beside(self, shown: float) -> Span:
        """Ohms beside another reading on the same range: the share is common to both, the digits are not."""
        span = self._span(shown, Accuracy(0.0, self.ohms.digits), _FINEST_OHM)
        return Span(*(max(edge - self.lead_ohm, 0.0) for edge in (span.low, span.value, span.high)))

    def ac_volts(self, shown: float) -> Span:
        return self._span(shown, self.ac, _FINEST_V)

    def dc_volts(self, shown: float) -> Span:
        """The magnitude."""
        return self._span(abs(shown), self.dc, _FINEST_V)

    def _span(self, shown: float, accuracy: Accuracy, finest: float) -> Span:
        error = shown * accuracy.share + accuracy.digits * self._last_digit(shown, finest)
        return Span(max(shown - error, 0.0), shown, shown + error)

    def _last_digit(self, shown: float, finest: float) -> float:
        """Size of the last digit on the lowest decade range that holds the value."""
        return max(10.0 ** ceil(log10(max(shown, finest) / self.counts)), finest)
