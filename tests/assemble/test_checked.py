"""What the parts library says against a build: each fault with its place and what would be right."""

from __future__ import annotations

import pytest

from benchtui.assemble.checked import FORMS_OF, library_findings
from benchtui.buildfile.models import Build, Diode, Model, Valve
from tests.reference.amplifiers import build

PINS = {"2": "h6a", "7": "h6b", "3": "v2_p", "4": "v2_s", "5": "v2_g", "8": "v2_k"}


def changed(**tables: object) -> Build:
    return build("a").build.model_copy(update={"valve": {}, "model": {}, "diode": {}, **tables})


def only(made: Build) -> str:
    (finding,) = library_findings(made)
    return f"{'.'.join(map(str, finding.path))} {finding.found} {finding.wrong}: {finding.right}"


def test_the_reference_amplifiers_are_sound() -> None:
    for name in ("a", "c"):
        assert list(library_findings(build(name).build)) == []


def one(kind: str, pins: dict[str, str], **fields: object) -> Build:
    return changed(valve={"V2": Valve(type=kind, pins=pins, stage="output", **fields)})


def test_an_unknown_type_names_a_near_one() -> None:
    assert "did you mean 6V6GT?" in only(one("6V6GTX", PINS))


def test_a_pin_the_base_has_not_is_told_with_those_it_has() -> None:
    message = only(one("6V6GT", PINS | {"9": "v2_x"}))
    assert "valve.V2.pins.9" in message and "3 anode" in message


def test_a_free_pin_is_no_joint() -> None:
    assert "leave it unwired" in only(one("6V6GT", PINS | {"6": "tie"}))


def test_a_section_wired_in_part_is_refused() -> None:
    assert "wire screen too" in only(one("6V6GT", {k: v for k, v in PINS.items() if k != "4"}))


def test_one_heater_end_alone_is_refused() -> None:
    assert "wire both ends" in only(one("6V6GT", {k: v for k, v in PINS.items() if k != "7"}))


def test_sections_must_be_as_many_as_are_wired() -> None:
    assert "names 2 sections" in only(one("6V6GT", PINS, sections=("V2a", "V2b")))


def test_a_diode_type_must_be_known() -> None:
    made = changed(diode={"D1": Diode(type="1N9999X", nodes=("a", "k"), stage="supply")})
    assert "diode.D1.type" in only(made)


@pytest.mark.parametrize("form", sorted(FORMS_OF["triode"] + FORMS_OF["diode"] + FORMS_OF["regulator"]))
def test_a_form_must_have_its_constants(form: str) -> None:
    made = changed(model={"own": Model(form=form, constants={}, source="invented for this test")})
    findings = list(library_findings(made))
    assert findings and all("lacks" in finding.wrong for finding in findings)


def own(form: str) -> Model:
    rectifier = {"is_a": 1e-9, "n": 1.8, "rs_ohm": 0.04, "kd": 2e-4}
    amplifying = {"mu": 20, "ex": 1.4, "kg1": 1e3, "kg2": 4e3, "kp": 100, "kvb": 300}
    return Model(form=form, constants=rectifier | amplifying, source="invented for this test")


def test_own_constants_must_be_a_law_of_what_they_are_for() -> None:
    """A diode with a triode's law, a regulator with a rectifier's, a triode with a rectifier's."""
    diode = {"D1": Diode(type="1N4007", nodes=("a", "k"), stage="supply", model="own")}
    assert "is no law of a diode" in only(changed(diode=diode, model={"own": own("triode_offset")}))
    assert not list(library_findings(changed(diode=diode, model={"own": own("silicon")})))
    valve = one("0A2", {"1": "s", "2": "0"}, model="own").valve
    assert "is no law of a regulator" in only(changed(valve=valve, model={"own": own("vacuum_perveance")}))
    valve = one("6J5", {"3": "a", "5": "g", "8": "k"}, model="own").valve
    assert "is no law of a triode" in only(changed(valve=valve, model={"own": own("silicon")}))


def test_a_pin_joined_inside_a_regulator_is_no_joint() -> None:
    assert "leave it unwired" in only(one("0A2", {"1": "s", "2": "0", "3": "tie"}))


@pytest.mark.parametrize(("field", "value"), [("threshold", 400.0), ("wait", 5.0), ("clip_time", 1.0), ("clip", 1.0)])
def test_the_gate_is_never_laxer_than_its_bounds(field: str, value: float) -> None:
    made = build("a").build
    assert "gate." + field in only(changed(gate=made.gate.model_copy(update={field: value})))
