"""What is understood of a line while it is typed, before Enter; the session alone decides what counts."""

from __future__ import annotations

from math import isfinite

from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session.view import View


def typed_value(text: str, view: View) -> float | None:
    """The reading in SI that `text` gives at the present prompt, or None if it gives none."""
    if view.prompt.entry != "number" or view.prompt.unit not in set(Unit) or not text.strip():
        return None
    try:
        value = read(text, Unit(view.prompt.unit), plain=view.step == "gate").value
    except Question:
        return None
    return value if isfinite(value) else None


def echo(text: str, view: View, *, ascii_only: bool) -> tuple[str, bool]:
    """What `text` is taken for, and whether it is understood at all; empty for an empty line."""
    prompt = view.prompt
    if not text.strip():
        return "", True
    if prompt.entry == "words":
        said = " ".join(text.split()).casefold()
        words = [word.casefold() for word in prompt.words]
        if said in words:
            return f"= {said}", True
        return "", any(word.startswith(said) for word in words)
    if prompt.entry != "number" or prompt.unit not in set(Unit):
        return "", True
    try:
        reading = read(text, Unit(prompt.unit), plain=view.step == "gate")
    except Question as question:
        return f"{question.why}: {question.hint}", False
    digits = max(3, sum(sign.isdigit() for sign in text))
    return f"= {show(reading.value, Unit(prompt.unit), digits, ascii=ascii_only)}", True
