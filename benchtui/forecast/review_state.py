"""A stage solved for the review, and how a value against its limit becomes a finding."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import Rating
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import Circuit, MainsTransformer
from benchtui.circuit.operating import Operating
from benchtui.forecast.results import Finding
from benchtui.forecast.run import Run, cold_at_highest_mains, hot_at_highest_mains, stage_run
from benchtui.quantities.show import show


@dataclass(frozen=True, eq=False)
class StageStates:
    """One stage: hot at rated mains (`run`), hot at the highest mains, and cold cathodes at the highest mains."""

    build: Build
    stage: str
    run: Run
    high: Operating
    cold: Operating

    @property
    def state(self) -> State:
        return self.run.state

    @property
    def rated(self) -> Operating:
        return self.run.nominal

    @property
    def at_high_mains(self) -> tuple[tuple[str, Operating], ...]:
        """Both states at the highest mains with their names in words."""
        return ("hot", self.high), ("switched on with cold cathodes", self.cold)

    def find(
        self,
        severity: str,
        part: str,
        rule: str,
        text: str,
        value: float | None,
        limit: float | None,
        source: str,
    ) -> Finding:
        return Finding(severity, self.stage, part, rule, text, value, limit, source)


@dataclass(frozen=True, eq=False)
class Walk:
    """A whole build as the review walks it: powered stage = its states, in order, where there is a circuit to solve."""

    build: Build
    states: Mapping[str, StageStates]

    @property
    def brought_up(self) -> bool:
        """Whether the file describes a mains side: one that doesn't is a circuit, and no amplifier to switch on.

        Rules on what a build must also have (a point to read, a load to fit) do no more than note it in a circuit.
        """
        mains, transformers = self.build.mains, self.build.transformer.values()
        return bool(mains.nodes or mains.earth or any(transformer.primary.nodes for transformer in transformers))

    def grade(self, severity: str) -> str:
        """`severity` for an amplifier to be brought up, "note" for a circuit alone."""
        return severity if self.brought_up else "note"


def stage_states(build: Build, stage: str) -> StageStates | None:
    """The stage solved three ways; None where it has no circuit or does not settle."""
    if not _has_mains(assemble(build, stage_state(build, stage))):
        return None
    run = stage_run(build, stage)
    high, cold = hot_at_highest_mains(build, stage), cold_at_highest_mains(build, stage)
    settled = all(bool(found.settled[0]) for found in (run.nominal, high, cold))
    return StageStates(build, stage, run, high, cold) if settled else None


def _has_mains(circuit: Circuit) -> bool:
    return any(isinstance(element, MainsTransformer) for element in circuit.elements)


def severity_of(rating: Rating, rated_value: float, high_value: float) -> str | None:
    """How bad a valve's value is against its rating, by the system of the rating (None: within it).

    Design-centre ratings are for rated mains and allow a tenth for all that varies; design-maximum and absolute ones,
    and those of no known system, hold at the highest mains too. Ratings of low confidence never do more than warn.
    """
    if rating.system == "design-centre":
        worst = "stop" if rated_value > rating.ceiling else "warn" if rated_value > rating.value else None
    else:
        worst = "stop" if high_value > rating.value else None
    return "warn" if worst == "stop" and rating.confidence == "low" else worst


def first(values: np.ndarray) -> float:
    """The one sample of a single run."""
    return float(values[0])


def of_limit(value: float, limit: float, unit: str) -> str:
    """ "310 V of 285 V", for sentences."""
    return f"{show(value, unit, 3)} of {show(limit, unit)}"
