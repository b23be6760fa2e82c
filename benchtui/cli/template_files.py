"""Templates on their way to the disk: all are made before the first is written, and no foreign file is touched."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from benchtui.cli.answer import Exit, Refusal
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.metalwork.drawing import Drawing

_T = TypeVar("_T")


def made(drawings: Sequence[Drawing], options: argparse.Namespace) -> dict[Path, bytes]:
    """The files that the options ask for with what goes into each. Raises Refusal where a package is missing."""
    from benchtui.metalwork.as_dxf import dxf
    from benchtui.metalwork.as_pdf import pdf
    from benchtui.metalwork.as_svg import svg
    from benchtui.metalwork.sheets import MOST_SHEETS, how_many, one_sheet, sheets

    files = {}
    if options.pdf:
        for drawing in drawings:
            if (count := how_many(drawing, options.paper or "a4")) > MOST_SHEETS:
                words = f"{drawing.name} takes {count} sheets, at most {MOST_SHEETS} are drawn: is its size right?"
                raise Refusal(Exit.INPUT_WRONG, f"benchtui drill: {words}")
        pages = [sheet for drawing in drawings for sheet in sheets(drawing, options.paper or "a4")]
        files[options.pdf] = with_library("PDF", "drill", lambda: pdf(pages))
    for drawing in drawings if options.svg else ():
        text = with_library("SVG", "drill", lambda drawing=drawing: svg(one_sheet(drawing)))
        files[options.svg / f"{drawing.name}.svg"] = text.encode("utf-8")
    for drawing in drawings if options.dxf else ():
        text = with_library("DXF", "drill", lambda drawing=drawing: dxf(drawing))
        files[options.dxf / f"{drawing.name}.dxf"] = text.encode("utf-8")
    return files


def write(files: dict[Path, bytes], mark: str, command: str) -> list[Path]:
    """Write all `files` of `command`, each at once and whole, and give their paths; `mark` tells those that are ours.

    Raises Refusal where a folder is missing, where the disk fails, or where a file is there that is none of ours.
    """
    if problems := list(_in_the_way(files, mark.encode("ascii"), command)):
        raise _refused(command, *problems)
    for path, data in files.items():
        try:
            _put(path, data)
        except OSError as error:
            raise _refused(command, f"{path} could not be written ({error.strerror})") from error
    return list(files)


def with_library(what: str, command: str, make: Callable[[], _T]) -> _T:
    """What `make` gives. Raises Refusal in the name of `command` where a package is missing."""
    try:
        return make()
    except ModuleNotFoundError as error:
        if (error.name or "benchtui").partition(".")[0] == "benchtui":
            raise
        words = f"{what} needs the package {error.name}, which is not installed: pip install 'benchtui[papers]'"
        raise _refused(command, words) from error


def _in_the_way(files: Iterable[Path], mark: bytes, command: str) -> Iterator[str]:
    for path in files:
        if not path.parent.is_dir():
            yield f"{path.parent} is no folder, one that exists is wanted"
        elif os.path.lexists(path) and not _is_ours(path, mark):
            yield f"{path} is there and was not written by benchtui {command}, another name is wanted"


def _is_ours(path: Path, mark: bytes) -> bool:
    try:
        return path.is_file() and mark in path.read_bytes()
    except OSError:
        return False


def _put(path: Path, data: bytes) -> None:
    """Write beside the place, then move there, so that a full disk leaves the file as it was."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with open(beside, "xb") as file:
            file.write(data)
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _refused(command: str, *problems: str) -> Refusal:
    lines = [clean(f"benchtui {command}: {problem}") for problem in dict.fromkeys(problems)]
    return Refusal(Exit.PLACE_WRONG, "\n".join(lines))
