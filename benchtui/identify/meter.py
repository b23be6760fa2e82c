"""What the true value may be where the builder's meter shows a number."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.identify.spans import Span
from benchtui.quantities.tolerance import FINEST_OHM, FINEST_V, Accuracy, last_digit


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
        span = self._span(shown, self.ohms, FINEST_OHM)
        low, value, high = (max(edge - self.lead_ohm, 0.0) for edge in (span.low, span.value, span.high))
        return Span(low, value, high)

    def beside(self, shown: float) -> Span:
        """Ohms beside another reading on the same range: the share is common to both, the digits are not."""
        span = self._span(shown, Accuracy(0.0, self.ohms.digits), FINEST_OHM)
        return Span(*(max(edge - self.lead_ohm, 0.0) for edge in (span.low, span.value, span.high)))

    def ac_volts(self, shown: float) -> Span:
        return self._span(shown, self.ac, FINEST_V)

    def dc_volts(self, shown: float) -> Span:
        """The magnitude."""
        return self._span(abs(shown), self.dc, FINEST_V)

    def _span(self, shown: float, accuracy: Accuracy, finest: float) -> Span:
        error = shown * accuracy.share + accuracy.digits * last_digit(shown, self.counts, finest)
        return Span(max(shown - error, 0.0), shown, shown + error)
