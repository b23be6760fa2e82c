"""A winding's current that is only estimated warns in `check` and never stops."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from benchtui.buildfile.models import MainsTransformer
from benchtui.forecast.rules_supply import windings


@pytest.mark.parametrize(("estimated", "severity"), [(False, "stop"), (True, "warn")])
def test_an_estimated_current_warns_where_a_rated_one_stops(estimated: bool, severity: str) -> None:
    winding = {
        "nodes": ("a", "b"),
        "stage": "cold",
        "emf": "280 V",
        "at": "230 V",
        "resistance": "62R",
        "amps": "50 mA",
    }
    transformer = MainsTransformer.model_validate(
        {"primary": {"volts": "230 V"}, "windings": {"W1": {**winding, "estimated": estimated}}}
    )
    run = SimpleNamespace(
        system=SimpleNamespace(network=SimpleNamespace(linear_names={"W1"})), rms=lambda name: np.array([0.2])
    )
    states = SimpleNamespace(
        build=SimpleNamespace(transformer={"T1": transformer}), rated=run, find=lambda *finding: finding
    )
    ((found, name, rule, text, *_),) = windings(states)
    assert (found, name, rule) == (severity, "W1", "winding-current")
    assert ("only estimated" in text) is estimated
