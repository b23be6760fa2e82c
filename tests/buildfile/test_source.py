"""Reading bytes: what is no build file is refused at once, with its line where there is one."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from benchtui.buildfile import source
from benchtui.buildfile.load import load
from benchtui.buildfile.problems import BuildFileError

_GOOD = b'format = 1\nname = "R\xc3\xb6hre"\n'


def refused(data: bytes) -> list[str]:
    with pytest.raises(BuildFileError) as caught:
        source.from_bytes(data, "amp.toml")
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("case", "data", "text"),
    [
        (3, b"\xef\xbb\xbf" + _GOOD, _GOOD.decode()),
        (4, _GOOD.replace(b"\n", b"\r\n"), _GOOD.decode()),
        (0, _GOOD, _GOOD.decode()),
    ],
)
def test_marks_and_line_ends_of_other_systems_are_taken(case: int, data: bytes, text: str) -> None:
    found = source.from_bytes(data, "amp.toml")
    assert found.text == text
    assert found.written.encode() == data
    assert found.sha256 == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize(
    ("case", "data", "line", "words"),
    [
        (5, b"a = 1\rb = 2\n", 1, "carriage return"),
        (6, _GOOD.decode().encode("utf-16"), 0, "not UTF-8"),
        (6, _GOOD.decode().encode("utf-16-le"), 0, "not UTF-8"),
        (6, _GOOD.decode().encode("utf-16-be"), 0, "not UTF-8"),
        (7, b'a = 1\nname = "R\xf6hre"\n', 2, "0xF6 is not UTF-8"),
        (8, b"a = 1\n\xc0\xaf = 1\n", 2, "0xC0 is not UTF-8"),
        (8, b"a = 1\n\n\xed\xa0\x80\n", 3, "0xED is not UTF-8"),
        (9, b"a = 1\nb = 2\x00\n" + b"c = 3\n" * 20, 2, "<U+0000>"),
        (10, b"a = 1\n# \x1b[31m\n", 2, "<U+001B>"),
        (10, b'a = "\x07"\n', 1, "<U+0007>"),
        (10, b"a = 1 # \x7f\n", 1, "<U+007F>"),
        (11, b"#" * 256 * 1024 + b"\n", 0, "over 256 kB"),
        (12, b"a = 1\n# " + b"x" * 4096 + b"\n", 2, "over 4 kB"),
        (12, b"# " + "Ω".encode() * 2048 + b"\n", 1, "over 4 kB"),
        (17, b"a = 1\n<<<<<<< mine\nb = 2\n", 2, "merge"),
        (17, b"a = 1\n=======\nb = 2\n", 2, "merge"),
        (17, b"a = 1\n>>>>>>> theirs\n", 2, "merge"),
        (18, b'\n {"format": 1}\n', 1, "JSON"),
        (18, b"<!DOCTYPE html>\n", 1, "HTML"),
    ],
)
def test_bytes_that_are_no_build_file_are_refused(case: int, data: bytes, line: int, words: str) -> None:
    messages = refused(data)
    assert any(message.startswith(f"amp.toml:{line}:" if line else "amp.toml: ") for message in messages)
    assert any(words in message for message in messages)


def test_all_lines_with_faults_are_told_at_once() -> None:
    assert len(refused(b"\x01\n\x02\n\x03\n")) == 3


def test_just_under_the_limits_is_taken() -> None:
    line = b"#" + b"x" * 4094 + b"\n"
    assert source.from_bytes(line * 64, "amp.toml").text


class TestWhatIsNoFile:
    """Case 19 and 20: refused at once, without reading and without hanging."""

    def refused(self, path: object, words: str) -> None:
        with pytest.raises(BuildFileError, match=words):
            source.read(path)

    def test_a_folder(self, tmp_path: Path) -> None:
        self.refused(tmp_path, "a folder")

    def test_a_pipe_that_nobody_writes(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe")
        self.refused(tmp_path / "pipe", "a pipe or device")

    def test_an_endless_device(self) -> None:
        self.refused("/dev/zero", "a pipe or device")

    def test_a_missing_one(self, tmp_path: Path) -> None:
        self.refused(tmp_path / "none.toml", "cannot be read")

    def test_a_broken_link(self, tmp_path: Path) -> None:
        (tmp_path / "link").symlink_to(tmp_path / "gone")
        self.refused(tmp_path / "link", "cannot be read")

    def test_a_loop_of_links(self, tmp_path: Path) -> None:
        (tmp_path / "link").symlink_to(tmp_path / "link")
        self.refused(tmp_path / "link", "cannot be read")

    def test_a_name_that_no_file_can_have(self) -> None:
        self.refused("a\x00b", "cannot be read")

    @pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
    def test_one_without_permission(self, tmp_path: Path) -> None:
        path = tmp_path / "amp.toml"
        path.write_bytes(_GOOD)
        path.chmod(0)
        self.refused(path, "cannot be read")


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        (b"\x1b[31m.toml", "<U+001B>[31m.toml"),
        (b"a\nb.toml", "a<U+000A>b.toml"),
        ("\u202ea.toml".encode(), "<U+202E>a.toml"),
        (b"\xff.toml", "<U+DCFF>.toml"),
        (b"[bold].toml", "[bold].toml"),
    ],
)
def test_an_odd_file_name_is_escaped_in_the_message(tmp_path: Path, name: bytes, shown: str) -> None:
    path = tmp_path / os.fsdecode(name)
    path.write_bytes(b"")
    problem = _first_problem(path)
    assert str(problem).startswith(f"{tmp_path}/{shown}:")
    assert str(problem).isprintable()


def _first_problem(path: Path) -> object:
    with pytest.raises(BuildFileError) as caught:
        load(path)
    return caught.value.problems[0]


def test_a_file_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "amp.toml"
    path.write_bytes(_GOOD)
    opened: list[object] = []
    real = os.open
    monkeypatch.setattr(os, "open", lambda *arguments: (opened.append(arguments[0]), real(*arguments))[1])
    assert source.read(path).sha256 == hashlib.sha256(_GOOD).hexdigest()
    assert opened == [path]
