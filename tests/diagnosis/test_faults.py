"""The faults of a build: derived from what it fits, each a change of its circuit."""

from __future__ import annotations

from functools import cache

import pytest

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import Circuit
from benchtui.diagnosis.changes import changed
from benchtui.diagnosis.faults import Fault, faults
from benchtui.diagnosis.kinds import kinds
from benchtui.diagnosis.pairs import TWO
from tests.builds import recorded
from tests.reference import amplifiers

BUILDS = (*amplifiers.NAMES, *recorded.NAMES)


@cache
def build(name: str) -> Build:
    return (amplifiers.build(name) if name in amplifiers.NAMES else recorded.build(name)).build


@cache
def circuit(name: str, stage: str = "driver") -> Circuit:
    return assemble(build(name), stage_state(build(name), stage))


@cache
def found(name: str, stage: str = "driver") -> tuple[Fault, ...]:
    return faults(build(name), circuit(name, stage))


@pytest.mark.parametrize("name", BUILDS)
def test_every_fault_is_of_a_part_of_the_build_and_of_the_published_list(name: str) -> None:
    tables = ("resistor", "capacitor", "choke", "valve", "diode", "pot", "fuse", "link", "switch", "load", "heater",
              "thermistor", "transformer", "output_transformer")  # fmt: skip
    known = {id for table in tables for id in getattr(build(name), table)}
    known |= {id for transformer in build(name).transformer.values() for id in transformer.windings}
    known |= {element.name for element in circuit(name).elements}
    assert {fault.kind for fault in found(name)} <= kinds().keys()
    known |= {info.id for info in stages(build(name))}  # of a missing wire to the chassis
    assert {fault.part for fault in found(name)} <= known
    assert len(found(name)) > 100


@pytest.mark.parametrize("name", BUILDS)
def test_every_change_changes_something(name: str) -> None:
    own = {element.name: element for element in circuit(name).elements}
    for fault in found(name):
        assert fault.changes
        for change in fault.changes:
            after = changed(circuit(name), change).elements
            assert len(after) > len(own) or any(own.get(element.name) is not element for element in after), fault.id


def test_every_kind_is_met_in_some_build_but_for_two_at_once_and_those_of_the_meter() -> None:
    met = {fault.kind for name in BUILDS for fault in found(name)}
    assert {kind for kind in kinds().keys() - met if not kind.startswith("meter-")} == {TWO}


def test_nothing_is_wrong_with_what_is_not_fitted_yet() -> None:
    early = {fault.part for fault in found("a", "supply")}
    assert "C1" in early and "R3" in early and not {"R11", "V2", "T2"} & early


@pytest.mark.parametrize(
    ("part", "wanted"),
    [
        ("R11", {"resistor-open", "resistor-shorted", "resistor-ten-times-high", "resistor-ten-times-low",
                 "resistor-drifted"}),
        ("C1", {"capacitor-open", "capacitor-shorted", "capacitor-leaky", "capacitor-reversed"}),
        ("C21", {"capacitor-open", "capacitor-shorted", "capacitor-leaky"}),
        ("L1", {"choke-open", "choke-shorted", "choke-to-core"}),
        ("T2", {"output-half-open", "output-half-shorted", "leads-exchanged"}),
        ("W_HT1", {"winding-open", "winding-wrong-tap", "winding-reversed", "leads-exchanged"}),
        ("F1", {"fuse-open"}),
        ("V1a", {"section-dead", "valve-weak", "valve-strong", "valve-gassy", "grid-to-cathode", "grid-to-anode",
                 "heater-to-cathode", "pin-loose"}),
    ],
)  # fmt: skip
def test_what_can_be_wrong_goes_by_the_kind_of_part(part: str, wanted: set[str]) -> None:
    assert {fault.kind for fault in found("a") if fault.part == part} == wanted
