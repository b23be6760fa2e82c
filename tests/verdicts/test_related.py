"""A reading held against an earlier one of the same amplifier."""

from __future__ import annotations

from benchtui.verdicts.expectation import Expectation, Limit
from benchtui.verdicts.related import Related, related

OF = Expectation("closed", "ac", "V", 1.0, 0.8, 1.2, None, Limit(5.0, "more than the load stands"))
HALF = Related("closed", "open", 0.45, 0.5, 0.55, Limit(1.1, "the loop is the wrong way round"))


def test_what_was_read_before_narrows_the_window() -> None:
    found = related(OF, [HALF], {"open": 2.2})
    assert (found.low, found.nominal, found.high) == (0.45 * 2.2, 1.1, 1.2)
    assert "0.45 to 0.55 times" in found.why[0]


def test_it_never_gives_a_pass_that_there_was_not() -> None:
    for was in (0.1, 1.5, 1.8, 2.0, 2.6, 20.0):
        found = related(OF, [HALF], {"open": was})
        assert OF.low <= found.low <= found.nominal <= found.high <= OF.high


def test_a_rise_stops_unless_a_lower_limit_does() -> None:
    low, high = (related(OF, [HALF], {"open": was}).stop_high for was in (1.0, 10.0))
    assert low == Limit(1.1, "the loop is the wrong way round") and high == OF.stop_high


def test_another_point_or_one_not_read_changes_nothing() -> None:
    assert related(OF, [HALF], {"tried": 2.0}) == OF
    assert related(OF, [Related("tried", "open", 0.9, 0.95, 1.0)], {"open": 2.0}) == OF
