"""The last lines of the app, whatever ended it: why, in one sentence, and last what is to be done about the power."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchtui.session.errors import BuildWrong
from benchtui.tui.parting import code_of, failure, parting
from tests.screens.fake import FakeSession
from tests.screens.scenes import GATE

ON = "The record ends with power on: switch off, pull the plug."


class Broken(FakeSession):
    """A session that a fault has left unable to speak."""

    def leave(self) -> str:
        raise KeyError("mode")


def of_record() -> str:
    return ON


def in_words(word: str) -> object:
    return replace(GATE, danger=replace(GATE.danger, word=word))


def test_where_no_session_opened_or_it_cannot_speak_the_record_does() -> None:
    assert parting(None, None, of_record) == ON
    assert parting(Broken(GATE), GATE, of_record) == ON
    assert parting(FakeSession(GATE), GATE, of_record) == FakeSession(GATE).leave() != ON


def test_where_nothing_was_written_the_records_own_line_is_the_last() -> None:
    view = in_words("READ ONLY")
    said = FakeSession(GATE).leave()
    assert parting(FakeSession(GATE), view, of_record).splitlines() == [*said.splitlines(), ON]
    assert parting(FakeSession(GATE), view, str) == said, "and none where the record ends calm"


def test_a_refusal_is_told_as_it_is_and_a_fault_as_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BENCHTUI_DEBUG", raising=False)
    assert failure(None, 0) == ""
    assert failure(BuildWrong("amp.toml: no"), 2) == "amp.toml: no"
    told = failure(ZeroDivisionError("a slip\x1b[31m\nof ours"), None)
    assert "fault in the program itself (ZeroDivisionError: a slip<U+001B>[31m<U+000A>of ours)" in told
    assert "fault in the program itself" in failure(None, None), "an end without a code is one as well"
    monkeypatch.setenv("BENCHTUI_DEBUG", "1")
    assert failure(ZeroDivisionError("a slip"), None).startswith("ZeroDivisionError")


def test_only_what_is_not_recorded_makes_leaving_a_failure() -> None:
    assert [code_of(in_words(word)) for word in ("LIVE", "READ ONLY", "NOT RECORDING")] == [0, 0, 3]
    assert code_of(None) == 0
