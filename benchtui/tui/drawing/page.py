"""Pages of text: help, reasons, the record, the stages, the power-off text."""

from __future__ import annotations

from rich.text import Text

from benchtui.session.view import LogLine, View
from benchtui.tui.drawing.block import block, filled, line
from benchtui.tui.drawing.foot import stage_sign
from benchtui.tui.drawing.head import mark as rehearsal_mark
from benchtui.tui.drawing.letters import letters
from benchtui.tui.look import Look
from benchtui.tui.plain import wrapped


def _paragraph(said: str, ink: str, look: Look, width: int) -> list[Text]:
    return [line((f" {row}", ink)) for row in wrapped(look.words(said), min(width - 2, 100))]


_DO_NOW = {"POWER OFF": "switch off, pull the plug", "HANDS OUT": "touch nothing inside"}


def power_off(word: str, lines: tuple[str, ...], saved: int | None, look: Look, width: int) -> Text:
    """The power-off text under its `word`: nothing else is on the screen but the danger strip and the field."""
    inks = look.inks
    large = letters(word, look) if width >= 60 else None
    rows = large or (word,)
    drawn = [filled(Text(""), width, inks.danger)]
    drawn += [filled(line((f"   {row}", "")), width, inks.danger) for row in rows]
    drawn += [filled(Text(""), width, inks.danger), Text("")]
    for number, said in enumerate(lines):
        drawn += _paragraph(said, inks.strong if number == 0 else inks.text, look, width)
        drawn.append(Text(""))
    if saved is not None:
        drawn.append(line((f" saved #{saved}", inks.quiet)))
    return block(drawn, width)


def reasons(view: View, look: Look, width: int) -> Text:
    """Why: the banner in full, then the reasons behind the numbers."""
    inks = look.inks
    drawn = [line((" Why ", inks.title)), Text("")]
    if view.banner is not None:
        drawn += _paragraph(view.banner.text, inks.strong, look, width)
        for more in view.banner.more:
            drawn += _paragraph(more, inks.text, look, width)
        drawn.append(Text(""))
    shown = view.banner.more if view.banner is not None else ()
    for reason in view.why or ("There are no numbers behind this step.",):
        drawn += _paragraph(reason, inks.text, look, width) if reason not in shown else []
    return block(drawn, width)


_KEYS = (
    ("F1", "this help"),
    ("F2", "why: the numbers and reasons behind the step or the last verdict"),
    ("F3", "write a note into the record"),
    ("F4", "the stages, what was read in each, and what is open"),
    ("F5", "the record in words"),
    ("F6", "ohms: every pin of this stage without power, and what shows a wiring slip"),
    ("F7", "faults: what may be wrong when a reading is off, and what to read next"),
    ("F8", "STOP: hand off, mains off; works on every screen, at once"),
    ("F9", "every rating with its margin, load lines with operating points, the response, the fall of charges"),
    ("Esc", "back to the bench"),
    ("PgUp PgDn", "move through what does not fit"),
    ("Ctrl+Q", "leave; everything is saved already"),
)


def help_page(view: View, look: Look, width: int) -> Text:
    """Help for the present step, loose ends, the keys, and the caution."""
    inks = look.inks
    drawn = [line((" Help ", inks.title)), Text("")]
    for said in view.help or ("There is no further help for this step.",):
        drawn += _paragraph(said, inks.text, look, width)
    if view.loose:
        drawn += [Text(""), line((" Loose ends", inks.strong))]
        for said in view.loose:
            drawn += _paragraph(said, inks.text, look, width)
    drawn += [Text(""), line((" Keys", inks.strong))]
    for key, said in _KEYS:
        first, *rest = wrapped(said, width - 13)
        drawn.append(line((f" {key:<10} ", inks.key), (first, inks.text)))
        drawn += [line((" " * 12 + row, inks.text)) for row in rest]
    drawn.append(Text(""))
    return block([*drawn, *_paragraph(view.caution, inks.quiet, look, width)], width)


def record(lines: tuple[LogLine, ...], look: Look, width: int) -> Text:
    """The end of the record in words, the newest event last."""
    inks = look.inks
    drawn = [line((" The record ", inks.title)), Text("")]
    if lines and lines[0].n > 1:
        drawn += _paragraph(f"#1 to #{lines[0].n - 1} stand in the record's file.", inks.quiet, look, width)
    for entry in lines:
        first, *rest = wrapped(look.words(entry.text), width - 26) or [""]
        lead = line((f" {'#' + str(entry.n):>6} ", inks.quiet), (f"{look.words(entry.when):<16} ", inks.accent))
        drawn.append(Text("", no_wrap=True, end="").join([lead, line((first, inks.text))]))
        drawn += [line((" " * 25 + row, inks.text)) for row in rest]
    if not lines:
        drawn.append(line((" Nothing is recorded yet.", inks.text)))
    return block(drawn, width)


