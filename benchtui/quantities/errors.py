"""Errors of this package."""

from __future__ import annotations


class QuantityError(ValueError):
    """Text that gives no quantity: `text` as written, `why` not, and `hint` what would be right."""

    def __init__(self, text: str, why: str, hint: str) -> None:
        self.text = text
        self.why = why
        self.hint = hint
        super().__init__(f"{text!r} {why}: {hint}")


class UnknownUnit(QuantityError):
    """A plain number followed by a unit that this package does not know."""


class Question(QuantityError):
    """A reading that is not taken; `ask` is the sentence to show before asking again."""

    def __init__(self, text: str, why: str, hint: str) -> None:
        super().__init__(text, why, hint)
        self.ask = str(self)
