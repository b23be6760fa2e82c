"""The hole schedule for people: a tool a heading, an opening a line, a box to tick. For 80 columns."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean
from benchtui.quantities.sentence import capital

if TYPE_CHECKING:
    from benchtui.metalwork.finding import Finding
    from benchtui.metalwork.layout import Plate
    from benchtui.metalwork.schedule import Step

_WIDTH = 80
_LONGEST_NAME = 18


def care_lines() -> list[str]:
    """What holds at every panel."""
    from benchtui.metalwork.schedule import cautions

    return [line for text in (*cautions(), _PLACES) for line in _wrapped(text, "- ")]


_PLACES = "Places are in mm from the lower left corner, seen from outside: x to the right, y up."


def schedule_lines(plate: Plate) -> list[str]:
    """Everything that is done to a panel, in order."""
    from benchtui.metalwork.schedule import heading, remarks, schedule

    material = plate.panel.material
    sheet = f"{plate.width_mm:.5g} x {plate.height_mm:.5g} mm, {plate.thickness_mm:.3g} mm {material}"
    count = len(plate.cuts)
    openings = "1 opening" if count == 1 else f"{count or 'no'} openings"
    lines = _wrapped(f"{plate.name}: {plate.panel.name}, {sheet}, {openings}", "")
    for text in remarks(plate):
        lines += _wrapped(text, "- ")
    steps = groupby(schedule(plate), key=lambda step: (heading(step, material), step.turns_per_min))
    for number, ((what, turns), together) in enumerate(steps, 1):
        speed = f", at most {turns} turns a minute" if turns else ""
        lines += ["", *_wrapped(f"{capital(what)}{speed}", f"{number:>2}. ")]
        lines += _rows(list(together))
    return lines


def finding_lines(finding: Finding) -> list[str]:
    """A finding of the layout's review."""
    place = " ".join(word for word in (finding.panel, finding.hole) if word)
    source = f" [{finding.source}]" if finding.source else ""
    text = f"{place}: {finding.text}{source}" if place else f"{finding.text}{source}"
    return _wrapped(text, f"{finding.severity:<6}")


def _rows(steps: list[Step]) -> Iterator[str]:
    if not steps[0].hole:
        yield "    [ ] the whole panel"
        return
    wide = min(max(len(clean(step.hole)) for step in steps), _LONGEST_NAME)
    purpose = "for" if steps[0].kind == "mark" else ""
    yield f"        {'hole':<{wide}}        x        y  size         {purpose}".rstrip()
    for step in steps:
        name = clean(step.hole)
        begin = f"    [ ] {name:<{wide}}  {step.x_mm:>7.2f}  {step.y_mm:>7.2f}  {_size(step):<11}  "
        told = "; ".join(_told(step))
        yield from _wrapped(told, begin) if told else [begin.rstrip()]


def _size(step: Step) -> str:
    if step.size_mm is not None:
        return " x ".join(f"{each:.4g}" for each in step.size_mm)
    return "" if step.diameter_mm is None else f"{step.diameter_mm:.4g}"


def _told(step: Step) -> Iterator[str]:
    if step.kind == "mark":
        yield step.what
        if step.turn_deg and step.size_mm is not None:
            yield f"turned by {step.turn_deg:.4g} degrees against the clock"
    if step.note:
        yield step.note


def _wrapped(text: str, begin: str) -> list[str]:
    """`text` behind `begin`, further lines under its first word."""
    return hanging(clean(text), begin, width=_WIDTH)
