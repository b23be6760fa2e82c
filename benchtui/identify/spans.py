"""A value with what it may be off: the least and the most that the true one can be."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Span:
    """`low` and `high` enclose the true value, `value` is what was read; all SI, and not below zero."""

    low: float
    value: float
    high: float

    def meets(self, other: Span) -> bool:
        """Can both be the same?"""
        return self.low <= other.high and other.low <= self.high

    def times(self, factor: float) -> Span:
        return Span(self.low * factor, self.value * factor, self.high * factor)

    def by(self, other: Span) -> Span:
        """The product."""
        return Span(self.low * other.low, self.value * other.value, self.high * other.high)

    def over(self, other: Span) -> Span:
        """The quotient. Raises ZeroDivisionError where `other` may be nothing."""
        return Span(self.low / other.high, self.value / other.value, self.high / other.low)

    def plus(self, other: Span) -> Span:
        return Span(self.low + other.low, self.value + other.value, self.high + other.high)

    def wider(self, share: float) -> Span:
        """The same with a `share` more error on each side."""
        return Span(self.low * (1 - share), self.value, self.high * (1 + share))

    def within(self, other: Span) -> Span:
        """What is left where both hold; the value is that of the narrower one, moved inside if need be."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        narrow = self if self.high - self.low <= other.high - other.low else other
        return Span(low, min(max(narrow.value, low), high), high)

    @property
    def off(self) -> float:
        """The larger of both errors as a share of the value; 1 where the value is nothing."""
        return max(self.high - self.value, self.value - self.low) / self.value if self.value > 0 else 1.0


ONE = Span(1.0, 1.0, 1.0)
