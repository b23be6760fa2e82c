"""The moments after switch-on of whole builds: what is told of filters that swing and of inrush.

That the numbers are right is for tests/circuit/test_switch_on.py, against ngspice.
"""

from __future__ import annotations

import pytest

from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build, Limits
from benchtui.circuit import switch_on as circuit_switch_on
from benchtui.forecast.reservoirs import capacitor_peaks
from benchtui.forecast.review_state import Walk, stage_states
from benchtui.forecast.rules_parts import switch_on_volts
from benchtui.forecast.rules_supply import inrush
from benchtui.forecast.run import cold_at_highest_mains
from benchtui.forecast.switched_on import switched_on
from tests.forecast.rules import told_of_stages
from tests.reference.amplifiers import build


def changed(made: Build, table: str, part: str, **fields: object) -> Build:
    entries = dict(getattr(made, table))
    entries[part] = entries[part].model_copy(update=fields)
    return made.model_copy(update={table: entries})


def told(rule, made: Build) -> set[tuple[str, str, str]]:
    states = stage_states(made, "supply")
    assert states is not None
    return told_of_stages(rule, Walk(made, {"supply": states}))


def test_a_choke_swings_the_capacitor_behind_it_above_the_crest() -> None:
    """C: silicon bridge, 47 uF, choke, 47 uF. Steady, both stand at the crest; the second swings 14 % above it."""
    made = build("c").build
    found = switched_on(made, "supply")
    steady = capacitor_peaks(
        made, stage_state(made, "supply", mains_v=253.0), cold_at_highest_mains(made, "supply", trimmed=False)
    )
    assert 1.10 < found.peak_v["C2"] / steady["C2"] < 1.20
    assert found.held_v["C2"] < found.peak_v["C2"]
    assert not found.within_choke, "1.6 A through a choke for 0.3 A"


@pytest.mark.parametrize(
    ("volts", "surge", "choke_a", "wanted"),
    [
        (530.0, None, 3.0, set()),
        (500.0, None, 3.0, {("note", "C2", "switch-on-volts")}),  # an electrolytic stands a tenth more: 550 V
        (470.0, None, 3.0, {("stop", "C2", "switch-on-volts")}),
        (470.0, None, 0.3, {("warn", "C2", "switch-on-volts")}),  # its iron saturates: how much less is not known
        (470.0, 525.0, 3.0, {("note", "C2", "switch-on-volts")}),
    ],
)
def test_surge_ratings_are_for_the_swing(volts: float, surge: float | None, choke_a: float, wanted: set) -> None:
    """522 V on the second capacitor."""
    made = changed(changed(build("c").build, "choke", "L1", amps=choke_a), "capacitor", "C2", volts=volts, surge=surge)
    assert told(switch_on_volts, made) == wanted


def test_a_film_capacitor_has_no_surge_rating_but_a_printed_one() -> None:
    made = changed(build("c").build, "choke", "L1", amps=3.0)
    film = changed(made, "capacitor", "C2", volts=500.0, make="film")
    assert told(switch_on_volts, film) == {("stop", "C2", "switch-on-volts")}


def test_inrush_is_held_against_the_surge_rating() -> None:
    """12 A peak in each leg of the bridge: a 1N4007 stands 30 A for half a cycle (from memory)."""
    made = build("c").build
    assert told(inrush, made) == set()
    weak = {"1N4007": Limits(source="made up", confidence="high", surge_a="10 A")}
    weaker = made.model_copy(update={"limits": {**made.limits, **weak}})
    assert {("stop", name, "inrush") for name in ("D1", "D2", "D3", "D4")} <= told(inrush, weaker)


def test_what_could_not_be_computed_is_no_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    """Newton's method is given no pass at all: nothing settles, and it is said."""
    monkeypatch.setattr(circuit_switch_on, "PASSES", 0)
    switched_on.cache_clear()
    made = build("c").build
    volts, amps = told(switch_on_volts, made), told(inrush, made)
    switched_on.cache_clear()
    assert ("warn", "C1", "switch-on-volts") in volts
    assert ("warn", "D1", "inrush") in amps


def test_a_cold_thermistor_would_halve_it() -> None:
    """Reckoned is the warm one, as when power comes back at once."""
    made = build("c").build
    cold = changed(made, "thermistor", "RT1", value=made.thermistor["RT1"].cold)
    assert switched_on(cold, "supply").peak_a["D1"] < 0.7 * switched_on(made, "supply").peak_a["D1"]
