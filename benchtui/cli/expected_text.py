"""The forecast of a stage as two tables for people: what the meter reads, and what the parts stand."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from benchtui.cli.tables import columns
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

if TYPE_CHECKING:
    from benchtui.forecast.results import StageForecast, Stress
    from benchtui.verdicts.expectation import Expectation

_READING_HEAD = ("point", "quantity", "should read", "from", "to", "stop below", "stop above")
_STRESS_HEAD = ("part", "quantity", "nominal", "from", "to", "limit")
_DIGITS = 3


def stage_lines(forecast: StageForecast) -> list[str]:
    """Lines of both tables; a sentence where a stage has neither."""
    lines: list[str] = []
    if forecast.expectations:
        lines += columns(_READING_HEAD, [_reading(item) for item in forecast.expectations])
    if forecast.expectations and forecast.stresses:
        lines.append("")
    if forecast.stresses:
        lines += columns(_STRESS_HEAD, [_stress(item) for item in forecast.stresses])
    return lines or ["  nothing is computed for this stage"]


def _reading(item: Expectation) -> tuple[str, ...]:
    stops = (limit.value if limit else None for limit in (item.stop_low, item.stop_high))
    return (
        item.point,
        item.quantity,
        *(_value(value, item.unit) for value in (item.nominal, item.low, item.high, *stops)),
    )


def _stress(item: Stress) -> tuple[str, ...]:
    values = (item.nominal, item.low, item.high, item.limit)
    return (item.part, item.quantity.replace("_", " "), *(_value(value, item.unit) for value in values))


def _value(value: float | None, unit: str) -> str:
    if value is None:
        return "-"
    if value == inf and unit == Unit.SECOND:
        return "never"
    return show(value, Unit(unit), _DIGITS, ascii=True)
