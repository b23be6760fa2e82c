"""The resistance chart of the present stage in words, for the page that shows it."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from math import isfinite
from typing import TYPE_CHECKING

from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.forecasts import cold_key
from benchtui.session.places import CHASSIS
from benchtui.session.planning import MOST_COMPUTED
from benchtui.session.tables import table
from benchtui.session.view import ChartPage, ChartRow
from benchtui.verdicts.expectation import Expectation

if TYPE_CHECKING:
    from benchtui.forecast.chart import Chart, Row
    from benchtui.forecast.inspection import Chosen, Inspection


def chart_page(bench: Bench) -> ChartPage:
    """The ohms of the present stage; with power on none, so that nobody reads them then."""
    words = table("words")["chart"]
    facts = bench.forecasts.facts(cold_key(bench.plan, bench.state, bench.phase.stage))
    if bench.state.mode is Mode.POWERED:
        return ChartPage((words["powered"],))
    if facts is None or facts.chart is None or facts.inspection is None:
        return ChartPage((words["nothing"],))
    lines = (words["when"], _clips(facts.chart, words), _slips(facts.inspection, words))
    groups = (_inspection(facts.inspection, words), *_charted(facts.chart))
    return ChartPage(
        tuple(clean(line) for line in lines if line),
        tuple((clean(title), tuple(rows)) for title, rows in groups if rows),
        tuple(clean(line) for line in facts.inspection.unseen_why),
    )


def _clips(chart: Chart, words: dict[str, str]) -> str:
    ends = "; ".join(f"{red} to {black}" for red, black in chart.clips)
    return words["clip" if len(chart.clips) == 1 else "links"].format(ends=ends) if ends else ""


def _slips(found: Inspection, words: dict[str, str]) -> str:
    if not found.count:
        return ""
    told = words["slips"].format(n=found.count, shown=found.shown)
    beyond = found.further[MOST_COMPUTED:]
    return told + (words["offered"].format(n=len(beyond)) if beyond else "")


def _inspection(found: Inspection, words: dict[str, str]) -> tuple[str, list[ChartRow]]:
    return words["inspection"], [_chosen(each) for each in (*found.anyway, *found.further) if each.adds]


def _chosen(each: Chosen) -> ChartRow:
    count = len(each.adds)
    return ChartRow(each.reading.name, *_window(each.expectation), f"shows {count} slip{'s' * (count > 1)}")


def _charted(chart: Chart) -> Iterable[tuple[str, list[ChartRow]]]:
    for group, rows in groupby(chart.rows, key=lambda row: row.group):
        yield group, [ChartRow(row.name, *_window(row.expectation), _note(row)) for row in rows]


def _note(row: Row) -> str:
    notes = ["red on chassis"] if row.reading.red.node == CHASSIS else []
    notes += [f"climbs: {', '.join(row.charging.parts)}"] if row.charging.climbs else []
    notes += [f"{figures.ohms(row.bare_ohm)} unclipped"] if row.bare_ohm is not None else []
    return "; ".join(notes)


def _window(by: Expectation) -> tuple[str, str]:
    if not isfinite(by.nominal):
        return "open", f"over {figures.ohms(by.low)}"
    return figures.ohms(by.nominal), f"{figures.ohms(max(by.low, 0.0))} to {figures.ohms(by.high)}"
