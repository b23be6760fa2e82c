"""Each multiple of the mains points to something, and to something else than its neighbour."""

from __future__ import annotations

from benchtui.sound.hum import pointer


def test_each_multiple_points_somewhere() -> None:
    assert "heater" in pointer(1).points_to and "half of the rectifier" in pointer(1).points_to
    assert "reservoir" in pointer(2).points_to and "star" in pointer(2).points_to
    assert "charging current" in pointer(3).points_to
    assert "earth loop" in pointer(1).points_to
    assert pointer(3) == pointer(10) != pointer(2) != pointer(1)
    assert all(pointer(order).source for order in (1, 2, 3))
