"""Words as a sentence begins and ends."""

from __future__ import annotations


def capital(text: str) -> str:
    """`text` with a capital."""
    return f"{text[:1].upper()}{text[1:]}"


def sentence(text: str) -> str:
    """`text` with a capital and a full stop."""
    return f"{capital(text)}{'' if text.endswith(('.', '?', '!')) else '.'}"
