"""A capture read and analysed, in the process beside the screen: from a file or a card to the event that keeps it."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from math import nan
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.procedure.events import Captured
from benchtui.quantities.clean import clean
from benchtui.quantities.sentence import sentence
from benchtui.session.tables import table

if TYPE_CHECKING:
    from benchtui.session.telling import File, Told
    from benchtui.sound.capture import Capture

#: Samples a second that a capture must have: sound cards' least usual rate, with the whole band of hearing in it.
_LEAST_HZ = 44_100.0


@dataclass(frozen=True)
class Scale:
    """A calibration of one channel: rms volts of a sine that fills the range, at which rate, and by what."""

    volts: float
    rate_hz: float
    said: str


@dataclass(frozen=True)
class Quiet:
    """A capture with the card's input shorted: where it lies, and its level in the band of hearing."""

    path: str
    sha256: str
    dbfs: float


@dataclass(frozen=True)
class Asked:
    """A capture to be told at `point`. `whole` is the name as typed, `parts` are the same cut at its blanks, unquoted.

    No name: a card records `seconds` into the new file `keep`. Names count from `folder`. `test` says what is wanted
    of it: "volts", "hum", "distortion", "overshoot", "crosstalk", "low corner", "high corner", or the card's "floor".
    `meter_v` is what the meter showed meanwhile. `scales` are calibrations by channel, `floor` is known of the card.
    `hz` is the frequency that is fed, 0 for none; `level_v` what the load is to have, `driven_v` what the driven one
    has, where that is known.
    """

    serial: int
    point: str
    text: str
    unit: str
    test: str
    whole: str
    parts: tuple[str, ...]
    folder: str
    keep: str
    seconds: float
    channel: int | None
    meter_v: float | None
    meter_notes: tuple[str, ...]
    hz: float
    mains_hz: float
    scales: tuple[tuple[int, Scale], ...] = ()
    level_v: float | None = None
    driven_v: float | None = None
    floor: Quiet | None = None


@dataclass(frozen=True)
class Heard:
    """What came of the capture `serial`: its event, the floor that it is, or in one sentence why there is neither."""

    serial: int
    event: Captured | None
    trouble: str = ""
    floor: Quiet | None = None


def heard(asked: Asked) -> Heard:
    """The figures of a capture; whatever is wrong with it is told in a sentence. May take seconds."""
    from benchtui.session.telling import TESTS, quiet
    from benchtui.sound.errors import CardError, SoundError

    card = at = ""
    try:
        if not asked.whole:
            card = _recorded(asked)
        paths = _paths(asked) if asked.whole else [Path(asked.keep)]
        files = []
        for path in paths:
            at = f"capture {path}: "
            files.append(_read(path))
        at = "" if len(paths) > 1 else at
        if asked.test == "floor":
            return Heard(asked.serial, None, floor=quiet(files[0]))
        told = TESTS[asked.test](asked, files)
    except CardError as error:
        return Heard(asked.serial, None, clean(str(error), 400))
    except SoundError as error:
        return Heard(asked.serial, None, clean(f"{at}{error}", 400))
    return Heard(asked.serial, _event(asked, files, told, card))


def _recorded(asked: Asked) -> str:
    """Record into the file `keep`; the card's name. Raises SoundError or CardError."""
    from benchtui.sound.capture import refuse_place, write_wav
    from benchtui.sound.card import record

    refuse_place(Path(asked.keep))
    made = record(asked.seconds)
    write_wav(Path(asked.keep), made.samples, made.rate)
    return clean(made.device, 60)


def _paths(asked: Asked) -> list[Path]:
    """The files that are named: several only where several are of use. Raises SoundError for one that is not there."""
    from benchtui.sound.errors import SoundError

    whole = _path(asked.whole, asked)
    several = len(asked.parts) > 1 and "corner" in asked.test
    found = [whole] if os.path.lexists(whole) else [_path(each, asked) for each in asked.parts]
    if len(found) > 1 and not several:
        found = [whole]
    missing = [str(path) for path in found if not os.path.lexists(path)]
    if missing:
        raise SoundError(table("captures")["trouble"]["missing"].format(files=" and no ".join(missing)))
    return found


def _path(name: str, asked: Asked) -> Path:
    try:
        return Path(asked.folder, Path(name).expanduser())
    except RuntimeError:  # no home of that name: the file is not there either
        return Path(asked.folder, name)


def _read(path: Path) -> File:
    from benchtui.session.telling import File
    from benchtui.sound.capture import read_wav
    from benchtui.sound.errors import SoundError

    capture = read_wav(path)
    if capture.rate < _LEAST_HZ:
        raise SoundError(f"it has {capture.rate:g} samples a second, {_LEAST_HZ:g} or more are wanted")
    try:
        with path.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise SoundError(f"the file cannot be read ({error.strerror})") from error
    return File(path, sha256, capture)


def _event(asked: Asked, files: list[File], told: Told, card: str) -> Captured:
    first = files[0].capture
    usual = {
        "full_scale_v": None, "calibration": "", "calibrates": False, "low_hz": nan, "high_hz": nan,
        "mains_hz": asked.mains_hz, "floor_dbfs": None, "floor_from": "",
    }  # fmt: skip
    return Captured(
        point=asked.point, text=asked.text, files=tuple(clean(each.path.name) for each in files),
        sha256=tuple(each.sha256 for each in files), card=card, rate_hz=first.rate,
        seconds=len(first.samples) / first.rate, bits=first.bits or 0, channel=told.channel, figure=told.figure,
        unit=asked.unit, meter_v=asked.meter_v, names=told.levels.names, hertz=told.levels.hertz,
        dbfs=told.levels.dbfs, bounds=told.levels.bounds,
        notes=tuple(sentence(note) for note in (*told.notes, *_cut(first), *_floor(asked, told), *asked.meter_notes)),
        **(usual | told.values),
    )  # fmt: skip


def _cut(capture: Capture) -> tuple[str, ...]:
    """That more lies in the file than is told, if so."""
    told, whole = len(capture.samples) / capture.rate, capture.frames / capture.rate
    return () if told == whole else (f"the first {told:.1f} s of {whole:.1f} s are told",)


def _floor(asked: Asked, told: Told) -> tuple[str, ...]:
    """Which capture tells the floor, if one does."""
    if asked.floor is None or told.values.get("floor_from") != "capture":
        return ()
    return (f"the floor is that of {clean(Path(asked.floor.path).name)}, SHA-256 {asked.floor.sha256[:12]}",)
