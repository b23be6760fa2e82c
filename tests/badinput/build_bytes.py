"""Build files whose bytes are wrong, by case; what is no file at all is made in a folder."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.badinput.cases import Answer, Proved, Table
from tests.buildfile.damage import EXAMPLE, line_of

GOOD = EXAMPLE.encode()
_NOTE = b"#" * 4095 + b"\n"
_REFUSED, _TAKEN = Answer.REFUSED, Answer.TAKEN


@dataclass(frozen=True)
class File:
    """Bytes of a file, or what makes something else at a path; the line and the words of the answer."""

    given: bytes | Callable[[Path], None]
    says: str = ""
    line: int = 0
    answer: Answer = _REFUSED
    name: bytes = b"amp.toml"
    shown: str = "amp.toml"


def _sparse(path: Path) -> None:
    """A file of a terabyte that takes no room."""
    with path.open("wb") as file:
        file.truncate(1 << 40)


def unreadable(path: Path) -> None:
    """A sound file that nobody but root may read."""
    path.write_bytes(GOOD)
    path.chmod(0)


def _odd_name(name: bytes, shown: str) -> File:
    return File(b"", "there is nothing in the file", name=name, shown=shown)


_VALUE = GOOD.index(b'watts = "5 W"') + len(b'watts = "5')
_CUT_LINE = line_of(EXAMPLE, "R1 = {")

TABLE: Table[File] = {
    "nothing in it": (File(b"", "there is nothing in the file"), File(b"\n\n", "there is nothing in the file")),
    "notes and nothing else": (File(b"# only a note\n", "there is nothing in the file"),),
    "byte-order mark": (File(b"\xef\xbb\xbf" + GOOD, answer=_TAKEN),),
    "line ends of another system": (File(GOOD.replace(b"\n", b"\r\n"), answer=_TAKEN),),
    "carriage return by itself": (
        File(b"a = 1\rb = 2\n", "carriage return", 1),
        File(GOOD.replace(b"\n", b"\r"), "carriage return", 1),
    ),
    "UTF-16": tuple(
        File(EXAMPLE.encode(encoding), "not UTF-8") for encoding in ("utf-16", "utf-16-le", "utf-16-be")
    ),
    "a byte of Latin-1": (File(b'a = 1\nname = "R\xf6hre"\n', "0xF6 is not UTF-8", 2),),
    "overlong and surrogate bytes": (
        File(b"a = 1\n\xc0\xaf = 1\n", "0xC0 is not UTF-8", 2),
        File(b"a = 1\n\n\xed\xa0\x80\n", "0xED is not UTF-8", 3),
        File(b"a = 1 # \xf4\x90\x80\x80\n", "0xF4 is not UTF-8", 1),
    ),
    "NUL": (
        File(b"a = 1\nb = 2\x00\n" + b"c = 3\n" * 20, "<U+0000>", 2),
        File(GOOD + bytes(4), "<U+0000>", EXAMPLE.count("\n") + 1),
        File(bytes(4096), "not UTF-8"),
    ),
    "control character, also in a note": (
        File(b"a = 1\n# \x1b[31m\n", "<U+001B>", 2),
        File(b'a = "\x07"\n', "<U+0007>", 1),
        File(b"a = 1 # \x7f\n", "<U+007F>", 1),
        File(b"\x01\n\x02\n\x03\n", "<U+0003>", 3),
    ),
    "too large": (
        File(b"#" * 256 * 1024 + b"\n", "over 256 kB"),
        File(_sparse, "over 256 kB"),
        File((GOOD + _NOTE * 64)[: 256 * 1024], answer=_TAKEN),
    ),
    "too long a line": (
        File(b"a = 1\n# " + b"x" * 4096 + b"\n", "over 4 kB", 2),
        File(b"# " + "Ω".encode() * 2048 + b"\n", "over 4 kB", 1),
        File(GOOD + b"#" * 4096, answer=_TAKEN),
    ),
    "too many dots in a key": (
        File(b"format = 1\n" + b".".join([b"a"] * 10) + b" = 1\n", "over 8 dots", 2),
        File(b"format = 1\n[" + b".".join([b"a"] * 2000) + b"]\n", "over 8 dots", 2),
        File(b"format = 1\na = { " + b" . ".join([b'"b"'] * 10) + b" = 1 }\n", "over 8 dots", 2),
    ),
    "brackets nested too deep": (
        File(b"format = 1\na = " + b"[" * 2000 + b"]" * 2000, "nested over 16 deep", 2),
        File(b"format = 1\na = " + b"[\n" * 2000, "nested over 16 deep", 18),
        File(b"format = 1\na = " + b"{a=" * 1000, "nested over 16 deep", 2),
    ),
    "a number of thousands of digits": (
        File(b"format = " + b"9" * 4080, "is newer", 1),
        File(b"a = " + b"9" * 5000, "over 4 kB", 1),
    ),
    "cut off in the middle": (
        File(GOOD[:_VALUE], "this is no TOML", _CUT_LINE),
        File(GOOD[: GOOD.index(b"[valve]")], "point is missing"),
        File(GOOD[: len(GOOD) // 2], "this is no TOML", GOOD[: len(GOOD) // 2].count(b"\n") + 1),
    ),
    "left behind by a merge": tuple(
        File(b"a = 1\n" + mark + b"\nb = 2\n", "merge", 2)
        for mark in (b"<<<<<<< mine", b"=======", b">>>>>>> theirs", b"||||||| base")
    ),
    "another kind of file under this name": (
        File(b'\n {"format": 1}\n', "JSON", 1),
        File(b"<!DOCTYPE html>\n", "HTML", 1),
        File(b"<?xml version='1.0'?>\n", "XML", 1),
        File(b"\x89PNG\r\n\x1a\n\x00\x00", "0x89 is not UTF-8", 1),
        File(b"MZ\x90\x00\x03", "not UTF-8"),
    ),
    "no file but a folder, pipe, device or broken link": (
        File(lambda path: path.mkdir(), "a folder, not a file, a build file is wanted"),
        File(lambda path: os.mkfifo(path), "a pipe or device"),
        File(lambda path: path.symlink_to("/dev/zero"), "a pipe or device"),
        File(lambda path: path.symlink_to("/dev/tty"), ""),
        File(lambda path: path.symlink_to(path.with_name("gone")), "cannot be read"),
        File(lambda path: path.symlink_to(path), "cannot be read"),
    ),
    "missing, or not to be read": (
        File(lambda path: None, "cannot be read"),
        File(unreadable, "cannot be read"),
        File(lambda path: None, "cannot be read", name=b"none/amp.toml"),
    ),
    "odd characters in the file's name": (
        _odd_name(b"\x1b[31m.toml", "<U+001B>[31m.toml"),
        _odd_name(b"a\nb.toml", "a<U+000A>b.toml"),
        _odd_name("\u202ea\u200b\x85.toml".encode(), "<U+202E>a<U+200B><U+0085>.toml"),
        _odd_name(b"\xff.toml", "<U+DCFF>.toml"),
        _odd_name(b"[bold][@click=app.quit].toml", "[bold][@click=app.quit].toml"),
        _odd_name(b"{0}%s.toml", "{0}%s.toml"),
    ),
    "changed while it is read": (
        Proved(_TAKEN, "tests/buildfile/test_source.py::test_a_file_is_read_once"),
    ),
}  # fmt: skip
