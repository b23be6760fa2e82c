"""Small builds to try rules of the review on, made from the example build file, and what a rule says of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

from benchtui.buildfile.load import load_text
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, Walk, stage_states
from tests.buildfile.damage import EXAMPLE, changed

#: The example's output stage, parts of it to be changed.
SECONDARY = 'secondary = ["out", "0"]'
LOAD = 'RL = { nodes = ["out", "0"], value = "8R", watts = "10 W", stage = "output", role = "dummy load" }\n'

_BIAS_PARTS = {
    "[transformer.T1.windings]\n": """
W_B = { nodes = ["b_ac", "0"], emf = "40 V", resistance = "30R", stage = "mains" }
""",
    "[diode]\n": """
D2 = { nodes = ["bn", "b_ac"], type = "1N4007", stage = "bias" }
""",
    "[resistor]\n": """
R10 = { nodes = ["foot", "0"], value = "4k7", watts = "0.5 W", stage = "bias" }
R11 = { nodes = ["wiper", "bn"], value = "220k", watts = "0.5 W", stage = "bias" }
""",
    "[capacitor]\n": """
C10 = { nodes = ["0", "bn"], value = "47u", volts = "100 V", make = "electrolytic", stage = "bias" }
""",
}
_BIAS_TABLES = """
[pot]
P1 = { nodes = ["bn", "wiper", "foot"], value = "22k", position = "40 %", watts = "0.5 W", stage = "bias" }
[point.grid]
name = "Grid of V1"
red = "v1_g"
quantity = "dc"
stages = ["bias", "output"]
guards = "grid bias"
"""
SAFETY = 'R11 = { nodes = ["wiper", "bn"]'


@cache
def fixed_bias() -> str:
    """The example with fixed bias from a winding of its own, its grid leak and a pot, all in the bias stage."""
    text = EXAMPLE + _BIAS_TABLES
    for table, lines in _BIAS_PARTS.items():
        text = changed(table, table + lines, text)
    text = changed('R6 = { nodes = ["v1_k", "0"], value = "560R"', 'R6 = { nodes = ["v1_k", "0"], value = "10R"', text)
    leak = 'R5 = {{ nodes = ["v1_g", "{}"], value = "470k", watts = "0.5 W", stage = "{}"'
    return changed(leak.format("0", "output"), leak.format("wiper", "bias"), text)


@cache
def walk(text: str, *solved: str) -> Walk:
    """The walk through the build of `text`, with the stages `solved` alone."""
    build = load_text(text, "amp.toml").build
    found = {stage: stage_states(build, stage) for stage in solved}
    assert None not in found.values()
    return Walk(build, {stage: states for stage, states in found.items() if states is not None})


def told(rule: Callable[[Walk], Iterator[Finding]], walked: Walk) -> set[tuple[str, str, str]]:
    """Severity, part and rule of what a rule says of a walk."""
    return {(finding.severity, finding.part, finding.rule) for finding in rule(walked)}


def told_of_stages(rule: Callable[[StageStates], Iterator[Finding]], walked: Walk) -> set[tuple[str, str, str]]:
    """The same for a rule that looks at one stage."""
    return {(f.severity, f.part, f.rule) for states in walked.states.values() for f in rule(states)}


def without_mains(text: str) -> str:
    """The build as a circuit alone: no mains side is described."""
    gone = ('nodes = ["live"', "earth =", "F1 =", "holder =", "S1", "BOND =", "[fuse]", "[switch]", "[link]")
    kept = []
    for line in text.splitlines(keepends=True):
        if line.startswith(gone):
            continue
        kept.append(line.replace('nodes = ["pri_1", "pri_2"], ', ""))
    shorter = "".join(kept)
    for name in ("earth_bond", "insulation"):
        start = shorter.index(f"[point.{name}]")
        shorter = shorter[:start] + shorter[shorter.index("[point.", start + 1) :]
    return shorter
