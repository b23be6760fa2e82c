"""Every screen test runs in a UTF-8 locale with colour, unless it says otherwise."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("NO_COLOR", "LC_ALL", "LC_CTYPE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    monkeypatch.setenv("TERM", "xterm-256color")
