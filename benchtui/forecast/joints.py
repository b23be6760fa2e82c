"""Nodes that a wire joins: a meter cannot tell them apart, so a rule for one holds for the other."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.assemble.state import State
from benchtui.buildfile.models import Build, Point
from benchtui.circuit.elements import CHASSIS

_WIRE_OHM = 0.1


class Joints:
    """Which node stands for each node of a state, links and closed switches being wires."""

    def __init__(self, build: Build, state: State) -> None:
        self._stands_for: dict[str, str] = {}
        for a, b in _wires(build, state):
            first, second = self[a], self[b]
            keep, give = (second, first) if second == CHASSIS else (first, second)
            self._stands_for[give] = keep

    def __getitem__(self, node: str) -> str:
        while (further := self._stands_for.get(node, node)) != node:
            node = further
        return node

    def pair(self, nodes: tuple[str, str]) -> tuple[str, str]:
        return self[nodes[0]], self[nodes[1]]

    def of_point(self, point: Point) -> tuple[str, str]:
        """The nodes that stand for a point's red and black."""
        return self.pair((point.red, point.black))


def _wires(build: Build, state: State) -> Iterator[tuple[str, str]]:
    for name, link in build.link.items():
        if name in state.fitted and link.value <= _WIRE_OHM:
            yield link.nodes
    for name, switch in build.switch.items():
        if name in state.fitted and name not in state.switches_open:
            yield switch.nodes