def notes(lines: tuple[LogLine, ...], look: Look, width: int) -> Text:
    """What a note is for, and the end of the record, where it will stand."""
    inks = look.inks
    drawn = [line((" Note ", inks.title)), Text("")]
    drawn += _paragraph("What you see, hear, smell or changed. It is saved with the time.", inks.text, look, width)
    drawn.append(Text(""))
    for entry in lines[-8:]:
        drawn += _paragraph(f"#{entry.n}  {entry.when}  {entry.text}", inks.quiet, look, width)
    return block(drawn, width)


def stages(view: View, chosen: int, told: tuple[str, ...], look: Look, width: int) -> Text:
    """The stages with their marks, what the chosen one holds, what is open or past a rating, and the loose ends."""
    inks, marks = look.inks, view.stages
    drawn = [line((" Stages ", inks.title), ("   up and down to choose", inks.quiet)), Text("")]
    for number, mark in enumerate(marks):
        sign, ink = stage_sign(mark, look)
        here = number == chosen
        count = f"{mark.done} of {mark.of}" if mark.of else ""
        drawn.append(
            line(
                (f" {look.signs.prompt if here else ' '} {sign} ", inks.accent if here else ink),
                (f"{look.words(mark.title):<36.36}", inks.strong if here else inks.text),
                (f" {mark.state:<18} {count}", inks.quiet),
            )
        )
        if here:
            for said in told:
                drawn += [line((f"       {row}", inks.text)) for row in wrapped(look.words(said), width - 9)]
    lists = {
        "Not measured": view.unmeasured, "Went on from a warn": view.accepted, "Ratings review": view.findings,
        "Loose ends": view.loose,
    }  # fmt: skip
    for title, listed in lists.items():
        if listed:
            drawn += [Text(""), line((f" {title}", inks.strong))]
            for said in listed:
                drawn += _paragraph(said, inks.text, look, width)
    return block(drawn, width)


def small(view: View, leaving: bool, look: Look, width: int) -> Text:
    """For windows too small for work: the state of danger, STOP, and what would help."""
    inks = look.inks
    ink = {"danger": inks.danger, "caution": inks.caution, "calm": inks.calm}[view.danger.level]
    drawn = [line((row, inks.rehearsal)) for row in wrapped(view.rehearsal[:9], width)] if view.rehearsal else []
    drawn += [filled(line((row, "")), width, ink) for row in wrapped(view.danger.word, width)]
    if view.power_off:
        drawn += [line((row, inks.bad)) for row in wrapped(f"{view.alarm}: {_DO_NOW[view.alarm]}", width)]
    drawn.append(line(("F8 STOP", inks.stop_pill)))
    said = "Ctrl+Q again leaves, Esc stays" if leaving else "make the window larger"
    drawn += [line((row, inks.text)) for row in wrapped(said, width)]
    return block(drawn, width)


_CAUTION = (
    "Valve amplifiers hold lethal voltages, also when switched off and unplugged.",
    "This program is an aid and no authority. It never knows that anything is dead: it says what you measured, "
    "and when. Local codes and licensed practice go first.",
)


def opening(stop_wanted: bool, marked: str, look: Look, width: int) -> Text:
    """The first screen, shown while the build is read; `marked` is what stands on top of a rehearsal."""
    inks, top = look.inks, rehearsal_mark(marked, look, width)
    if stop_wanted:
        off = power_off("POWER OFF", ("Hand off, mains off, pull the plug.",), None, look, width)
        return Text("\n", no_wrap=True, end="").join([*top, off])
    drawn = [*top, Text(""), line((" Opening the build ", inks.title)), Text("")]
    drawn += _paragraph(_CAUTION[0], inks.strong, look, width)
    drawn.append(Text(""))
    drawn += _paragraph(_CAUTION[1], inks.text, look, width)
    return block(drawn, width)


def leaving(view: View, look: Look, width: int) -> Text:
    """Asked before leaving a chassis that could hurt somebody meanwhile: what is loose, and a tag for the plug."""
    inks = look.inks
    drawn = [line((" Leave now? ", inks.title)), Text("")]
    drawn += _paragraph(f"{view.danger.word}: {view.danger.detail}", inks.strong, look, width)
    drawn.append(Text(""))
    drawn += _paragraph(
        "Leaving changes nothing on the bench. Hand off, mains off, and pull the plug before you walk away; the "
        "reservoirs stay charged. Everything is saved; the next start begins with the gate.", inks.text, look, width,
    )  # fmt: skip
    if view.tag:
        drawn.append(Text(""))
        drawn += _paragraph("What is loose? A wire, a lead, a valve out, a part on one leg.", inks.strong, look, width)
        drawn += _paragraph(view.tag, inks.text, look, width)
    keys = line((" Ctrl+Q ", inks.key), ("again leaves    ", inks.text), ("Esc ", inks.key), ("stays", inks.text))
    drawn += [Text(""), keys]
    return block(drawn, width)
