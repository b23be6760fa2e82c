"""Characters that talk to the terminal, turn text about or don't show: none gets out raw, whichever way it came in.

Ways in: texts of a build file, its name, what is typed, pasted and noted, and the record that keeps it. Ways out: what
the commands print, as text and as JSON, and every page of the app.
"""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from benchtui.cli.main import main
from benchtui.quantities.clean import is_hidden
from tests.badinput.cases import named
from tests.buildfile.damage import EXAMPLE
from tests.record.counts import count
from tests.screens.keys import opened
from tests.session.made_up import Desk

CLASSES = {
    "control": "".join(map(chr, (*range(0x20), 0x7F))),
    "C1": "".join(map(chr, range(0x80, 0xA0))),
    "direction": "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069",
    "zero width": "\u00ad\u034f\u180e\u200b\u200c\u200d\u2060\u2061\u2064\ufeff\ufe0f\ufffb",
    "blank, tag, private, none": "\u115f\u2028\u2029\u2800\u3164\ue000\U000e0001\U000e0041\U000e007f\U000e0100\uffff",
}
ALL = [characters[at : at + 16] for characters in CLASSES.values() for at in range(0, len(characters), 16)]
MIXED = "\x1b[2J\x07\x00\x9b2J\u202e\u2066\u200b\ufeff\u2028\U000e0041\u3164"
TRIED = count(short=[MIXED], full=[MIXED, *ALL])

#: Keys of the build file whose values are shown as they stand.
_SHOWN = re.compile(r'\b(name|notes|role|label|red_at|title|dc_proof|ac_proof) = "|looks = \["')


def escaped(text: str) -> str:
    """`text` as TOML may write it."""
    return "".join(f"\\U{ord(character):08X}" for character in text)


def spoilt(hidden: str) -> str:
    """The example with `hidden` in every text that is shown; one that TOML takes raw stands raw in a note too."""
    raw = "".join(c for c in hidden if is_hidden(c) and ord(c) > 0x7F)
    return _SHOWN.sub(lambda match: match[0] + escaped(hidden), EXAMPLE) + f"# {raw}\n"


def raw(text: str) -> list[str]:
    """The hidden characters of a text of several lines."""
    return [f"U+{ord(character):04X}" for character in text if is_hidden(character) and character != "\n"]


@pytest.fixture(params=TRIED, ids=named([("hidden", each) for each in TRIED]))
def hidden(request: pytest.FixtureRequest) -> str:
    return request.param


@pytest.fixture
def build(hidden: str, tmp_path: Path) -> Path:
    """A build file with hidden characters in its texts and in its name."""
    name = "amp" + "".join(character for character in hidden if character not in "\x00/") + ".toml"
    path = tmp_path / name
    path.write_text(spoilt(hidden), "utf-8")
    return path


def test_in_what_the_commands_print(build: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = os.fspath(build)
    stage = ["expect", path, "--stage", "cold"]
    for arguments in (["check", path], stage, [*stage, "--chart"]):
        for form in ([], ["--json"]):
            assert main([*arguments, *form]) in (0, 1)
            told = capsys.readouterr()
            assert not raw(told.out + told.err)
            assert "<U+" in told.out or form or "expect" in arguments
            assert not form or json.loads(told.out)
    build.write_text(build.read_text("utf-8").replace('value = "1k"', 'value = "1,k"'), "utf-8")
    assert main(["check", path]) == 2
    told = capsys.readouterr().err
    assert not raw(told) and "<U+" in told


def test_in_what_the_record_says_again(build: Path, hidden: str, capsys: pytest.CaptureFixture[str]) -> None:
    folder = build.parent
    desk = Desk(build, folder)
    desk.type("fitted")
    for say in (desk.type, desk.session.note, lambda text: desk.type(text, pasted=True), desk.session.leaving):
        say(hidden + "note")
    assert not raw(desk.session.leave())
    desk.drop()
    desk.open()
    assert not raw("\n".join(line.text for line in desk.session.log()))
    assert any("note" in line.text for line in desk.session.log())
    desk.drop()
    for form in ([], ["--json"]):
        assert main(["records", os.fspath(folder), *form]) == 0
        told = capsys.readouterr()
        assert not raw(told.out + told.err)


async def test_on_every_page_of_the_app(build: Path, hidden: str) -> None:
    desk = Desk(build, build.parent)
    desk.type("fitted")
    desk.session.note(hidden + "noted")
    desk.till(lambda view: view.step == "read")
    async with opened(desk.session, (150, 50)) as hands:
        hands.now_s += 1.0
        for character in hidden + "7":
            await hands.key(character)
        assert not raw(hands.text())
        await hands.paste(hidden + "8")
        await hands.key("enter", gap_s=1.0)
        assert not raw(hands.text())
        for page in ("f1", "f2", "f3", "f4", "f5", "f6", "f7", "ctrl+q"):
            await hands.key(page, gap_s=1.0)
            assert not raw(hands.text()), page
            await hands.key("escape", gap_s=1.0)
        assert "<U+" in hands.text()
    desk.drop()
