"""The steps of a stage: what is named to be fitted, and which of the standard steps a build has a use for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.buildfile.load import load
from benchtui.procedure.plan import links_due
from benchtui.session.planning import plan
from tests.session.made_up import BUILDS, MadeUp


def texts(name: str, phase: str) -> list[str]:
    made = plan(load(BUILDS / f"{name}.toml").build, {})
    return [step.text for each in made.phases if each.id == phase for step in each.steps]


@pytest.mark.parametrize("name", ["pp-6v6", "pp-el34", "se-stereo"])
def test_a_fuse_that_stays_out_is_fitted_as_its_holder_alone(name: str) -> None:
    fits = " ".join(text for text in texts(name, "cold") if text.startswith("Fit "))
    assert "F2's empty holder" in fits and "F1" in fits and "F1's" not in fits


def test_windings_are_named_by_what_they_are_for_and_fuses_by_their_marking() -> None:
    fits = " ".join(text for text in texts("pp-6v6", "cold") if text.startswith("Fit "))
    assert "T1 (HT, inner half; " in fits and "W_HT1" not in fits and "F1 T 630 mA" in fits


def test_valves_and_fuses_are_one_look_and_tell_what_comes_in_and_what_stays_out() -> None:
    looks = {
        phase: [text for text in texts("pp-6v6", f"{phase}, hands in") if text.startswith(("Valves", "Fuses"))]
        for phase in ("mains", "heaters", "supply", "output", "signal")
    }
    assert looks == {
        "mains": ["Valves out: V1, V2, V3, V4; fuses out: F2"],
        "heaters": ["Valves in: V1 12AX7, V2 6V6GT, V3 6V6GT, V4 5Y3GT; fuses out: F2"],
        "supply": ["Valves in: V4 5Y3GT; valves out: V1, V2, V3; fuses in: F2 T 250 mA 500 V"],
        "output": ["Valves in: V2 6V6GT, V3 6V6GT; valves out: V1"],
        "signal": [],
    }


@pytest.mark.parametrize("name", ["pp-6v6", "pp-el34", "se-stereo"])
def test_where_the_ht_fuse_is_out_nobody_is_asked_to_park_the_ht_ends_besides(name: str) -> None:
    assert not any("parked" in text for text in texts(name, "heaters, hands in"))


def test_a_grid_pin_is_asked_for_only_where_a_build_has_one_to_read() -> None:
    asked = [any("grid pin" in text for text in texts(name, "output, hands in")) for name in ("pp-el34", "pp-6v6")]
    assert asked == [True, False]


def test_before_the_first_power_the_clip_drains_only_the_capacitor_that_it_is_across() -> None:
    build = load(BUILDS / "pp-6v6.toml").build
    early = {id: build.capacitor[id].model_copy(update={"stage": "cold"}) for id in ("C1", "C2")}
    build = build.model_copy(update={"capacitor": dict(build.capacitor) | early})
    gates = {"mains": MadeUp().gate(build, "mains")}
    assert gates["mains"].clip == build.capacitor["C1"].nodes
    cold = next(phase for phase in plan(build, gates).phases if phase.id == "cold")
    assert [each.id for each in cold.reservoirs] == ["C1", "C2"]
    assert [each.id for each in links_due(cold, never=False)] == ["C2"]
    assert [each.id for each in links_due(cold, never=True)] == ["C1", "C2"]
    unknown = next(phase for phase in plan(build, {}).phases if phase.id == "cold")
    assert [each.id for each in links_due(unknown, never=False)] == ["C1", "C2"], "nobody knows where the clip goes"


def test_a_link_goes_across_each_capacitor_of_a_group_but_not_twice_across_the_same_ends() -> None:
    build = load(BUILDS / "pp-6v6.toml").build
    gates = {"supply": MadeUp().gate(build, "supply")}
    (one,) = gates["supply"].gate.reservoirs
    ends = build.capacitor["C2"].model_copy(update={"nodes": build.capacitor["C1"].nodes})
    beside = build.model_copy(update={"capacitor": dict(build.capacitor) | {"C9": ends}})
    group = replace(one, parts=("C1", "C9", "C2"))
    gates = {"supply": replace(gates["supply"], gate=replace(gates["supply"].gate, reservoirs=(group,)))}
    hands = next(phase for phase in plan(beside, gates).phases if phase.id == "output, hands in")
    assert [(each.id, each.clipped) for each in hands.links] == [("C1", True), ("C2", False)]
    assert all(each.black == "chassis" for each in hands.links)
