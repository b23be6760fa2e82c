"""Exchanges: which are offered, that faults of a valve go with it and others stay, and what readings after one say."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.diagnosis.answer import considering
from benchtui.diagnosis.changes import Change, changed
from benchtui.diagnosis.exchanges import Exchange, exchange_called, exchanged, exchanges
from benchtui.diagnosis.faults import Fault, faults
from benchtui.diagnosis.simulated import ground, with_changes
from benchtui.forecast.given import Further, Given, GivenError
from tests.record.counts import count
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
SWAP = "V2 and V3 exchanged"


def fault(kind: str, part: str) -> Fault:
    found = faults(BUILD, ground(BUILD, "output").circuit)
    return next(each for each in found if (each.kind, each.part) == (kind, part))


def by(id: str) -> Exchange:
    found = exchange_called(BUILD, "output", id)
    assert found is not None
    return found


def reads(*changes: Change) -> list[dict[str, float]]:
    values, _, _ = with_changes(BUILD, "output", list(changes))
    names = list(ground(BUILD, "output").points)
    return [dict(zip(names, row[0], strict=True)) for row in values]


def test_pairs_valves_fuses_and_coupling_capacitors_are_offered() -> None:
    offered = {each.id for each in exchanges(BUILD, "driver")}
    assert offered >= {SWAP, "V2 out", "V3 out", "V1 out", "F1 out", "C22 lifted", "C23 lifted"}
    assert not any(name.startswith(("V4", "C1 ", "C2 ")) for name in offered)  # a rectifier, and reservoirs


def test_what_a_part_would_not_bear_is_not_offered() -> None:
    """With an output valve out the HT rises: a reservoir that just bears the HT of two does not bear that."""
    (with_two,) = reads(Change({}))
    (with_one,) = reads(exchanged(BUILD, ground(BUILD, "output").circuit, Change({}), "", by("V2 out")))
    assert with_one["bp1"] > 1.02 * with_two["bp1"]
    name = next(name for name, part in BUILD.capacitor.items() if BUILD.point["bp1"].red in part.nodes)
    just = BUILD.capacitor[name].model_copy(update={"volts": 0.4 * with_two["bp1"] + 0.6 * with_one["bp1"]})
    weak = BUILD.model_copy(update={"capacitor": {**BUILD.capacitor, name: just}})
    offered = {each.id for each in exchanges(weak, "output")}
    assert SWAP in offered and "V2 out" not in offered


@pytest.mark.parametrize(
    ("kind", "part", "goes"), [("valve-weak", "V2", True), ("resistor-ten-times-high", "R11", False)]
)
def test_a_fault_of_the_valve_goes_with_it_and_one_of_the_place_stays(kind: str, part: str, goes: bool) -> None:
    circuit, change = ground(BUILD, "output").circuit, fault(kind, part).changes[0]
    sound, before, after = reads(Change({}), change, exchanged(BUILD, circuit, change, kind, by(SWAP)))
    off = {name: before[name] / sound[name] - 1.0 for name in ("v2_cathode", "v3_cathode")}
    bad = max(off, key=lambda name: abs(off[name]))
    assert abs(off[bad]) > 0.1
    other = "v3_cathode" if bad == "v2_cathode" else "v2_cathode"
    assert abs(after[other if goes else bad] / before[bad] - 1.0) < 0.05


def test_a_fault_and_an_exchange_are_one_change() -> None:
    circuit = ground(BUILD, "output").circuit
    after = {e.name: e for e in changed(circuit, exchanged(BUILD, circuit, Change({}), "", by(SWAP))).elements}
    own = {e.name: e for e in circuit.elements}
    assert np.array_equal(after["V2"].emission, own["V3"].emission) and after["V2"].anode == own["V2"].anode
    assert not by(SWAP).tells_of("grid-to-cathode") and by("V2 out").tells_of("grid-to-cathode")


def share(given: Given, part: str) -> float:
    table, _, weighed = considering(BUILD, given)
    return sum(p for each, p in zip(table.faults, weighed.faults, strict=True) if each.part == part)


@pytest.mark.skipif(not count(short=False, full=True), reason="a quarter of a minute: BENCHTUI_LONG=1")
def test_what_is_read_after_an_exchange_tells_the_valve_from_its_place() -> None:
    """V2's cathode is low; then the valves change places, and V3's is low, or V2's still."""
    sound, weak = reads(Change({}), fault("valve-weak", "V2").changes[1])
    read = {name: weak[name] for name in ("v2_cathode", "v3_cathode")}
    moved = {"v2_cathode": weak["v3_cathode"], "v3_cathode": weak["v2_cathode"]}
    before = Given("output", 230.0, read)

    def then(found: dict[str, float]) -> Given:
        made = tuple(Further("exchange", f"output: {SWAP}", name, value) for name, value in found.items())
        return Given("output", 230.0, read, further=made)

    assert abs(weak["v2_cathode"] / sound["v2_cathode"] - 1.0) > 0.1
    assert share(then(moved), "V2") > max(share(before, "V2"), 0.9)
    assert share(then(read), "V2") < 0.2 * share(before, "V2")


@pytest.mark.parametrize(
    ("further", "says"),
    [
        (Further("exchange", "output: V7 out", "bp1", 1.0), "no exchange is called 'V7 out'"),
        (Further("ohms", "output", "R99", 1.0), "no place in ohms is called 'R99'"),
        (Further("again", "supply", "bp1", 1.0), "state 'supply' is none of stage output"),
        (Further("live", "output", "nowhere", 1.0), "'nowhere' is no point of stage output"),
    ],
)
def test_a_further_reading_of_nowhere_is_refused(further: Further, says: str) -> None:
    with pytest.raises(GivenError, match=says):
        considering(BUILD, Given("output", 230.0, {}, further=(further,)))
