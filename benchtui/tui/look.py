"""How things look: the palette, the inks made of it and the signs, all of them here and nowhere else."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.tui.plain import words

#: The colours. Ink on paper has a contrast of at least 4.5 everywhere (WCAG 2.1, 1.4.3).
PAPER = "#11161a"
RAISED = "#1c242a"
INK = "#d8d5ca"
STRONG = "#fffbef"
QUIET = "#98a3aa"
ACCENT = "#8cc4e8"
VIOLET = "#cdb4f0"
GREEN = "#86d694"
AMBER = "#f4bf5a"
RED = "#ff8578"
DEEP_RED = "#a81f1a"
DEEP_AMBER = "#e0a22e"
DEEP_GREEN = "#24463a"


@dataclass(frozen=True)
class Inks:
    """Rich styles by what they mean."""

    text: str = INK
    strong: str = f"bold {STRONG}"
    title: str = f"bold {PAPER} on {STRONG}"
    quiet: str = QUIET
    key: str = f"bold {ACCENT}"
    accent: str = f"bold {ACCENT}"
    line: str = "#4a565e"
    good: str = f"bold {GREEN}"
    warn: str = f"bold {AMBER}"
    unproved: str = f"bold {VIOLET}"
    bad: str = f"bold {RED}"
    pass_pill: str = f"bold #07140a on {GREEN}"
    unproved_pill: str = f"bold #150b22 on {VIOLET}"
    warn_pill: str = f"bold #1a1203 on {AMBER}"
    stop_pill: str = f"bold #ffffff on {DEEP_RED}"
    info_pill: str = f"bold {PAPER} on {ACCENT}"
    danger: str = f"bold #ffffff on {DEEP_RED}"
    caution: str = f"bold #1a1203 on {DEEP_AMBER}"
    calm: str = f"bold #e6f2ea on {DEEP_GREEN}"
    rehearsal: str = f"bold #150b22 on {VIOLET}"
    meter: str = f"bold {VIOLET}"
    pin: str = f"bold {PAPER} on {AMBER}"
    window: str = f"{GREEN}"
    screened: str = f"{VIOLET}"
    value: str = f"bold {STRONG}"


#: The same without colour: bold, underlined and reversed type alone.
MONO = Inks(
    text="", strong="bold", title="bold underline", quiet="", key="bold", accent="bold", line="",
    good="bold", warn="bold", unproved="bold", bad="bold", pass_pill="bold reverse", unproved_pill="bold underline",
    warn_pill="bold reverse", stop_pill="bold reverse", info_pill="bold reverse", danger="bold reverse",
    caution="bold reverse",
    calm="bold", rehearsal="bold reverse", meter="bold underline", pin="bold reverse", window="bold", screened="",
    value="bold",
)  # fmt: skip


@dataclass(frozen=True)
class Signs:
    """Signs by what they mean, each one cell wide."""

    done: str = "\u2713"
    now: str = "\u25b8"
    open: str = "\u00b7"
    warned: str = "!"
    unproved: str = "\u25c7"
    left_out: str = "-"
    passes: str = "\u2713"
    warns: str = "\u25b2"
    stops: str = "\u25a0"
    asks: str = "?"
    live: str = "\u25a0"
    care: str = "\u25b2"
    calm: str = "\u25cb"
    rule: str = "\u2500"
    ellipsis: str = "\u2026"
    axis: str = "\u2500"
    window: str = "\u2588"
    nominal: str = "\u2503"
    limit: str = "\u2573"
    beyond: str = "\u2591"
    gap: str = "\u2507"
    pointer: str = "\u25bc"
    left: str = "\u25c0"
    right: str = "\u25b6"
    ring: str = "\u00b7"
    dash: str = "\u2504"
    bar: str = "\u2502"
    prompt: str = "\u25b8"


ASCII_SIGNS = Signs(
    done="x", now=">", open=".", warned="!", unproved="%", left_out="-",
    passes="+", warns="!", stops="#", asks="?", live="#", care="!", calm="o",
    rule="-", ellipsis="~", axis="-", window="=", nominal="|", limit="X", beyond=":", gap="/", pointer="v",
    left="<", right=">", ring=".", dash="-", bar="|", prompt=">",
)  # fmt: skip


@dataclass(frozen=True)
class Look:
    """Inks and signs together; `utf8` allows blocks and Braille for big letters and curves."""

    inks: Inks
    signs: Signs
    utf8: bool

    def words(self, text: str) -> str:
        """Foreign `text` fit to show with these signs."""
        return words(text, ascii_only=not self.utf8)


def look(*, utf8: bool, colour: bool) -> Look:
    """The look for a terminal of these abilities."""
    return Look(Inks() if colour else MONO, Signs() if utf8 else ASCII_SIGNS, utf8)
