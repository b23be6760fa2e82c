"""Guide values: their figures, bounds and sources."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from benchtui.parts import guide
from benchtui.parts.errors import PartError
from benchtui.quantities.tolerance import Accuracy

KINDS = {"published", "published (second hand)", "common practice", "memory", "measured", "decision"}


def _names() -> list[str]:
    groups = tomllib.loads(files("benchtui.parts").joinpath("guide.toml").read_text("utf-8"))
    return [f"{group}.{name}" for group, rows in groups.items() for name in rows]


@pytest.mark.parametrize("name", _names())
def test_every_guide_value_has_a_source_and_stands_within_its_bounds(name: str) -> None:
    entry = guide.guide(name)
    assert entry.kind in KINDS and entry.source
    assert sum(x is not None for x in (entry.value, entry.spread, entry.accuracy)) == 1
    if entry.value is not None:
        low = 0 if entry.floor is None else entry.floor
        high = entry.value if entry.ceiling is None else entry.ceiling
        assert low <= entry.value <= high


@pytest.mark.parametrize(
    ("name", "value", "source"),
    [
        ("bond.limit", 0.1, "IEC 60950-1 clause 2.6.3.4, quoted in two places"),
        ("bond.lead_and_bond", 0.3, "DIN VDE 0701-0702:2008 in a tester manual"),
        ("insulation.class_1", 1e6, "IEE Wiring Matters, Autumn 2005, p. 16"),
        ("insulation.class_2", 2e6, "from memory"),
        ("forming.resistor", 1000.0, "EIA-815 as a standards catalogue describes it"),
    ],
)
def test_cold_check_limits_are_the_published_ones(name: str, value: float, source: str) -> None:
    assert guide.value(name) == value, source


def test_forming_time_of_a_capacitor_stored_five_years() -> None:
    """Five minutes and one a month: 65 minutes after 60 months (makers' practice on a web page)."""
    assert guide.value("forming.first_time") + 60 * guide.value("forming.time_per_month") == 65 * 60


def test_leakage_rule_in_si() -> None:
    """0.01 x C x V in uA, uF, V: 100 uF at 450 V leaks 0.45 mA (from memory)."""
    assert guide.value("forming.leakage_a_per_fv") * 100e-6 * 450 == pytest.approx(0.45e-3)


def test_the_clip_takes_a_reservoir_down_in_its_time() -> None:
    """2.2 kohm on 200 uF: 205 mA at first from 450 V, five time constants 2.2 s, computed."""
    ohm = guide.value("gate.clip_resistor")
    assert 450 / ohm == pytest.approx(0.205, abs=0.0005)
    needed = guide.value("gate.clip_time_constants") * ohm * 200e-6
    assert needed == pytest.approx(2.2) and needed <= guide.value("gate.clip_time")


def test_a_lamp_of_60_watts_is_73_ohm_cold() -> None:
    """230 V, 60 W: 882 ohm hot, a twelfth of it cold (ratio from memory, 10 to 15)."""
    hot = 230**2 / 60
    assert hot == pytest.approx(882, abs=1)
    assert hot / guide.value("lamp.cold_ratio") == pytest.approx(73, abs=1)


def test_spreads_and_accuracies() -> None:
    assert guide.spread("spread.electrolytic") == (-0.2, 0.5)
    assert guide.spread("spread.mains") == (-0.1, 0.1)
    assert guide.accuracy("meter.dc") == Accuracy(0.008, 2)


def test_asking_for_what_is_not_there_is_refused() -> None:
    with pytest.raises(PartError, match="is no guide value"):
        guide.guide("gate.treshold")
    with pytest.raises(PartError, match="is no spread"):
        guide.spread("gate.threshold")
    with pytest.raises(PartError, match="is no single value"):
        guide.value("spread.film")
    with pytest.raises(PartError, match="is no accuracy"):
        guide.accuracy("gate.wait")
