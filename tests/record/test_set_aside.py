"""A damaged record makes room for a new one: as it is, under another name, never a sound one."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.record import AlreadyThere, Damaged, Files, Journal, RecordError


def damaged(folder: Path) -> Path:
    path = folder / "amp.bench"
    with Journal.create(path, {"build": "amp"}) as journal:
        for n in range(4):
            journal.append("note", {"text": f"number {n}"})
    path.write_bytes(path.read_bytes().replace(b"number 2", b"number 7"))
    return path


def test_a_damaged_record_keeps_its_bytes_its_head_and_its_damage_under_the_next_name(tmp_path: Path) -> None:
    for n in (1, 2):
        path = damaged(tmp_path)
        data = path.read_bytes()
        kept = Journal.set_aside(path)
        assert kept == tmp_path / f"amp.bench.damaged-{n}" and kept.read_bytes() == data and not path.exists()
        assert isinstance(Journal.open(kept).trouble, Damaged)
        with Journal.create(path, {"build": "amp"}) as journal:
            assert len(journal.events) == 1
        path.unlink()
        path.with_name("amp.bench.head").unlink()


def test_a_sound_record_is_never_set_aside(tmp_path: Path) -> None:
    path = tmp_path / "amp.bench"
    Journal.create(path, {"build": "amp"}).close()
    with pytest.raises(AlreadyThere):
        Journal.set_aside(path)
    assert path.exists()


class Stuck(Files):
    """A disk on which the `at`-th renaming fails."""

    def __init__(self, at: int) -> None:
        self.left = at

    def rename(self, path: Path, to: Path) -> None:
        self.left -= 1
        if not self.left:
            raise OSError(5, "made to fail")
        super().rename(path, to)


@pytest.mark.parametrize("at", [1, 2])
def test_interrupted_at_any_moment_it_is_found_damaged_still_and_set_aside_later(tmp_path: Path, at: int) -> None:
    path = damaged(tmp_path)
    data = path.read_bytes()
    with pytest.raises(RecordError):
        Journal.set_aside(path, files=Stuck(at))
    assert isinstance(Journal.open(path).trouble, Damaged)
    assert Journal.set_aside(path).read_bytes() == data
