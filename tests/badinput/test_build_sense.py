"""Build files that are text but make no sense: refused with the line and the cure, or taken with a warning."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchtui.assemble.checked import load_text_checked
from benchtui.quantities.clean import is_hidden
from tests.badinput.asked import refused_lines
from tests.badinput.build_sense import TABLE, Reviewed, Text
from tests.badinput.cases import Answer, named, tried
from tests.buildfile.damage import changed, line_of
from tests.forecast.rules import told_of_stages, walk
from tests.session.made_up import Desk

TRIED = list(tried([TABLE]))
ROWS = [(case, row) for case, row in TRIED if isinstance(row, Text)]
REVIEWED = [(case, row) for case, row in TRIED if isinstance(row, Reviewed)]


@pytest.mark.parametrize(("case", "row"), ROWS, ids=named(ROWS))
def test_sense(case: str, row: Text, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "amp.toml"
    line = line_of(row.given, row.at) if row.at else 0
    begins = f"{path}:{line}: " if line else f"{path}"
    if row.answer is Answer.REFUSED:
        path.write_text(row.given, "utf-8")
        said = refused_lines(path, path.name, capsys)
    else:
        loaded = load_text_checked(row.given, str(path))
        said = [str(warning) for warning in loaded.warnings]
        assert bool(said) is (row.answer is Answer.WARNED), said
        assert row.becomes in loaded.build.notes
        assert not any(map(is_hidden, loaded.build.notes + "".join(said)))
    if row.answer is not Answer.TAKEN:
        assert [words for words in said if words.startswith(begins) and row.says in words], said


@pytest.mark.parametrize(("case", "row"), REVIEWED, ids=named(REVIEWED))
def test_what_the_ratings_review_says(case: str, row: Reviewed) -> None:
    assert told_of_stages(row.rule, walk(row.given, row.stage)) == row.found


def test_what_is_odd_in_the_file_is_in_sight_in_the_app(tmp_path: Path) -> None:
    path = tmp_path / "amp.toml"
    path.write_text(changed('impedance = "5k"', 'impedance = "10R"'), "utf-8")
    desk = Desk(path, tmp_path)
    (line,) = desk.session.view().findings
    assert line.startswith(f"warn: {path}:") and "impedance is odd: 10 ohm" in line
    desk.compute()
    banner = desk.session.view().banner
    desk.drop()
    assert banner is not None and "1 odd in the build file; see F4" in " ".join((banner.text, *banner.more))
