"""The check command asked in this process: its code, its words, and that every fault is told as it must be."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from benchtui.cli.main import main
from benchtui.quantities.clean import is_hidden

_MORE = ": only the first "


def refused_lines(path: Path, shown: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What `check` says of a file that it refuses: nothing on stdout, and each line `file:line: wrong, right`."""
    code = main(["check", os.fspath(path)])
    told = capsys.readouterr()
    assert (code, told.out) == (2, ""), told.err
    lines = told.err.splitlines()
    assert lines and not any(map(is_hidden, told.err.replace("\n", "")))
    form = re.compile(re.escape(f"{path.parent}/{shown}") + r"(:\d+)?: .+, .+")
    for line in lines:
        assert form.fullmatch(line) or _MORE in line, line
    return lines


@contextmanager
def as_nobody() -> Iterator[None]:
    """Root may read everything: where the tests run as root, the block runs as somebody who may not."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)
