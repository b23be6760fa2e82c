"""The bytes of a build file: read once, without hanging on what is no file, and fit to be parsed."""

from __future__ import annotations

import hashlib
import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path

from benchtui.buildfile.problems import BuildFileError, Problem

#: Limits before parsing (own decision; no build of a size that is computed comes near them).
LARGEST_BYTES = 256 * 1024
LONGEST_LINE_BYTES = 4096

_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_MERGE_MARKER = re.compile(r"^(?:<{7}|={7}|>{7}|\|{7})", re.MULTILINE)
_MOST_FAULTS = 50
_FOREIGN = {"{": "a JSON file", "<": "an HTML or XML file"}


@dataclass(frozen=True)
class Source:
    """A build file as `written`; `text` is without byte-order mark and has `\\n` as line end."""

    name: str
    written: str
    text: str
    sha256: str


def read(path: str | os.PathLike[str], what: str = "a build file") -> Source:
    """The file at `path`, read once; `what` it should be. Raises BuildFileError unless it is UTF-8 of a fair size."""
    name = os.fsdecode(os.fspath(path))
    try:
        data = _bytes(path, name, what)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _refused(name, 0, f"the file cannot be read ({why})", f"{what} is wanted") from error
    return from_bytes(data, name)


def from_bytes(data: bytes, name: str) -> Source:
    """The source in `data`. Raises BuildFileError as `read` does."""
    _check_size(len(data), name)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or data[:400].count(0) * 4 > len(data[:400]):
        raise _refused(name, 0, "the file is not UTF-8 (it looks like UTF-16)", "save it as UTF-8 text")
    try:
        written = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_utf8(data, error, name) from error
    text = written.removeprefix("\ufeff").replace("\r\n", "\n")
    problems = _faults(text, name)
    if problems:
        raise BuildFileError(problems)
    return Source(name, written, text, hashlib.sha256(data).hexdigest())


def _bytes(path: str | os.PathLike[str], name: str, what: str) -> bytes:
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
    descriptor = os.open(Path(path), flags)
    try:
        status = os.fstat(descriptor)
        if not stat.S_ISREG(status.st_mode):
            found = "a folder" if stat.S_ISDIR(status.st_mode) else "a pipe or device"
            raise _refused(name, 0, f"this is {found}, not a file", f"{what} is wanted")
        _check_size(status.st_size, name)
        with open(descriptor, "rb", closefd=False) as file:
            return file.read(LARGEST_BYTES + 1)
    finally:
        os.close(descriptor)


def _check_size(size: int, name: str) -> None:
    if size > LARGEST_BYTES:
        raise _refused(name, 0, f"the file is over {LARGEST_BYTES // 1024} kB", "a build file is smaller")


def _not_utf8(data: bytes, error: UnicodeDecodeError, name: str) -> BuildFileError:
    line = data.count(b"\n", 0, error.start) + 1
    return _refused(name, line, f"the byte 0x{data[error.start]:02X} is not UTF-8", "save it as UTF-8 text")


def _faults(text: str, name: str) -> list[Problem]:
    """Whatever makes a text no build file before its meaning is looked at."""
    foreign = None if _MERGE_MARKER.search(text) else _FOREIGN.get(text.lstrip()[:1])
    if foreign:
        return [Problem(name, 1, "", "", f"this looks like {foreign}", "a build file in TOML is wanted")]
    problems: list[Problem] = []
    for number, line in enumerate(text.split("\n"), start=1):
        if _MERGE_MARKER.match(line):
            problems.append(Problem(name, number, "", "", "a merge left this line behind", "take it out"))
        if len(line) * 4 > LONGEST_LINE_BYTES and len(line.encode()) > LONGEST_LINE_BYTES:
            problems.append(Problem(name, number, "", "", "the line is over 4 kB long", "shorter lines are wanted"))
        control = _CONTROL.search(line)
        if control:
            problems.append(_control(name, number, control[0]))
        if len(problems) >= _MOST_FAULTS:
            break
    return problems


def _control(name: str, line: int, character: str) -> Problem:
    if character == "\r":
        return Problem(
            name,
            line,
            "",
            "",
            "the line has a carriage return inside",
            "lines that end in a line feed are wanted",
        )
    code = f"<U+{ord(character):04X}>"
    return Problem(name, line, "", "", f"the line has the control character {code}", "take it out")


def _refused(name: str, line: int, wrong: str, right: str) -> BuildFileError:
    return BuildFileError([Problem(name, line, "", "", wrong, right)])
