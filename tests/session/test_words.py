"""The words of the session: every question, event and item has some, and none promises safety."""

from __future__ import annotations

import ast
import re
from importlib.resources import files
from pathlib import Path

import pytest

from benchtui.procedure import ask as asking
from benchtui.procedure import guards
from benchtui.procedure.codec import KINDS
from benchtui.procedure.state import Mode
from benchtui.session import answers, forecasts, pretended
from benchtui.session.repairs import STORY
from benchtui.session.tables import table
from benchtui.session.wording import MADE_SAYS

TABLES = ("prompts", "words", "log", "causes", "stages", "rehearsal", "signal", "compared", "captures")
FOLDER = Path(str(files("benchtui.session")))


#: Prompts that stand for a question with a signal or in a soak, or for a step that is read from a part.
OTHERWISE = ("signal", "soak blind", "done shut", "printed", "last screw")


def asked() -> set[str]:
    """Every kind of question that ask.py can put, read from its source."""
    tree = ast.parse(Path(asking.__file__).read_text("utf-8"))
    texts = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return texts & set(table("prompts"))


def test_every_question_has_its_words() -> None:
    told = {f"told {each}" for each in STORY}
    by_ask = {"settle blind", "computing", "build changed", "damaged", *MADE_SAYS, *OTHERWISE, *told}
    modes = {mode.value for mode in (Mode.HALT, Mode.READONLY, Mode.DONE)}
    assert asked() | by_ask | modes == set(table("prompts"))


def test_every_event_has_its_line_of_the_log() -> None:
    of_rehearsals = {pretended.PLANTED, pretended.TURNED, pretended.RENEWED, pretended.SHOWN, pretended.EXCHANGED}
    assert set(KINDS) | {"birth", "tail set aside"} | of_rehearsals == set(table("log"))


def test_every_gate_item_and_mode_has_its_words() -> None:
    assert set(guards.GATE_ITEMS) <= set(table("words")["items"])
    for part in ("danger", "leave"):
        assert set(table("words")[part]) == {mode.value for mode in Mode}


def test_every_word_that_may_be_typed_at_any_time_means_something() -> None:
    told = {word for words in table("words")["anytime"].values() for word in words}
    assert told == set(answers._ANYTIME)


def test_the_words_a_prompt_shows_are_those_that_count() -> None:
    for kind, means in answers._WORDS.items():
        shown = set(table("prompts")[kind].get("says", ())) - set(table("prompts")[kind].get("no", {}))
        assert shown == set(means), kind


def test_questions_that_wait_for_a_forecast_exist() -> None:
    assert set(forecasts._OF_GATE) | set(forecasts._OF_CLOSING) <= set(table("prompts"))


@pytest.mark.parametrize("name", TABLES)
def test_nothing_is_ever_called_safe(name: str) -> None:
    text = FOLDER.joinpath(f"{name}.toml").read_text("utf-8")
    assert not re.search(r"\b(safe|safely|safety|OK|okay)\b", text, re.IGNORECASE)


def test_no_answer_is_a_mere_yes() -> None:
    for prompt in table("prompts").values():
        assert not {"yes", "no", "ok", "y", "n"} & set(prompt.get("says", ()))


def test_an_acting_stop_is_short() -> None:
    """A stop says what to do in at most 12 words (handbook, checklist design; common practice)."""
    assert len(table("words")["power_off"]["now"].split()) <= 12


@pytest.mark.parametrize("kind", sorted(table("prompts")))
def test_a_prompt_has_few_short_lines(kind: str) -> None:
    prompt = table("prompts")[kind]
    assert 1 <= len(prompt["lines"]) <= 3
    assert len(prompt["title"]) <= 36
    assert prompt["entry"] in ("number", "words", "text", "nothing")
    assert prompt["entry"] != "words" or prompt["says"]
