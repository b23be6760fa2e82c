"""What is typed for a reading: taken as it stands, or asked about with nothing else changed. Never guessed at."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import fields, replace
from math import inf, isfinite
from pathlib import Path

import pytest

from benchtui.quantities.reading import Reading, read
from benchtui.quantities.units import Unit
from benchtui.session.answers import Taken, meaning
from tests.badinput.cases import Answer, named, tried
from tests.badinput.typed import TABLE, Place, Typed
from tests.record.counts import count
from tests.session.made_up import BUILDS, Desk

ROWS = list(tried([TABLE]))
ASKED = [(case, row) for case, row in ROWS if row.answer is Answer.ASKED]
TAKEN = [(case, row) for case, row in ROWS if row.answer is Answer.TAKEN]
WARNED = [(case, row) for case, row in ROWS if row.answer is Answer.WARNED]


def _at(desk: Desk, place: Place) -> None:
    """Go on to a prompt of that kind."""
    if place == "gate":
        desk.till(lambda view: view.prompt.title.startswith("Round 1") and view.stage == "HT off load")
    elif place == "ohms":
        desk.till(lambda view: view.prompt.scale is not None and view.prompt.unit == "ohm")
    else:
        scale = place
        desk.till(lambda v: v.step == "read" and v.prompt.scale is not None and v.prompt.scale.quantity == scale)


@pytest.fixture(scope="module")
def desks(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Desk]]:
    """A desk at each kind of prompt; what is asked about leaves it there."""
    made = {}
    for place in ("dc", "ac", "ohms", "gate"):
        made[place] = Desk(BUILDS / "pp-6v6.toml", tmp_path_factory.mktemp(place))
        _at(made[place], place)
    yield made
    for desk in made.values():
        desk.drop()


def understood(text: str, at: Place) -> Reading:
    unit = Unit.OHM if at == "ohms" else Unit.VOLT
    return read(text, unit, plain=at == "gate", current=None if at == "ohms" else "ac" if at == "ac" else "dc")


@pytest.mark.parametrize(("case", "row"), ASKED, ids=named(ASKED))
def test_asked(case: str, row: Typed, desks: dict[str, Desk]) -> None:
    desk = desks[row.at]
    before = desk.session.view()
    after = desk.type(row.text)
    assert after.banner is not None and after.banner.kind == "question" and row.says in after.banner.text, after.banner
    assert replace(after.prompt, number=0) == replace(before.prompt, number=0)
    assert (after.danger, after.stages, after.power_off) == (before.danger, before.stages, ())
    assert after.saved == before.saved + 1, "what was typed is kept, and nothing else"
    assert desk.session.log()[-1].text.startswith("not taken: ")


@pytest.mark.parametrize(("case", "row"), TAKEN, ids=named(TAKEN))
def test_taken(case: str, row: Typed) -> None:
    found = understood(row.text, row.at)
    assert found.value == row.value and str(found.value) != "-0.0"
    assert found.text == row.text, "kept as typed"
    assert row.says in " ".join(found.notes)


@pytest.mark.parametrize(("case", "row"), WARNED, ids=named(WARNED))
def test_warned(case: str, row: Typed, tmp_path: Path) -> None:
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    _at(desk, row.at)
    banner = desk.type(row.text).banner
    desk.drop()
    assert banner is not None and banner.kind == "warn"
    assert row.says in " ".join((banner.text, *banner.more)), banner


ALPHABET = "0123456789.,+-kKMmuRVvAΩ\u2126\u00b5% _eExX\n~?\u2212\uff13\u0663infaNOLacdACDC\u202e\x00\x1b\ud800"


def _random_text(chance: random.Random) -> str:
    """Characters of readings in any order, half of them a sound reading with a few slips in it."""
    if chance.random() < 0.5:
        return "".join(chance.choice(ALPHABET) for _ in range(chance.randrange(9)))
    text = list(chance.choice(("383.5", "0.3", "-38 V", "12k", "OL", "6.3 VAC", "250 mV", "1k2", "1.2 MΩ", "inf")))
    for _ in range(chance.randrange(3)):
        text.insert(chance.randrange(len(text) + 1), chance.choice(ALPHABET))
    return "".join(text)


@pytest.mark.parametrize("place", ["dc", "ac", "ohms", "gate"])
def test_random_lines_are_numbers_or_questions_and_never_something_infinite(
    place: Place, desks: dict[str, Desk]
) -> None:
    chance, bench, taken = random.Random(57), desks[place].session._bench(), 0
    for _ in range(count(short=1000, full=5000)):
        text = _random_text(chance)
        meant = meaning(bench, text)
        if not isinstance(meant, Taken):
            assert meant.text and meant.kind in ("question", "refused")
            continue
        values = [value for value in vars_of(meant.command) if isinstance(value, float)]
        taken += len(values)
        open_ohms = place == "ohms" and text.strip().casefold() in ("ol", "o.l", "open")
        assert all(map(isfinite, values)) or (open_ohms and values == [inf]), text
    assert taken > 50


def vars_of(command: object) -> list[object]:
    """The fields of a command or event but the expectation, which has infinite ends of its own."""
    return [getattr(command, field.name) for field in fields(command) if field.name != "expectation"]  # type: ignore[arg-type]
