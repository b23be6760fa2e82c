"""The answer to what was typed last: word, sign and colour, in this order of trust."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import Banner
from benchtui.tui.drawing.block import block, line
from benchtui.tui.drawing.letters import letters
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped


def banner(of: Banner | None, look: Look, height: int, width: int) -> Text:
    """The verdict or answer in at most `height` rows, its word three rows high where eight are free."""
    if of is None:
        return Text("")
    inks, signs = look.inks, look.signs
    word, sign, pill = {
        "pass": ("PASS", signs.passes, inks.pass_pill),
        "not measured": ("NOT MEASURED", signs.unproved, inks.unproved_pill),
        "warn": ("WARN", signs.warns, inks.warn_pill),
        "stop": ("STOP", signs.stops, inks.stop_pill),
        "question": ("ASKS", signs.asks, inks.info_pill),
        "refused": ("NOT TAKEN", signs.asks, inks.warn_pill),
        "info": ("NOTE", signs.open, inks.info_pill),
    }[of.kind]
    name = f" {word} {sign} "
    large = letters(word, look) if height >= 8 and of.kind in ("pass", "warn", "stop") else None
    if large is None:
        margins = [line((" ", ""), (name, pill), ("  ", ""))]
    else:
        wide = len(large[0]) + 4
        margins = [line((" ", ""), (f"  {row}  ", pill), ("  ", "")) for row in large]
        margins[1] = line((" ", ""), (f"  {large[1]}  ", pill), ("  ", ""))
        margins.append(line((" ", ""), (f"{name:^{wide}}", pill), ("  ", "")))
    indent = margins[0].cell_len
    said = [(row, inks.strong) for row in wrapped(look.words(of.text), width - indent - 1)]
    for more in of.more:
        said += [(row, inks.text) for row in wrapped(look.words(more), width - indent - 1)]
    if len(said) > height:
        said = [*said[: height - 1], ("F2 shows the rest", inks.quiet)]
    drawn = []
    for number in range(max(len(said), len(margins))):
        lead = margins[number] if number < len(margins) else line((" " * indent, ""))
        row, ink = said[number] if number < len(said) else ("", "")
        drawn.append(Text("", no_wrap=True, end="").join([lead, line((row, ink))]))
    return block(drawn, width)
