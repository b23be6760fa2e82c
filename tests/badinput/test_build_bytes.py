"""Build files whose bytes are wrong: refused at once with their line, or taken for what they are."""

from __future__ import annotations

import hashlib
import os
from contextlib import nullcontext
from pathlib import Path

import pytest

from benchtui.assemble.checked import load_checked
from benchtui.buildfile.load import load_text
from tests.badinput.asked import as_nobody, refused_lines
from tests.badinput.build_bytes import TABLE, File, unreadable
from tests.badinput.cases import Answer, named, tried
from tests.buildfile.damage import EXAMPLE_PATH

ROWS = list(tried([TABLE]))


@pytest.mark.parametrize(("case", "row"), ROWS, ids=named(ROWS))
def test_bytes(case: str, row: File, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / os.fsdecode(row.name)
    if isinstance(row.given, bytes):
        path.write_bytes(row.given)
    else:
        row.given(path)
    if row.answer is Answer.TAKEN:
        first = load_checked(path)
        assert first.build == load_checked(EXAMPLE_PATH).build and first.warnings == ()
        assert first.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        again = load_text(first.text, "copy in a record")
        assert (again.build, again.sha256) == (first.build, first.sha256)
        return
    assert row.answer is Answer.REFUSED
    with as_nobody() if row.given is unreadable else nullcontext():
        lines = refused_lines(path, row.shown, capsys)
    begins = f"{path.parent}/{row.shown}:" + (f"{row.line}: " if row.line else "")
    assert [line for line in lines if line.startswith(begins) and row.says in line], lines
