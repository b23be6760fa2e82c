"""A reading beside the other channel's: narrower where that was sound, never wider, and why."""

from __future__ import annotations

from benchtui.verdicts.beside import Beside, narrowed
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.judge import judge

OF = Expectation("kL", "dc", "V", 20.0, 16.0, 24.0, why=("spread of V1L",))
PAIRS = (Beside("kL", "kR", -1.0, 1.5), Beside("kR", "kL", -1.5, 1.0))


def test_a_sound_channel_narrows_the_other_and_says_so() -> None:
    found = narrowed(OF, PAIRS, {"kR": 18.0})
    assert (found.low, found.high, found.nominal) == (17.0, 19.5, 19.5)
    assert found.plain == 20.0 == OF.plain  # what the file alone makes it is not moved by a reading
    assert found.why[0].startswith("The other channel read 18.0 V: of a sound pair this one reads 17.0 V to 19.5 V.")
    assert found.why[1:] == OF.why
    assert judge(22.0, OF).verdict == "pass" and judge(22.0, found).verdict == "warn"


def test_no_window_grows_and_limits_stay() -> None:
    found = narrowed(OF, PAIRS, {"kR": 23.5})
    assert (found.low, found.high) == (22.5, 24.0)
    assert narrowed(OF, (Beside("kL", "kR", -5.0, 5.0),), {"kR": 20.0}) == OF


def test_without_another_channel_or_its_reading_nothing_changes() -> None:
    assert narrowed(OF, PAIRS, {}) == OF and narrowed(OF, PAIRS, {"kL": 20.0}) == OF
    assert narrowed(OF, (), {"kR": 18.0}) == OF
