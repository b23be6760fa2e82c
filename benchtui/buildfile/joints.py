"""Which nodes hang together."""

from __future__ import annotations


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
