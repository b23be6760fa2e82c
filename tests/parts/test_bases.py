"""Sockets seen from below."""

from __future__ import annotations

import pytest

from benchtui.parts.bases import base
from benchtui.parts.errors import PartError


@pytest.mark.parametrize(("code", "pins"), [("K8A", 8), ("B9A", 9), ("B7G", 7), ("UX4", 4)])
def test_pins_go_round_clockwise_from_the_mark_at_the_bottom(code: str, pins: int) -> None:
    """Pin 1 is the first clockwise from key or gap, seen from below (common practice)."""
    socket = base(code)
    assert len(socket.pins) == pins
    assert list(socket.angles) == sorted(socket.angles)
    x, y = socket.position("1")
    assert x < 0 and y < 0
    last_x, last_y = socket.position(str(pins))
    assert last_x == pytest.approx(-x) and last_y == pytest.approx(y)


def test_the_noval_gap_is_twice_the_pitch() -> None:
    angles = base("B9A").angles
    pitches = {round(b - a, 6) for a, b in zip(angles, angles[1:], strict=False)}
    assert pitches == {36.0} and 360 - angles[-1] + angles[0] == 72


def test_cap_and_wire_ends_are_connections_too() -> None:
    assert base("UY5 with cap").pins == ("1", "2", "3", "4", "5", "cap")
    assert base("axial").pins == ("band", "plain")


def test_an_unknown_base_is_refused_with_the_known_ones() -> None:
    with pytest.raises(PartError, match="known are K8A, B9A"):
        base("B8A")
