"""The forecast of stages as the JSON that README.md describes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from benchtui.cli.json_text import document, number

if TYPE_CHECKING:
    from benchtui.forecast.results import StageForecast, Stress
    from benchtui.verdicts.expectation import Expectation, Limit


def expected_document(build_id: str, mains_v: float, forecasts: Iterable[StageForecast]) -> str:
    """The document of `expect --json`; ids stand as in the build file."""
    stages = [
        {
            "stage": forecast.stage,
            "readings": [_reading(expectation) for expectation in forecast.expectations],
            "stresses": [_stress(stress) for stress in forecast.stresses],
        }
        for forecast in forecasts
    ]
    return document({"build": build_id, "mains_v": mains_v, "stages": stages})


def _reading(expectation: Expectation) -> dict[str, object]:
    return {
        "point": expectation.point,
        **_numbers(expectation),
        "stop_low": _limit(expectation.stop_low),
        "stop_high": _limit(expectation.stop_high),
    }


def _stress(stress: Stress) -> dict[str, object]:
    return {"part": stress.part, **_numbers(stress), "limit": number(stress.limit)}


def _numbers(item: Expectation | Stress) -> dict[str, object]:
    return {
        "quantity": item.quantity,
        "unit": item.unit,
        "nominal": number(item.nominal),
        "low": number(item.low),
        "high": number(item.high),
    }


def _limit(limit: Limit | None) -> float | None:
    return number(limit.value if limit else None)
