"""Reading bytes: a file is read once. What is no build file is tried in tests/badinput."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from benchtui.buildfile import source
from benchtui.buildfile.problems import BuildFileError

_GOOD = b'format = 1\nname = "R\xc3\xb6hre"\n'


def test_a_name_that_no_file_can_have_is_refused() -> None:
    with pytest.raises(BuildFileError, match="cannot be read"):
        source.read("a\x00b")


def test_a_file_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "amp.toml"
    path.write_bytes(_GOOD)
    opened: list[object] = []
    real = os.open
    monkeypatch.setattr(os, "open", lambda *arguments: (opened.append(arguments[0]), real(*arguments))[1])
    assert source.read(path).sha256 == hashlib.sha256(_GOOD).hexdigest()
    assert opened == [path]
