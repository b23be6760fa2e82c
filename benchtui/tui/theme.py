"""The app's own themes for Textual, made of the palette in `look`."""

from __future__ import annotations

from textual.theme import Theme

from benchtui.tui import look

COLOUR = Theme(
    name="bench",
    primary=look.ACCENT,
    accent=look.ACCENT,
    success=look.GREEN,
    warning=look.AMBER,
    error=look.RED,
    foreground=look.INK,
    background=look.PAPER,
    surface=look.RAISED,
    panel=look.RAISED,
    dark=True,
    variables={"entry-cursor": look.ACCENT, "entry-cursor-ink": look.PAPER, "entry-ink": look.STRONG},
)

#: Terminal defaults only: no colour is ever sent.
MONO = Theme(
    name="bench-mono",
    primary="ansi_default",
    secondary="ansi_default",
    accent="ansi_default",
    success="ansi_default",
    warning="ansi_default",
    error="ansi_default",
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    boost="ansi_default",
    dark=True,
    ansi=True,
    variables=dict.fromkeys(
        ("entry-cursor", "entry-cursor-ink", "entry-ink", "ansi-background", "ansi-foreground"), "ansi_default"
    ),
)
