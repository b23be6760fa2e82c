"""The one thing to do now, large and first, and the wait that goes with it."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import Prompt
from benchtui.tui.drawing.block import block, line, spread
from benchtui.tui.drawing.letters import letters
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped


def task(prompt: Prompt, look: Look, big: bool, width: int) -> Text:
    """Title with its place in the list, in letters three rows high if `big` and they fit, then what to do."""
    inks, words = look.inks, look.words
    place = line((f"{words(prompt.place)} ", inks.quiet))
    large = letters(words(prompt.title), look) if big else None
    if large is not None and len(large[0]) + len(prompt.title) + 6 <= width:
        name = line((f"{words(prompt.title)} ", inks.quiet))
        drawn = [
            spread(line((f" {row}", inks.strong)), side, width) if row.strip() else Text("")
            for row, side in zip(large, (place, Text(""), name), strict=True)
        ]
        drawn.append(Text(""))
    else:
        first, *rest = wrapped(words(prompt.title), width - place.cell_len - 5) or [""]
        drawn = [spread(line((f" {first} ", inks.title)), place, width)]
        drawn += [line((f" {more} ", inks.title)) for more in rest]
    for number, said in enumerate(prompt.lines):
        ink = inks.strong if number == 0 else inks.text
        drawn += [line((f" {row}", ink)) for row in wrapped(words(said), width - 2)]
    return block(drawn, width)


def wait(seconds: float | None, look: Look, big: bool, width: int) -> Text:
    """The seconds still to wait, as minutes and seconds; nothing where there is no wait."""
    if seconds is None:
        return Text("")
    minutes, rest = divmod(max(int(seconds + 0.999), 0), 60)
    clock = f"{minutes}:{rest:02d}"
    large = letters(clock, look) if big else None
    if large is not None:
        top, middle, bottom = large
        drawn = [
            line((f" {top}", look.inks.accent)),
            line((f" {middle}", look.inks.accent), ("   still to wait", look.inks.text)),
            line((f" {bottom}", look.inks.accent)),
        ]
    else:
        drawn = [line((" still to wait  ", look.inks.text), (clock, look.inks.accent))]
    return block(drawn, width)


def forecast(state: str, text: str, look: Look, width: int) -> Text:
    """A line on the computation behind this stage while it runs or after it failed; nothing when it is ready."""
    if state == "ready":
        return Text("")
    said = look.words(text) or ("computing what this stage should read" if state == "computing" else "no reason given")
    inks = look.inks
    name, ink = ("computing", inks.accent) if state == "computing" else ("NOT COMPUTED", inks.warn)
    return block([line((f" {name}  ", ink), (said, inks.text))], width)
