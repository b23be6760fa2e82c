"""`benchtui drill`: the schedule, the files, what the review finds, and every way to ask for it wrongly."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

from benchtui.cli import template_files
from benchtui.cli.main import main
from benchtui.metalwork.drawing import MARK
from benchtui.metalwork.schedule import ORDER
from tests.metalwork import panels, pixels

BUILDS = Path(__file__).parents[2] / "builds"


@pytest.fixture
def chassis(tmp_path: Path) -> str:
    """A build with three panels, in which one socket is laid out by guide sizes."""
    path = tmp_path / "chassis.toml"
    path.write_text(panels.text(), "utf-8")
    return str(path)


def told(capsys: pytest.CaptureFixture[str], *arguments: str | Path, code: int) -> tuple[str, str]:
    assert main(["drill", *map(str, arguments)]) == code
    captured = capsys.readouterr()
    return captured.out, captured.err


def test_the_schedule_is_told_for_80_columns_with_every_opening_and_caution(
    chassis: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out, words = told(capsys, chassis, code=1)
    assert max(map(len, out.splitlines())) <= 80
    for cut in (cut.name for name in ("top", "rear", "side") for cut in panels.plate(name).cuts):
        assert f"[ ] {cut} " in out
    assert "No gloves" in out and "Local codes" in out
    assert re.search(r"X3 +171\.30 +130\.00 +19 +noval socket; guide size", out)
    assert "warn" in words and "noval socket" in words


def test_json_has_the_steps_in_order_and_the_findings(chassis: str, capsys: pytest.CaptureFixture[str]) -> None:
    out, words = told(capsys, chassis, "--panel", "rear", "--json", code=1)
    data = json.loads(out)
    assert list(data) == ["schema", "build", "panels", "findings", "files"] and words == ""
    (rear,) = data["panels"]
    assert [rear[key] for key in ("panel", "width_mm", "thickness_mm")] == ["rear", 330.0, 1.5]
    kinds = [step["kind"] for step in rear["steps"]]
    assert [ORDER.index(kind) for kind in kinds] == sorted(ORDER.index(kind) for kind in kinds)
    inlet = next(step for step in rear["steps"] if step["kind"] == "cut_out")
    assert (inlet["hole"], inlet["x_mm"], inlet["y_mm"], inlet["size_mm"]) == ("inlet", 40.0, 35.0, [27.5, 20.2])
    assert {each["severity"] for each in data["findings"]} >= {"warn"}


def test_what_is_found_comes_as_words_and_a_note_alone_is_fine(capsys: pytest.CaptureFixture[str]) -> None:
    out, words = told(capsys, BUILDS / "pp-6v6.toml", code=0)
    assert "Scribe" in out
    assert all(line.startswith(("note", " ")) for line in words.splitlines())


def test_files_of_all_panels_are_written_and_named(
    chassis: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "templates"
    folder.mkdir()
    pdf = folder / "all.pdf"
    out, _ = told(capsys, chassis, "--pdf", pdf, "--svg", folder, "--dxf", folder, code=1)
    names = {"all.pdf", *(f"{name}.{end}" for name in ("top", "rear", "side") for end in ("svg", "dxf"))}
    assert {path.name for path in folder.iterdir()} == names
    assert out.splitlines() == [str(folder / name) for name in sorted(names, key=out.index)]
    assert all(MARK.encode() in path.read_bytes() for path in folder.iterdir())
    assert len(pixels.pages(pdf.read_bytes())) == 5
    before = {path: path.read_bytes() for path in folder.iterdir()}
    told(capsys, chassis, "--pdf", pdf, "--svg", folder, "--dxf", folder, code=1)
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_mirrored_files_have_names_of_their_own_and_letter_is_another_paper(
    chassis: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, _ = told(capsys, chassis, "--panel", "side", "--mirror", "--svg", tmp_path, code=1)
    assert Path(out.strip()).name == "side-inside.svg"
    told(capsys, chassis, "--panel", "side", "--paper", "letter", "--pdf", tmp_path / "l.pdf", code=1)
    (page,) = pixels.pages((tmp_path / "l.pdf").read_bytes())
    assert page.dark.shape[0] * page.pixel_mm[1] == pytest.approx(279.4, abs=0.01)


def test_paper_says_what_it_was_made_from_and_that_the_review_warned(
    chassis: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told(capsys, chassis, "--panel", "top", "--svg", tmp_path, code=1)
    words = (tmp_path / "top.svg").read_text("utf-8")
    assert re.search(r"From chassis\.toml, sha256 [0-9a-f]{12}, benchtui", words)
    assert re.search(r"The review of the layout found: .*\d+ warn", words)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--panel", "lid"], "no panel lid, its panels are top, rear, side"),
        (["--mirror"], "--mirror turns templates over, it goes with --pdf, --svg or --dxf"),
        (["--paper", "a4"], "--paper is of printed templates, it goes with --pdf"),
        (["--paper", "a5", "--pdf", "x.pdf"], "a5"),
    ],
)
def test_what_is_asked_wrongly_is_one_sentence(
    arguments: list[str], said: str, chassis: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out, words = told(capsys, chassis, *arguments, code=2)
    assert out == "" and said in words and words.count("\n") == 1


def test_a_build_without_a_panel_is_told_what_is_wanted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bare.toml").write_text(panels.text(""), "utf-8")
    out, words = told(capsys, tmp_path / "bare.toml", code=2)
    assert out == "" and "has no panel, a table such as [panel.top] is wanted" in words


def test_a_file_of_someone_else_is_never_overwritten(
    chassis: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine, link, folder = tmp_path / "mine.pdf", tmp_path / "link.pdf", tmp_path / "folder.pdf"
    mine.write_text("my letter", "utf-8")
    link.symlink_to(tmp_path / "nowhere")
    folder.mkdir()
    for path in (mine, link, folder, Path(chassis)):
        before = contents(tmp_path)
        out, words = told(capsys, chassis, "--svg", tmp_path, "--pdf", path, code=3)
        assert out == "" and f"{path} is there and was not written by benchtui drill" in words
        assert contents(tmp_path) == before, "not one of the files is written"


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() if path.is_file() else b"" for path in folder.iterdir()}


def test_a_panel_that_would_take_a_heap_of_paper_is_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.toml").write_text(panels.text(panels.CHASSIS.replace('"80 mm", "60 mm"', '"4 m", "3 m"')), "utf-8")
    _, words = told(capsys, tmp_path / "a.toml", "--panel", "side", "--pdf", tmp_path / "a.pdf", code=2)
    assert re.search(r"side takes \d+ sheets, at most 60 are drawn: is its size right\?", words)


def test_a_folder_that_is_not_there_is_told_and_none_is_made(
    chassis: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gone = tmp_path / "gone"
    _, words = told(capsys, chassis, "--dxf", gone, "--svg", gone, code=3)
    assert words == f"benchtui drill: {gone} is no folder, one that exists is wanted\n"
    assert not gone.exists()


def test_a_disk_that_fails_leaves_the_old_file_and_no_remains(
    chassis: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    pdf = tmp_path / "a.pdf"
    told(capsys, chassis, "--panel", "side", "--pdf", pdf, code=1)
    before = pdf.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(template_files.os, "replace", full)
    _, words = told(capsys, chassis, "--pdf", pdf, code=3)
    assert words == f"benchtui drill: {pdf} could not be written (No space left on device)\n"
    assert pdf.read_bytes() == before and {path.name for path in tmp_path.iterdir()} == {"a.pdf", "chassis.toml"}


@pytest.mark.parametrize(("option", "package"), [("--pdf", "reportlab"), ("--svg", "drawsvg"), ("--dxf", "ezdxf")])
def test_without_its_library_it_says_what_to_install(
    option: str, package: str, chassis: str, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    for name in [name for name in sys.modules if name.partition(".")[0] == package]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [_Without(package), *sys.meta_path])
    place = tmp_path / "a.pdf" if option == "--pdf" else tmp_path
    out, words = told(capsys, chassis, option, place, code=3)
    assert out == "" and "pip install 'benchtui[papers]'" in words and package in words
    assert {path.name for path in tmp_path.iterdir()} == {"chassis.toml"}


class _Without:
    """An installation that lacks one package."""

    def __init__(self, package: str) -> None:
        self._package = package

    def find_spec(self, name: str, *_: object) -> None:
        if name.partition(".")[0] == self._package:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
