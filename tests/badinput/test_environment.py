"""Disk, clock, user and settings of the machine as they should not be: it works, or refuses in words."""

from __future__ import annotations

import os
import re
import resource
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from benchtui.cli.answer import Answer, Exit
from benchtui.cli.kept import kept
from benchtui.cli.main import main
from benchtui.record import Journal
from benchtui.session.errors import PlaceWrong
from benchtui.session.opening import open_session
from benchtui.tui import app, terminal
from benchtui.tui.terminal import takes_utf8
from tests.badinput.asked import as_nobody
from tests.cli.running import benchtui
from tests.record.counts import count
from tests.session.made_up import BUILDS, Desk

#: The steady clock goes on by so much between two looks.
_STEP_S = 2.5

PACKAGE = Path(__file__).parents[2] / "benchtui"

#: Surroundings of a process; None takes the variable away. The first stands for several, so that one run shows them.
PLACES: dict[str, dict[str, str | None]] = {
    "several": {"HOME": None, "LANG": "de_DE.ISO-8859-1", "LC_ALL": None, "TERM": None, "NO_COLOR": "1"},
    "NO_COLOR": {"NO_COLOR": "1"},
    "mono": {"TERM": "vt100"},
    "TERM=dumb": {"TERM": "dumb"},
    "no TERM": {"TERM": None},
    "LANG=C": {"LANG": "C", "LC_ALL": None},
    "no LANG": {"LANG": None, "LC_ALL": None},
    "Latin-1": {"LANG": "de_DE.ISO-8859-1", "LC_ALL": None},
    "no HOME": {"HOME": None, "XDG_CACHE_HOME": None},
    "HOME not there": {"HOME": "/nowhere", "XDG_CACHE_HOME": None},
    "HOME a device": {"HOME": "/dev/null", "XDG_CACHE_HOME": "/dev/null/x"},
    "PYTHONOPTIMIZE": {"PYTHONOPTIMIZE": "1"},
    "PYTHONOPTIMIZE=2": {"PYTHONOPTIMIZE": "2"},
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound build file with a record, and one that is wrong in text of every kind."""
    folder = tmp_path_factory.mktemp("builds")
    shutil.copyfile(BUILDS / "pp-6v6.toml", folder / "pp-6v6.toml")
    Desk(folder / "pp-6v6.toml", folder).drop()
    (folder / "wrong.toml").write_text('format = 1\nid = "Röhre \\u202e"\n[resistor.R1]\nvalue = "4,7k"\n', "utf-8")
    return folder


@pytest.mark.parametrize("place", list(PLACES)[: count(short=1, full=len(PLACES))])
def test_a_command_works_or_refuses_in_words_wherever_it_runs(place: str, folder: Path) -> None:
    environ = PLACES[place]
    wanted = [
        (("check", folder / "wrong.toml"), 2, "has a decimal comma, write 4.7k"),
        (("records", folder), 0, "an aid and no authority"),
        ((folder / "pp-6v6.toml",), 3, "benchtui check BUILD"),
    ]
    if count(short=False, full=True):
        wanted += [(("check", BUILDS / "pp-6v6.toml"), 0, "lethal"), (("expect", BUILDS / "pp-6v6.toml"), 0, "lethal")]
    for arguments, code, says in wanted:
        done = benchtui(*arguments, environ=environ)
        told = done.stdout + done.stderr
        assert done.returncode == code and says in " ".join(told.split()), told
        assert "Traceback" not in told and "\x1b" not in told and "\u202e" not in told
        if environ.get("LANG", "") != "" or place == "no LANG":
            assert told.isascii()


def test_a_read_only_folder_is_refused_before_the_first_stage() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copyfile(BUILDS / "pp-6v6.toml", folder / "pp-6v6.toml")
        folder.chmod(0o555)
        with as_nobody(), pytest.raises(PlaceWrong, match="Permission denied") as caught:
            open_session(folder / "pp-6v6.toml")
        folder.chmod(0o755)
        assert caught.value.exit_code == 3 and "\n" not in str(caught.value)
        assert [path.name for path in folder.iterdir()] == ["pp-6v6.toml"]


@contextmanager
def files_at_most(size: int) -> Iterator[None]:
    """No file of this process grows beyond `size` bytes: the system's own EFBIG, as a quota gives EDQUOT."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_limit_of_size_halts(tmp_path: Path) -> None:
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    desk.reach("Pull the plug")
    view = desk.session.view()
    with files_at_most(desk.record.stat().st_size + 700):
        while view.danger.word != "NOT RECORDING":
            saved = view.saved
            view = desk.type("yes")
            assert view.saved in (saved, saved + 1)
    assert view.power_off[0].startswith("Not saved") and view.saved == saved
    for _ in range(3):
        assert desk.type("out").danger.word == "NOT RECORDING"
    assert "NOT SAVED" in desk.session.leave()
    with Journal.open(desk.record) as journal:
        assert journal.trouble is None and len([e for e in journal.events if e.kind != "tail set aside"]) == saved


@pytest.mark.parametrize("wall_s", [0.0, -86400.0, float(2**60)])
def test_times_of_a_clock_that_is_no_clock_are_unknown(wall_s: float, tmp_path: Path) -> None:
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    desk.clock.wall = lambda: wall_s  # type: ignore[method-assign]
    desk.type("fitted")
    assert "unknown" in desk.session.log()[-1].when
    desk.drop()
    assert "unknown" in " ".join(desk.open().banner.more)  # type: ignore[union-attr]
    desk.drop()


HOUR_S, DAY_S = 3600.0, 86_400.0
SET_BY_S = [HOUR_S, -HOUR_S, DAY_S, -DAY_S, 3650.0 * DAY_S, -3650.0 * DAY_S]


def waited(desk: Desk, title: str, set_by_s: float) -> float:
    """Seconds of the steady clock that a wait takes with the wall clock set in its middle; then all is begun anew."""
    before = desk.reach(title).prompt.wait_s
    assert before is not None and before > 2.0 * _STEP_S
    seconds, plain = 0.0, desk.clock.wall
    while desk.session.view().prompt.title == title:
        desk.clock.pass_(_STEP_S)
        desk.session.tick()
        seconds += _STEP_S
        if seconds == 2.0 * _STEP_S:
            left = desk.session.view().prompt.wait_s
            desk.clock.wall = lambda: plain() + set_by_s  # type: ignore[method-assign]
            desk.session.tick()
            assert desk.session.view().prompt.wait_s == left
    saved = [event.kind for event in desk.session._journal.events]
    assert "disturbed" not in saved and "unwatched" not in saved
    desk.session.stop()
    return seconds


@pytest.mark.parametrize("title", ["Wait", "Let the clip work"])
def test_a_wall_clock_that_is_set_in_a_wait_shortens_none(title: str, tmp_path: Path) -> None:
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    whole_s = waited(desk, title, 0.0)
    assert whole_s >= {"Wait": 60.0, "Let the clip work": 10.0}[title]
    assert [waited(desk, title, by_s) for by_s in SET_BY_S] == [whole_s] * len(SET_BY_S)
    desk.drop()


def test_kept_answers_are_for_their_owner_alone_whatever_the_umask(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    before = os.umask(0)
    try:
        kept(["check"], [], lambda: Answer(Exit.FINE, "fine"))
    finally:
        os.umask(before)
    folder = tmp_path / "benchtui"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert [stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()] == [0o600]


def test_a_locale_that_was_asked_for_counts_and_not_what_stands_in_for_it() -> None:
    # Python puts C.UTF-8 in the place of a locale that is not installed.
    for asked, taken in (("de_DE.ISO-8859-1", False), ("C", False), ("", False), ("de_DE.UTF-8", True)):
        assert takes_utf8({"TERM": "xterm", "LANG": asked, "LC_CTYPE": "C.UTF-8"}) is taken
    assert takes_utf8({"TERM": "xterm", "LANG": "de_DE.ISO-8859-1", "LC_CTYPE": "de_DE.UTF-8"})
    assert not takes_utf8({"TERM": "xterm", "LANG": "de_DE.UTF-8", "LC_ALL": "de_DE.ISO-8859-1"})


def test_no_check_lives_in_an_assertion() -> None:
    modules = sorted(PACKAGE.rglob("*.py"))
    assert len(modules) > 100
    assert not [path for path in modules if re.search(r"^\s*assert\b", path.read_text("utf-8"), re.MULTILINE)]


def test_a_start_as_root_is_warned_of(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(terminal, "refusal", lambda: None)
    monkeypatch.setattr(app, "run", lambda *opener: 0)
    for user, warned in ((0, True), (1000, False)):
        monkeypatch.setattr("os.geteuid", lambda user=user: user)
        assert main([str(BUILDS / "pp-6v6.toml")]) == 0
        told = capsys.readouterr().err
        assert ("started as root" in told) is warned and told.count("\n") == warned
