"""The bottom of every screen: the stages on one line, and the keys."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import StageMark
from benchtui.tui.drawing.block import block, line, spread
from benchtui.tui.look import Look

KEYS = (
    ("F1", "help"), ("F2", "why"), ("F3", "note"), ("F4", "stages"), ("F5", "record"), ("F6", "ohms"), ("F7", "faults"),
    ("F9", "plots"),
)  # fmt: skip


def foot(stages: tuple[StageMark, ...], on_page: bool, hidden: str, look: Look, width: int) -> Text:
    """The stage line and the keys, STOP at the right end and never cut; `hidden` names keys that scroll to more."""
    return block([stage_line(stages, look, width), keys(on_page, hidden, look, width)], width)


def stage_line(stages: tuple[StageMark, ...], look: Look, width: int) -> Text:
    """Each stage with its mark, the present one in capitals with its count; those about it if all don't fit."""
    made = [_stage(mark, look) for mark in stages]
    now = next((n for n, mark in enumerate(stages) if mark.state == "now"), 0)
    first, last = 0, len(made)
    while first < last - 1 and sum(one.cell_len + 2 for one in made[first:last]) > width - 6:
        if now - first > last - 1 - now:
            first += 1
        else:
            last -= 1
    shown = [line((look.signs.ellipsis, look.inks.quiet))] if first else []
    shown += made[first:last]
    shown += [line((look.signs.ellipsis, look.inks.quiet))] if last < len(made) else []
    return Text("", no_wrap=True, end="").join([line((" ", "")), Text("  ").join(shown)])


def stage_sign(mark: StageMark, look: Look) -> tuple[str, str]:
    """The sign of a stage and its ink."""
    signs, inks = look.signs, look.inks
    return {
        "passed": (signs.done, inks.good),
        "passed with warns": (signs.warned, inks.warn),
        "not all measured": (signs.unproved, inks.unproved),
        "now": (signs.now, inks.accent),
        "open": (signs.open, inks.quiet),
        "left out": (signs.left_out, inks.quiet),
    }[mark.state]


def _stage(mark: StageMark, look: Look) -> Text:
    sign, ink = stage_sign(mark, look)
    name = look.words(mark.id)
    if mark.state == "now":
        return line((f"{sign} {name.upper()} {mark.done}/{mark.of}", look.inks.accent))
    return line((f"{sign} ", ink), (name, look.inks.quiet))


def keys(on_page: bool, hidden: str, look: Look, width: int) -> Text:
    """The keys that work now; where the width is small they stand closer, then names go, STOP and what scrolls never.

    The names go from the right, those of the keys that are needed least.
    """
    inks = look.inks
    scrolls = f"{hidden}  " if hidden else ""
    stop = line((scrolls, inks.warn), (" F8 STOP ", inks.stop_pill))
    shown = (("Esc", "back"), *KEYS) if on_page else KEYS
    named = _named(shown, len(shown), "  ", look)
    for count in range(len(shown), -1, -1):
        if named.cell_len + stop.cell_len < width:
            break
        named = _named(shown, count, " ", look)
    return spread(named, stop, width)


def _named(shown: tuple[tuple[str, str], ...], count: int, gap: str, look: Look) -> Text:
    """The keys, the first `count` of them with their names."""
    told = [(key, name if n < count else "") for n, (key, name) in enumerate(shown)]
    parts = [line((key, look.inks.key), (f" {name}" if name else "", look.inks.text)) for key, name in told]
    return line((" ", "")) + Text(gap).join(parts)
