"""The resistance charts of stages as the JSON that README.md describes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from benchtui.cli.json_text import document, number

if TYPE_CHECKING:
    from benchtui.forecast.chart import Chart, Row
    from benchtui.forecast.inspection import Chosen, Inspection
    from benchtui.forecast.probing import Reading
    from benchtui.verdicts.expectation import Expectation


def chart_document(build_id: str, charts: Iterable[tuple[Chart, Inspection]]) -> str:
    """The document of `expect --chart --json`. Ohms are null where a reading is open, or has no end to its window."""
    stages = [
        {
            "stage": chart.stage,
            "chart": [_row(row) for row in chart.rows],
            "slips": inspection.count,
            "inspect": [_chosen(each) for each in (*inspection.anyway, *inspection.further)],
            "unseen": [{"slip": each.id, "text": each.says, "why": each.why} for each in inspection.unseen],
        }
        for chart, inspection in charts
    ]
    return document({"build": build_id, "stages": stages})


def _row(row: Row) -> dict[str, object]:
    return {
        "group": row.group,
        "place": row.name,
        **_reading(row.reading, row.expectation),
        "settles_s": number(row.charging.seconds),
        "capacitors": list(row.charging.parts),
        "without_clip": number(row.bare_ohm),
    }


def _chosen(each: Chosen) -> dict[str, object]:
    made = {"kind": each.reading.kind, "name": each.reading.name, "shows": list(each.adds)}
    return {**_reading(each.reading, each.expectation), **made}


def _reading(reading: Reading, expectation: Expectation) -> dict[str, object]:
    return {
        "reading": reading.id,
        "red": reading.red.node,
        "black": reading.black.node,
        "unit": expectation.unit,
        "nominal": number(expectation.nominal),
        "low": number(expectation.low),
        "high": number(expectation.high),
    }
