"""What stands in the mains lead of a transformer: inrush thermistors and series resistors before its primary."""

from __future__ import annotations

from functools import lru_cache

from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS

_TABLES = ("link", "fuse", "switch", "thermistor", "resistor", "choke")

_MOST_OHM = 1e3
"""A larger resistor of the mains side lies across the lines, not in one (common practice, no source)."""


@lru_cache(maxsize=64)
def lead_parts(build: Build, transformer: str) -> tuple[tuple[str, str], ...]:
    """(table, reference) of each thermistor and resistor without which the mains does not reach the primary.

    Empty where the file does not describe the mains side as far as the primary.
    """
    ends, lines = build.transformer[transformer].primary.nodes, build.mains.nodes
    if ends is None or lines is None:
        return ()
    whole = _joined(build)
    if not _fed(whole, lines, ends):
        return ()
    roots = {whole.root(node) for node in lines}
    near = [
        (table, name)
        for table in ("thermistor", "resistor")
        for name, part in getattr(build, table).items()
        if whole.root(part.nodes[0]) in roots
    ]
    return tuple((table, name) for table, name in near if not _fed(_joined(build, without=name), lines, ends))


def _fed(joints: Joints, lines: tuple[str, str], ends: tuple[str, str]) -> bool:
    """Whether each line reaches an end of the primary."""
    at, wanted = [joints.root(node) for node in lines], [joints.root(node) for node in ends]
    return at in (wanted, wanted[::-1])


def _joined(build: Build, *, without: str = "") -> Joints:
    """The nodes that all but one of the parts join that could stand in a line."""
    joints = Joints()
    for table in _TABLES:
        for name, part in getattr(build, table).items():
            across = table == "resistor" and part.value > _MOST_OHM
            if name != without and not across and CHASSIS not in part.nodes:
                joints.join(*part.nodes)
    return joints
