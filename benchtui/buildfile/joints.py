"""Which nodes hang together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from benchtui.buildfile.models import Build


class Joints:
    """Nodes in disjoint groups; joining two groups makes one of them."""

    def __init__(self) -> None:
        self._parent: dict[str, str] = {}

    def root(self, node: str) -> str:
        """The node that stands for the group of `node`."""
        path = []
        while (parent := self._parent.get(node, node)) != node:
            path.append(node)
            node = parent
        for passed in path:
            self._parent[passed] = node
        return node

    def join(self, *nodes: str) -> bool:
        """Joins the groups of all `nodes`; False if two of them hung together already."""
        apart = True
        for node in nodes[1:]:
            first, second = self.root(nodes[0]), self.root(node)
            apart = apart and first != second
            self._parent[second] = first
        return apart


def joined_by(build: Build, tables: Iterable[str], *, apart: Iterable[str]) -> Joints:
    """Which nodes hang together through the parts of these tables; parts at a node of `apart` join nothing."""
    joints, ends = Joints(), set(apart)
    for table in tables:
        for part in getattr(build, table).values():
            if ends.isdisjoint(part.nodes):
                joints.join(*part.nodes)
    return joints


def passed_on(build: Build, node: str) -> Iterator[str]:
    """Nodes behind the parts that a signal passes from `node`, itself among them; a feedback lead is none."""
    for table in (build.resistor, build.capacitor, build.link, build.switch, build.pot):
        for part in table.values():
            if node in part.nodes and not (table is build.link and part.feedback):
                yield from part.nodes
