"""The line of every key and value of a TOML text, which `tomllib` does not tell.

A tolerant reader: it looks at structure only and leaves the judging to `tomllib`. Besides lines it finds what
`tomllib` reports one at a time or not at all: keys written twice, bare words where text in quotes is due,
nesting that would exhaust the stack, and keys so dotted that parsing them takes seconds.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NamedTuple

from benchtui.buildfile.problems import MOST_FINDINGS, Path
from benchtui.quantities.clean import clean

MOST_DOTS = 8
DEEPEST = 16
_LONGEST_FOUND = 60

_TOKEN = re.compile(
    r"""
      (?P<long>\"{3}(?:[^"\\]|\\.|"(?!""))*+\\?(?:"{3,5}|\Z) | '{3}(?:[^']|'(?!''))*+(?:'{3,5}|\Z))
    | (?P<text>"(?:[^"\\\n]|\\[^\n])*+(?:"|\\?(?=\n|\Z)) | '[^'\n]*+(?:'|(?=\n|\Z)))
    | (?P<comment>\#[^\n]*+)
    | (?P<newline>\n)
    | (?P<blank>[ \t]++)
    | (?P<sign>[\[\]{},=.])
    | (?P<word>[^\s"'\#\[\]{},=.]++)
    | (?P<other>.)
    """,
    re.VERBOSE | re.DOTALL,
)
# A scalar that needs no quotes. Numbers and dates are only told from words here; tomllib judges them.
_SCALAR = re.compile(
    r"true|false|[+-]?(?:inf|nan)|[+-]?\d[\d_]*(?:[eE][+-]?\d[\d_]*)?|0[xob][\da-fA-F_]+|\d[\d:TZtz+-]*"
)
_ESCAPE = re.compile(r'\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|([btnfr"\\]))')
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


class Token(NamedTuple):
    kind: str
    text: str
    line: int
    end: int


@dataclass(frozen=True)
class Fault:
    """Something wrong at `line` that is seen before parsing."""

    line: int
    found: str
    wrong: str
    right: str


@dataclass
class Outline:
    """What the reader found: lines of all paths, and faults that forbid parsing or explain why it fails."""

    lines: dict[Path, int] = field(default_factory=dict)
    twice: list[tuple[Path, int, int]] = field(default_factory=list)
    """Keys written twice, with the line of the first and of the second."""
    faults: list[Fault] = field(default_factory=list)
    """Faults that `tomllib` stops at, one at a time."""
    too_deep: list[Fault] = field(default_factory=list)
    """Faults that `tomllib` should never see."""


def outline(text: str) -> Outline:
    """The outline of a TOML text with `\\n` as line end. Never raises; linear in the length of the text."""
    tokens = _tokens(text)
    found = Outline(too_deep=_too_deep(tokens))
    if not found.too_deep:
        _Reader(text, tokens, found).document()
    return found


def _tokens(text: str) -> list[Token]:
    tokens = []
    line = 1
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup or "other"
        if kind not in ("blank", "comment"):
            tokens.append(Token(kind, match[0], line, match.end()))
        line += match[0].count("\n") if kind in ("long", "newline") else 0
    tokens.append(Token("end", "", line, len(text)))
    return tokens


def _too_deep(tokens: list[Token]) -> list[Fault]:
    """At most one fault of each kind, so that a hostile file gets a short answer."""
    found: dict[str, Fault] = {}
    depth = dots = 0
    for token in tokens:
        sign = token.text if token.kind == "sign" else ""
        dots = dots + 1 if sign == "." else dots if token.kind in ("word", "text") else 0
        depth = max(0, depth + (sign in ("[", "{")) - (sign in ("]", "}")))
        if depth > DEEPEST and "depth" not in found:
            found["depth"] = Fault(
                token.line, "", f"brackets are nested over {DEEPEST} deep", "flatter ones are wanted"
            )
        if dots > MOST_DOTS and "dots" not in found:
            found["dots"] = Fault(token.line, "", f"a key has over {MOST_DOTS} dots", "a shorter key is wanted")
    return list(found.values())


class _Reader:
    """Walks the tokens once, with the table that keys now belong to."""

    def __init__(self, text: str, tokens: list[Token], found: Outline) -> None:
        self._text = text
        self._tokens = tokens
        self._at = 0
        self._found = found
        self._lines = found.lines
        self._written: dict[Path, int] = {}
        self._doubled: set[Path] = set()
        self._counts: dict[Path, int] = {}
        self._table: Path = ()

    def document(self) -> None:
        while self._now.kind != "end":
            if self._now.kind == "newline":
                self._next()
            elif self._sign("["):
                self._header()
            else:
                self._pair(self._table)
                self._finish_line()

    @property
    def _now(self) -> Token:
        return self._tokens[self._at]

    def _next(self) -> Token:
        token = self._now
        self._at = min(self._at + 1, len(self._tokens) - 1)
        return token

    def _sign(self, sign: str) -> bool:
        return self._now.kind == "sign" and self._now.text == sign

    def _finish_line(self) -> None:
        while self._now.kind not in ("newline", "end"):
            self._next()

    def _header(self) -> None:
        line = self._next().line
        of_array = self._sign("[")
        if of_array:
            self._next()
        keys = self._key()
        path = self._resolved(keys[:-1], line)
        if keys:
            path = (*path, keys[-1])
            self._lines.setdefault(path, line)
            if of_array:
                number = self._counts.get(path, 0)
                self._counts[path] = number + 1
                path = (*path, number)
                self._lines[path] = line
            else:
                path = self._last_of_array(path)
                self._note_written(path, line)
        self._table = path
        self._finish_line()

    def _resolved(self, keys: list[str], line: int) -> Path:
        """The path of a header's parents; where one is an array of tables, its last table is meant."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            self._lines.setdefault(path, line)
            path = self._last_of_array(path)
        return path

    def _last_of_array(self, path: Path) -> Path:
        return (*path, self._counts[path] - 1) if path in self._counts else path

    def _key(self) -> list[str]:
        keys: list[str] = []
        while self._now.kind in ("word", "text"):
            keys.append(_plain(self._next().text))
            if not self._sign("."):
                break
            self._next()
        return keys

    def _pair(self, table: Path) -> bool:
        """Reads one key and its value; False if there is none here."""
        line = self._now.line
        keys = self._key()
        if not keys or not self._sign("="):
            return False
        self._next()
        path = table
        for key in keys:
            path = (*path, key)
            self._lines.setdefault(path, line)
        self._note_written(path, line)
        self._value(path)
        return True

    def _note_written(self, path: Path, line: int) -> None:
        inside = any(path[:length] in self._doubled for length in range(1, len(path)))
        if path in self._written and not inside and len(self._found.twice) < MOST_FINDINGS:
            self._found.twice.append((path, self._written[path], line))
            self._doubled.add(path)
        self._written.setdefault(path, line)

    def _value(self, path: Path) -> None:
        if self._sign("["):
            self._array(path)
        elif self._sign("{"):
            self._inline_table(path)
        elif self._now.kind in ("text", "long"):
            self._next()
        else:
            self._bare()

    def _bare(self) -> None:
        """A value without quotes: a number, date or boolean; or a word that should have quotes."""
        words: list[Token] = []
        while self._now.kind in ("word", "other") or self._sign("."):
            words.append(self._next())
        if all(_SCALAR.fullmatch(word.text) for word in words if word.text != "."):
            return
        text = clean(self._text[words[0].end - len(words[0].text) : words[-1].end], _LONGEST_FOUND)
        self._blame(Fault(words[0].line, text, "is a bare word", f'write it in quotes: "{text}"'))

    def _array(self, path: Path) -> None:
        self._next()
        number = 0
        while self._now.kind != "end" and not self._sign("]"):
            if self._now.kind == "newline" or self._sign(","):
                self._next()
                continue
            if self._begins_a_pair():
                self._blame(Fault(self._now.line, "", "a list has no end", "close it with ]"))
                return
            self._lines[(*path, number)] = self._now.line
            before = self._at
            self._value((*path, number))
            if self._at == before:
                return
            number += 1
        self._next()

    def _begins_a_pair(self) -> bool:
        """Does a key with its equals sign stand here, where a value is due?"""
        after = self._tokens[min(self._at + 1, len(self._tokens) - 1)]
        return self._now.kind in ("word", "text") and after.kind == "sign" and after.text == "="

    def _inline_table(self, path: Path) -> None:
        line = self._next().line
        while self._now.kind != "end" and not self._sign("}") and not self._sign("["):
            if self._sign(","):
                self._next()
            elif self._now.kind == "newline":
                self._broken_inline_table(line)
            elif not self._pair(path):
                return
        if self._sign("}"):
            self._next()

    def _broken_inline_table(self, line: int) -> None:
        fault = Fault(line, "", "a { } entry goes on over the line end", "keep it on one line, or give it a [table]")
        if fault not in self._found.faults[-1:]:
            self._blame(fault)
        self._next()

    def _blame(self, fault: Fault) -> None:
        if len(self._found.faults) < MOST_FINDINGS:
            self._found.faults.append(fault)


def _plain(key: str) -> str:
    """A key as `tomllib` gives it: without quotes and escapes."""
    if key[:1] == "'":
        return key.strip("'")
    if key[:1] == '"':
        return _ESCAPE.sub(_unescaped, key[1:].removesuffix('"'))
    return key


def _unescaped(match: re.Match[str]) -> str:
    code = match[1] or match[2]
    if code is None:
        return _ESCAPED[match[3]]
    number = int(code, 16)
    return chr(number) if number < 0x110000 else match[0]
