"""Names of files completed at a prompt, where only one way leads on."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.session.completing import completed


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """my hum.wav, my tone.wav, thd.WAV, notes.txt, .hidden.wav and a folder with one.wav."""
    for name in ("my hum.wav", "my tone.wav", "thd.WAV", "notes.txt", ".hidden.wav", "of today/one.wav"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path


@pytest.mark.parametrize(
    ("line", "becomes"),
    [
        ("wav t", "wav thd.WAV"),
        ("wav m", "wav my "),
        ("wav my h", "wav my hum.wav"),
        ("wav o", "wav of today/"),
        ("wav of today/", "wav of today/one.wav"),
        ("wav ~/t", "wav ~/thd.WAV"),
        ("wav .h", "wav .hidden.wav"),
        ("wav 'my h", "wav 'my hum.wav'"),
        ('wav thd.WAV "my t', 'wav thd.WAV "my tone.wav"'),
        ("wav 'my hum.wav' t", "wav 'my hum.wav' thd.WAV"),
        ("wav thd.WAV of", "wav thd.WAV 'of today/"),
    ],
)
def test_a_name_is_completed(line: str, becomes: str) -> None:
    assert completed(line) == becomes


@pytest.mark.parametrize("line", ["wav", "wav n", "wav x/y", "wav ~nobody/t", "wav my ", "wav thd.WAV", "wav t\0"])
def test_what_leads_nowhere_or_two_ways_stays_as_it_is(line: str) -> None:
    assert completed(line) == line
