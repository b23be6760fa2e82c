"""Two faults at once: found where no single one explains the readings, and not looked for elsewhere."""

from __future__ import annotations

import pytest

from benchtui.diagnosis.answer import Ranked, ranked, stage_table
from benchtui.diagnosis.evidence import evidence_of
from benchtui.diagnosis.pairs import TWO, weigh_all
from benchtui.diagnosis.weigh import weigh
from benchtui.forecast.given import Given
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build
STAGE = "supply"
NOMINAL = {
    name: each["meter_10M"]
    for name, each in amplifiers.nominal("a")[STAGE]["test_points"].items()
    if name in BUILD.point
}
#: By ngspice: one half of the rectifier dead.
ONE = next(r for r in amplifiers.faults("a") if (r["stage"], r["part"]) == (STAGE, "V4b"))

#: The same with one heater winding that gives nothing, which moves no other reading of this stage.
BOTH = ONE["readings"] | {"heater_rail": 0.0}


def found(read: dict[str, float], mains_v: float) -> tuple[Ranked, ...]:
    given = Given(STAGE, mains_v, read)
    evidence = evidence_of(BUILD, given)
    table, weighed = weigh_all(stage_table(BUILD, given), evidence)
    assert weighed.faults.sum() + weighed.none + weighed.unknown == pytest.approx(1.0)
    return ranked(table, evidence, weighed)


def test_two_faults_of_two_circuits_are_named_together() -> None:
    told = found(BOTH, ONE["mains_v"])
    assert told[0].fault == TWO and "W_H6" in told[0].part
    named = {each.part for each in told if each.fault == TWO and each.probability > 0.05}
    assert any("V4b" in part for part in named)
    share = sum(each.probability for each in told if each.fault == TWO)
    assert share > 0.6 > 0.4 > next(each.probability for each in told if each.fault == "unknown")


def test_what_both_explain_is_told_of_each() -> None:
    evidence = " ".join(found(BOTH, ONE["mains_v"])[0].evidence)
    assert "heater" in evidence and "explains" in evidence and "does not" not in evidence


@pytest.mark.parametrize("read", [ONE["readings"], NOMINAL], ids=["one fault", "none"])
def test_where_one_fault_or_none_explains_all_pairs_are_not_looked_for(read: dict[str, float]) -> None:
    given = Given(STAGE, 230.0, read)
    table, evidence = stage_table(BUILD, given), evidence_of(BUILD, given)
    after, weighed = weigh_all(table, evidence)
    assert after is table
    assert weighed.none == weigh(table, evidence).none
