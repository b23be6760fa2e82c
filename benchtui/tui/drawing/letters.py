"""Letters three rows high, drawn with half blocks from a table of five rows of dots."""

from __future__ import annotations

from functools import cache

from benchtui.tui.look import Look

_HALVES = {(" ", " "): " ", ("#", " "): "\u2580", (" ", "#"): "\u2584", ("#", "#"): "\u2588"}


@cache
def _table() -> dict[str, list[str]]:
    import tomllib  # here, since the first paint needs no letters
    from importlib.resources import files

    text = files("benchtui.tui.drawing").joinpath("letters.toml").read_text(encoding="utf-8")
    return {sign: shape.replace(".", " ").split("/") for sign, shape in tomllib.loads(text).items()}


def letters(text: str, look: Look) -> tuple[str, str, str] | None:
    """`text` in capitals as three rows, or None where a sign is missing or the look has no blocks."""
    table = _table() if look.utf8 else {}
    shapes = [table.get(sign) for sign in text.upper()]
    if not shapes or any(shape is None for shape in shapes):
        return None
    dots = [" ".join(shape[row] for shape in shapes if shape) for row in range(5)]
    dots.insert(0, " " * len(dots[0]))
    top, middle, bottom = (
        "".join(_HALVES[pair] for pair in zip(dots[row], dots[row + 1], strict=True)) for row in (0, 2, 4)
    )
    return top, middle, bottom
