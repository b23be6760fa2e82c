"""A further reading that may be taken: where, in which state, and in words."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Candidate:
    """A reading that may be taken between two nodes.

    `kind` is "live" or "again" at a point of the stage, "ohms" without power, or "exchange": at a point once something
    is exchanged. `state` is the stage whose parts are fitted, with the exchange if there is one.
    """

    kind: str
    state: str
    point: str
    says: str
    red: str
    black: str

    def after(self, exchange: str) -> Candidate:
        """The same in the state after an exchange."""
        return replace(self, state=exchanged_state(self.state, exchange))


def exchanged_state(stage: str, exchange: str) -> str:
    """What a stage is called in which something is exchanged."""
    return f"{stage}: {exchange}"


def stage_in(state: str) -> str:
    """The stage of a state that is called so."""
    return state.partition(": ")[0]


def exchange_in(state: str) -> str:
    """What is exchanged in a state that is called so; "" for nothing."""
    return state.partition(": ")[2]
