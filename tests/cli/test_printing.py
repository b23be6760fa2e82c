"""What is printed reaches a closed pipe, a full disk and an ASCII terminal without harm."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from benchtui.cli.answer import Answer
from benchtui.cli.printing import deliver
from tests.cli.running import COMMAND, ROOT, benchtui

SIGNS = "4k7 Ω, 47 µF, ±5 %, 30 °C, Gleichrichterröhre \u202e \udce9"


def printed(monkeypatch: pytest.MonkeyPatch, *, encoding: str, **environ: str) -> str:
    for name in ("LC_ALL", "LC_CTYPE", "LANG", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environ.items():
        monkeypatch.setenv(name, value)
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    monkeypatch.setattr(sys, "stdout", stream)
    assert deliver(Answer(out=SIGNS)) == 0
    return stream.buffer.getvalue().decode(encoding)  # type: ignore[attr-defined]


def test_signs_stay_in_a_utf8_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = printed(monkeypatch, encoding="utf-8", LANG="en_GB.UTF-8", TERM="xterm-256color")
    assert shown == "4k7 Ω, 47 µF, ±5 %, 30 °C, Gleichrichterröhre <U+202E> <U+DCE9>\n"


@pytest.mark.parametrize(
    ("encoding", "environ"),
    [
        ("ascii", {"LANG": "C"}),
        ("utf-8", {"LANG": "C"}),
        ("utf-8", {"LC_ALL": "POSIX", "LANG": "en_GB.UTF-8"}),
        ("utf-8", {"LANG": "en_GB.UTF-8", "TERM": "linux"}),
        ("latin-1", {"LANG": "de_DE.ISO-8859-1"}),
    ],
)
def test_an_ascii_terminal_gets_stand_ins(
    monkeypatch: pytest.MonkeyPatch, encoding: str, environ: dict[str, str]
) -> None:
    shown = printed(monkeypatch, encoding=encoding, **environ)
    assert shown.isascii()
    assert shown.startswith("4k7 ohm, 47 uF, +-5 %, 30 degC, Gleichrichterr?hre")


def test_a_reader_that_leaves_early_is_no_error() -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = benchtui("--help", capture_output=False, stdout=writer, stderr=subprocess.PIPE)
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_disk_is_told_and_exit_3() -> None:
    with open("/dev/full", "w") as full:
        done = benchtui("--help", capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 3
    assert done.stderr.count("\n") == 1
    assert "could not be written" in done.stderr


def test_closed_streams_are_no_error() -> None:
    command = " ".join(COMMAND) + " --version >&- 2>&-"
    assert subprocess.run(["sh", "-c", command], cwd=ROOT, timeout=60, check=False).returncode == 0
