"""Disk, clock, user and settings of the machine as they should not be: it works, or refuses in words."""

from __future__ import annotations

import re
import resource
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from benchtui.cli.main import main
from benchtui.record import Journal
from benchtui.session.errors import PlaceWrong
from benchtui.session.opening import open_session
from benchtui.tui import app, terminal
from tests.badinput.asked import as_nobody
from tests.cli.running import benchtui
from tests.record.counts import count
from tests.session.made_up import BUILDS, Desk

PACKAGE = Path(__file__).parents[2] / "benchtui"

#: Surroundings of a process; None takes the variable away. The first stands for several, so that one run shows them.
PLACES: dict[str, dict[str, str | None]] = {
    "several": {"HOME": None, "LANG": "C", "LC_ALL": None, "TERM": None, "NO_COLOR": "1"},
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
