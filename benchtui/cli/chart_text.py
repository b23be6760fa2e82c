"""The resistance chart of a stage as tables for people: every pin, and which readings show a wiring slip."""

from __future__ import annotations

from itertools import groupby
from math import isfinite
from typing import TYPE_CHECKING

from benchtui.cli.tables import columns, hanging
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

if TYPE_CHECKING:
    from benchtui.forecast.chart import Chart, Row
    from benchtui.forecast.inspection import Chosen, Inspection
    from benchtui.verdicts.expectation import Expectation

_DIGITS = 3


def chart_lines(chart: Chart, inspection: Inspection) -> list[str]:
    """Lines of the chart, of the readings for the inspection, and of the slips that no ohms show."""
    lines = [] if chart.rows else ["  nothing to read in ohms"]
    for group, rows in groupby(chart.rows, key=lambda row: row.group):
        lines += columns((group, "should read", "from", "to", ""), [_row(row) for row in rows])
    if chart.clips:
        lines += hanging(f"Read with {_clips(chart.clips)}.", "  ")
    if inspection.count:
        lines += ["", *_inspect(inspection)]
    return lines


def _clips(clips: tuple[tuple[str, str], ...]) -> str:
    on = "the bleed clip on" if len(clips) == 1 else "bleed clip and links on"
    return f"{on}, {'; '.join(f'{red} to {black}' for red, black in clips)}"


def _row(row: Row) -> tuple[str, ...]:
    return (row.name, *_window(row.expectation), ", ".join(_notes(row)))


def _notes(row: Row) -> list[str]:
    notes = []
    if row.reading.red.node == "0":
        notes.append("red on the chassis")
    if row.charging.climbs:
        notes.append(f"climbs: {', '.join(row.charging.parts)}")
    if row.bare_ohm is not None:
        notes.append(f"{_ohm(row.bare_ohm)} unclipped")
    return notes


def _inspect(inspection: Inspection) -> list[str]:
    told = f"Of {inspection.count} single slips of wiring, {inspection.shown} show in these readings:"
    lines = hanging(told, "  ")
    listed = [*inspection.anyway, *inspection.further]
    lines += columns(("reading", "should read", "from", "to", "shows"), [_chosen(each) for each in listed])
    lines += ["  The others no reading shows:"] if inspection.unseen else []
    for text in inspection.unseen_why:
        lines += hanging(text, "  - ")
    return lines


def _chosen(each: Chosen) -> tuple[str, ...]:
    added = f"{len(each.adds)} more" if each.adds else "-"
    return (each.reading.name, *_window(each.expectation), added)


def _window(expectation: Expectation) -> tuple[str, str, str]:
    return _ohm(expectation.nominal), _ohm(max(expectation.low, 0.0)), _ohm(expectation.high)


def _ohm(ohm: float) -> str:
    return show(ohm, Unit.OHM, _DIGITS, ascii=True) if isfinite(ohm) else "open"
