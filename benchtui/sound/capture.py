"""A capture out of a WAV file, or into one."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import CardError, SoundError

#: Frames at most that are read, from the beginning: 43 s at 48 kHz. More would tell no more.
LONGEST = 2**21

MOST_CHANNELS = 8

#: Bits of a sample by the name that the library has for its form; of floating point nobody knows the converter's.
_BITS = {"PCM_U8": 8, "PCM_S8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32}

_FORMS = {"WAV", "WAVEX", "RF64", "W64"}

INSTALL = "install it with: pip install 'benchtui[sound]'"


@dataclass(frozen=True)
class Capture:
    """`samples`: (frames, channels), full scale from -1 to 1; `bits` of a sample, None for floating point."""

    samples: NDArray[np.float64]
    rate: float
    bits: int | None
    frames: int
    """How many the file has; `samples` are the first `LONGEST` of them."""


def read_wav(path: Path) -> Capture:
    """The capture in the WAV file at `path`. Raises SoundError with one sentence, CardError without the library."""
    library = _library()
    size = _size(path)
    if not size:
        raise SoundError("the file is empty, a WAV file is wanted")
    _refuse_cut_short(path, size)
    try:
        with library.SoundFile(path) as file:
            if file.format not in _FORMS:
                raise SoundError(f"the file is {file.format}, a WAV file is wanted")
            if file.channels > MOST_CHANNELS:
                raise SoundError(f"the file has {file.channels} channels, at most {MOST_CHANNELS} are read")
            wanted = min(file.frames, LONGEST)
            samples = file.read(wanted, dtype="float64", always_2d=True)
            if len(samples) < wanted:
                raise SoundError(f"the file is cut short, {len(samples)} of {file.frames} frames are there")
            return Capture(samples, float(file.samplerate), _BITS.get(file.subtype), file.frames)
    except (library.LibsndfileError, OSError, MemoryError) as error:
        raise SoundError(f"the file is no WAV that can be read ({_reason(error)})") from error


def refuse_place(path: Path) -> None:
    """Raise what `write_wav` would raise for `path`, before anything is recorded."""
    _library()
    if path.exists() or path.is_symlink():
        raise SoundError("the file is there already, and no capture is overwritten: choose another name")
    if not path.parent.is_dir():
        raise CardError(f"{path.parent} is no folder, one that exists is wanted")


def write_wav(path: Path, samples: NDArray[np.float64], rate: float) -> None:
    """Write `samples` (frames, channels) at `path`, 24 bits each. Raises CardError where the disk fails."""
    library = _library()
    try:
        with open(path, "xb") as file:
            library.write(file, samples, int(rate), subtype="PCM_24", format="WAV")
    except FileExistsError as error:
        raise SoundError("the file is there already, and no capture is overwritten: choose another name") from error
    except (library.LibsndfileError, OSError) as error:
        raise CardError(f"{path} could not be written ({_reason(error)})") from error


def _library() -> ModuleType:
    try:
        import soundfile
    except ModuleNotFoundError as error:
        raise CardError(f"WAV files are read by the package soundfile, which is not installed, {INSTALL}") from error
    except OSError as error:
        raise CardError(f"the library libsndfile, which reads WAV files, does not load ({error}), {INSTALL}") from error
    return soundfile


def _size(path: Path) -> int:
    """Bytes of the file. Raises SoundError where it is none."""
    try:
        if path.is_dir():
            raise SoundError("it is a folder, a WAV file is wanted")
        if path.exists() and not path.is_file():
            raise SoundError("it is no plain file, a WAV file is wanted")
        return path.stat().st_size
    except (OSError, ValueError) as error:
        raise SoundError(f"the file cannot be read ({_reason(error)})") from error


def _refuse_cut_short(path: Path, size: int) -> None:
    """Raise SoundError where the file is shorter than its head says: the library would read on without a word."""
    try:
        with path.open("rb") as file:
            head = file.read(8)
    except OSError as error:
        raise SoundError(f"the file cannot be read ({_reason(error)})") from error
    told = int.from_bytes(head[4:8], "little") + 8
    # a recorder that streams writes nothing, or all ones, for a length it does not know yet
    if head[:4] == b"RIFF" and told not in (8, 2**32 + 7) and told > size:
        raise SoundError(f"the file is cut short, {size} of {told} bytes are there")


def _reason(error: BaseException) -> str:
    if isinstance(error, OSError) and error.errno:
        return os.strerror(error.errno)
    return str(error).rpartition(": ")[2].strip().rstrip(".") or type(error).__name__
