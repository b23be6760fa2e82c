"""A valve socket seen from below, with the pin asked for."""

from __future__ import annotations

from functools import cache
from math import cos, pi, radians, sin

from rich.text import Text

from benchtui.session.view import Socket
from benchtui.tui.drawing.block import block, line
from benchtui.tui.look import Look
from benchtui.tui.plain import cut, wrapped


@cache
def _bases() -> tuple[dict, ...]:
    import tomllib  # here, since the first paint needs no socket
    from importlib.resources import files

    text = files("benchtui.tui.drawing").joinpath("sockets.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text).values())


def _base(name: str) -> dict | None:
    small = name.lower()
    return next((base for base in _bases() if any(word in small for word in base["names"])), None)


def socket(of: Socket | None, look: Look, radius: int, width: int) -> Text:
    """The socket with its pins on a ring of `radius` rows, the pin asked for in reverse, and its name under it.

    A base that is not in the table is shown as a list of its pins. Nothing where no socket is asked for.
    """
    if of is None:
        return Text("")
    inks, words = look.inks, look.words
    base = _base(of.base)
    drawn = _list(of, look, width) if base is None else _ring(of, base, look, radius, width)
    electrode = dict(of.pins).get(of.pin, "")
    name = f" pin {words(of.pin)} " if of.pin.isdigit() else f" {words(of.pin)} "
    first, *rest = wrapped(words(electrode), width - len(name) - 2) or [""]
    drawn.append(line((name, inks.pin), (f" {first}", inks.strong)))
    drawn += [line((" " * (len(name) + 1) + more, inks.strong)) for more in rest]
    return block(drawn, width)


def _list(of: Socket, look: Look, width: int) -> list[Text]:
    drawn = [line((row, look.inks.quiet)) for row in wrapped(look.words(of.base), width)]
    drawn.append(line((look.words(f"{of.valve}  {of.type}"), look.inks.strong)))
    for pin, electrode in of.pins:
        ink = look.inks.pin if pin == of.pin else look.inks.text
        drawn.append(line((f" {look.words(pin):>3} ", ink), (f" {look.words(electrode)}", look.inks.text)))
    return drawn


def _ring(of: Socket, base: dict, look: Look, radius: int, width: int) -> list[Text]:
    inks = look.inks
    across = min(round(radius * 2.6), (width - 4) // 2)
    middle = across + 1
    cells = [[(" ", "")] * (2 * middle + 1) for _ in range(2 * radius + 1)]

    def put(degrees: float, said: str, ink: str, share: float = 1.0) -> None:
        row = radius + round(share * radius * cos(radians(degrees)))
        column = middle - round(share * across * sin(radians(degrees))) - (len(said) - 1) // 2
        for offset, sign in enumerate(said):
            cells[row][column + offset] = (sign, ink)

    steps = round(2 * pi * across)
    for step in range(steps):
        put(360 * step / steps, look.signs.ring, inks.line)
    if "bottom" in base:
        put(0, f" {base['bottom']} ", inks.quiet)
    for number, degrees in enumerate(base["degrees"], start=1):
        pin = str(number)
        if pin == of.pin:
            put(degrees, f" {pin} " if look.inks.pin.count("on ") else f"[{pin}]", inks.pin)
        else:
            put(degrees, f"({pin})" if pin in base.get("thick", ()) else f" {pin} ", inks.text)
    inside = [(of.valve, inks.strong), (of.type, inks.text), ("from below", inks.quiet)]
    for row, (said, ink) in enumerate(inside, start=radius - 1):
        shown = cut(look.words(said), 2 * across - 5, look.signs.ellipsis)
        start = middle - len(shown) // 2
        cells[row][start : start + len(shown)] = [(sign, ink) for sign in shown]
    return [line(*row) for row in cells]
