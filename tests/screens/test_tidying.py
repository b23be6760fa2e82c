"""Python's own search for unused objects waits until nobody types."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest

from benchtui.tui.tidying import EVERY_S, IDLE_S, LATEST_S, Tidying


@pytest.fixture(autouse=True)
def _python_as_it_was() -> Iterator[None]:
    yield
    gc.unfreeze()
    gc.enable()


class Ring:
    """Refers to itself: only a search finds it unused."""

    found = 0

    def __init__(self) -> None:
        self.me = self

    def __del__(self) -> None:
        Ring.found += 1


def test_before_it_begins_python_does_it_by_itself() -> None:
    assert not Tidying().rest(now=1000.0, struck=0.0)
    assert gc.isenabled()


@pytest.mark.parametrize(
    ("now", "struck", "wanted"),
    [
        (EVERY_S - 1.0, 0.0, False),
        (EVERY_S + 1.0, EVERY_S + 1.0 - IDLE_S / 2.0, False),
        (EVERY_S + 1.0, EVERY_S - IDLE_S, True),
        (LATEST_S + 1.0, LATEST_S + 1.0, True),
    ],
)
def test_it_waits_for_a_pause_but_not_for_ever(now: float, struck: float, wanted: bool) -> None:
    tidying = Tidying()
    tidying.begin(0.0)
    assert not gc.isenabled()
    Ring()
    before = Ring.found
    assert tidying.rest(now, struck) is wanted
    assert Ring.found == before + wanted
    assert not tidying.rest(now + 0.1, struck)
