"""Captures, calibrations and recordings of the command `sound`, on their way from and to the disk."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli.answer import Exit, Refusal
from benchtui.cli.caution import SOUND_CAUTION
from benchtui.cli.printing import tell
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.sound.calibration import Calibration
    from benchtui.sound.capture import Capture
    from benchtui.sound.floor import Floor

#: A calibration is a few lines.
_LONGEST = 20_000


@dataclass(frozen=True)
class Named:
    """A capture and the file that it came from."""

    path: Path
    capture: Capture

    def head(self, channel: int) -> str:
        """Its first line: what is told."""
        one = self.capture
        frames, channels = one.samples.shape
        bits = "floating point" if one.bits is None else f"{one.bits} bit"
        seconds = f"{frames / one.rate:.1f} s" if frames == one.frames else (
            f"the first {frames / one.rate:.1f} s of {one.frames / one.rate:.1f} s")  # fmt: skip
        return f"{self.path}: channel {channel} of {channels}, {one.rate:g} Hz, {bits}, {seconds}"


def captures(paths: Iterable[Path]) -> list[Named]:
    """The captures in the files at `paths`. Raises Refusal with every problem, one a line."""
    from benchtui.sound.capture import read_wav
    from benchtui.sound.errors import CardError, SoundError

    read, problems = [], []
    for path in paths:
        try:
            read.append(Named(path, read_wav(path)))
        except SoundError as error:
            problems.append(f"{path}: {error}")
        except CardError as error:
            raise _place(str(error)) from error
    if problems:
        raise _wrong(*problems)
    return read


def record_into(path: Path, seconds: float, device: str | None, rate: float | None) -> None:
    """Record from a sound card into a new file at `path`. Raises Refusal."""
    from benchtui.sound.capture import refuse_place, write_wav
    from benchtui.sound.card import record, refuse_seconds
    from benchtui.sound.errors import CardError, SoundError

    try:
        refuse_place(path)
        refuse_seconds(seconds)
        tell(SOUND_CAUTION)
        tell(f"benchtui sound: recording {seconds:g} s ...")
        recording = record(seconds, device, rate)
        write_wav(path, recording.samples, recording.rate)
    except SoundError as error:
        raise _wrong(f"{path}: {error}") from error
    except CardError as error:
        raise _place(str(error)) from error


def floor_of(path: Path | None, like: Named) -> Callable[[Named], Floor]:
    """What gives the converter's floor for a capture: its bits, and the capture at `path`. Raises Refusal."""
    from benchtui.sound.errors import SoundError
    from benchtui.sound.floor import Floor, quiet_floor

    if path is None:
        return lambda each: Floor(each.capture.bits)
    (quiet,) = captures([path])
    if quiet.capture.rate != like.capture.rate:
        raise _wrong(
            f"{path} was captured at {quiet.capture.rate:g} Hz and {like.path} at {like.capture.rate:g} Hz: "
            "the floor is wanted from the same card at the same rate"
        )
    try:
        known = quiet_floor(quiet.capture.samples, quiet.capture.rate)
    except SoundError as error:
        raise _wrong(f"{path}: {error}") from error
    return lambda each: Floor(each.capture.bits, known.quiet)


def calibrated(first: Named, options: argparse.Namespace) -> tuple[Calibration | None, tuple[str, ...]]:
    """The calibration that the options ask for, kept in a file if they say so, and its doubts. Raises Refusal."""
    from benchtui.sound.calibration import calibrate, doubts
    from benchtui.sound.errors import SoundError

    if options.calibration:
        found = _read(options.calibration)
    elif options.volts is not None:
        try:
            found = calibrate(
                first.capture.samples, first.capture.rate, options.volts, channel=options.channel,
                mains=float(options.mains), made=date.today().isoformat(), capture=clean(first.path.name),
            )  # fmt: skip
        except SoundError as error:
            raise _wrong(f"{first.path}: {error}") from error
        if options.write_calibration:
            _write(options.write_calibration, found)
    else:
        return None, ()
    return found, doubts(found)


def _read(path: Path) -> Calibration:
    from benchtui.sound.calibration import read
    from benchtui.sound.errors import SoundError

    try:
        with path.open("rb") as file:
            data = file.read(_LONGEST)
        return read(data.decode("utf-8"))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is no text"
        raise _wrong(f"{path} cannot be read ({reason})") from error
    except SoundError as error:
        raise _wrong(f"{path}: {error}") from error


def _write(path: Path, calibration: Calibration) -> None:
    from benchtui.sound.calibration import written

    try:
        if path.exists():
            _read(path)  # only a calibration is ever overwritten
        path.write_text(written(calibration), "utf-8")
    except OSError as error:
        raise _place(f"{path} could not be written ({error.strerror})") from error


def _wrong(*problems: str) -> Refusal:
    return Refusal(Exit.INPUT_WRONG, "\n".join(clean(f"benchtui sound: {each}") for each in problems))


def _place(problem: str) -> Refusal:
    return Refusal(Exit.PLACE_WRONG, clean(f"benchtui sound: {problem}"))
