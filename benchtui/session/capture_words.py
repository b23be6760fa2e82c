"""A captured signal in words, a sentence each: for the screen after it, the reasons behind it, and the record."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from benchtui.procedure.events import Captured
from benchtui.quantities.show import fine_percent
from benchtui.session import figures
from benchtui.session.captured import Kept, Line, kept, strongest
from benchtui.sound.hum import pointer

#: Lines of hum this many dB below the strongest point nowhere by themselves.
_POINTS_DB = 20.0


def told(event: Captured) -> tuple[str, ...]:
    """What the capture holds, what matters at its prompt first."""
    of = kept(event)
    return (*_tone(of), *_hum(of), *_noise(of), *_response(of), *event.notes, *_floor(of), _head(event))


def brief(event: Captured) -> str:
    """The capture in a line, for the record in words."""
    of = kept(event)
    by = "it" if event.meter_v is None else "the meter"
    parts = [f"capture {_files(event)}", f"{figures.shown(event.figure, event.unit, 4)} by {by}"]
    parts += [f"recorded by {event.card}"] if event.card else []
    parts += [line.rstrip(".") for line in (*_tone(of), *_first(_hum(of)), *_response(of), *_floor(of))]
    hashes = ", ".join(hash[:12] for hash in event.sha256)
    parts += [*_scale(event), f"{event.rate_hz:g} Hz, {event.seconds:.1f} s, SHA-256 {hashes}"]
    return "; ".join(parts)


def level(line: Line) -> str:
    """A level in volts, if it is calibrated, and dBFS."""
    if line.bound == "hidden":
        return "covered by other lines"
    if line.dbfs == float("-inf"):
        return "nothing at all"
    volts = "" if line.volts is None else f"{figures.shown(line.volts, 'V', 4)} "
    return f"{_most(line)}{volts}{line.dbfs:.2f} dBFS"


def share(line: Line) -> str:
    """A level against the tone, in per cent."""
    return "nothing at all" if not line.percent else f"{_most(line)}{fine_percent(line.percent)}"


def _head(event: Captured) -> str:
    bits = f"{event.bits} bit" if event.bits else "floating point"
    head = f"{_files(event)}: channel {event.channel}, {event.rate_hz:g} Hz, {bits}, {event.seconds:.1f} s"
    return "; ".join((head, *_scale(event))) + "."


def _scale(event: Captured) -> list[str]:
    if event.full_scale_v is None:
        return []
    return [f"a sine that fills the range is {figures.shown(event.full_scale_v, 'V', 4)}, {event.calibration}"]


def _files(event: Captured) -> str:
    return ", ".join(event.files)


def _tone(of: Kept) -> Iterator[str]:
    if of.tone is None:
        return
    yield f"Tone {of.tone.hertz:.3f} Hz, {level(of.tone)}."
    if of.distortion is not None:
        each = _listed(of.harmonics, _harmonic, share)
        yield f"THD {_ratio(of.distortion)}: {each}."
    if of.distortion_and_noise is not None:
        yield f"THD+N {_ratio(of.distortion_and_noise)}, {_hertz(of.low_hz)} to {_hertz(of.high_hz)}."
    for line in of.crosstalk:
        yield f"Crosstalk {_most(line)}{line.dbc:.2f} dB in channel {line.order}."


def _hum(of: Kept) -> Iterator[str]:
    """The lines of hum; where no tone is fed, also what the strongest kinds of them point to."""
    if of.hum_sum is None:
        return
    if of.tone is not None:
        yield f"Hum {level(of.hum_sum)}; of the tone {_listed(of.hum, _mains, share)}."
        return
    said = _kinds(of.hum)
    told = "; ".join(f"{_mains(line)} {level(line)}, {pointer(line.order).briefly}" for line in said)
    if told:
        yield f"{told}."
    yield f"Hum {level(of.hum_sum)}: {_listed(of.hum, _mains, level)}."
    for line in said:
        words = pointer(line.order)
        yield f"{line.hertz:.0f} Hz points to {words.points_to}. Next: {words.next}."
    if said:
        yield "Whatever is moved or changed for it, the plug is out first, and the gate comes."


def _noise(of: Kept) -> Iterator[str]:
    if of.noise is not None and of.hum_and_noise is not None:
        band = f"{_hertz(of.low_hz)} to {_hertz(of.high_hz)}"
        yield f"Noise {level(of.noise)}, with hum {level(of.hum_and_noise)}, {band}."
    if of.others:
        each = ", ".join(f"{figures.shown(line.hertz, 'Hz', 4)} {level(line)}" for line in of.others)
        yield f"Other lines, counted as noise: {each}."


def _kinds(hum: Sequence[Line]) -> list[Line]:
    """The strongest line of hum of each kind, but the faint ones."""
    clear = strongest(hum)
    kinds = {pointer(line.order): line for line in reversed(clear)}
    return [line for line in clear if line in kinds.values() and line.dbfs > clear[0].dbfs - _POINTS_DB]


def _response(of: Kept) -> Iterator[str]:
    if of.response:
        yield "Levels: " + ", ".join(f"{_hertz(line.hertz)} {line.dbfs:.2f} dBFS" for line in of.response) + "."


def _floor(of: Kept) -> Iterator[str]:
    if of.noise is None:
        return  # no spectrum was told, so nothing in it is compared with a floor
    if of.floor_dbfs is None:
        yield "The converter's floor is not known: the samples are floating point."
    else:
        by = "by its bits alone, no converter is as good" if of.floor_from == "bits" else "its input shorted"
        yield f"Converter's floor {of.floor_dbfs:.2f} dBFS, {by}."


def _listed(lines: Sequence[Line], name: Callable[[Line], str], figure: Callable[[Line], str]) -> str:
    """Each line that stands out, and what all others are at most."""
    parts = [f"{name(line)} {figure(line)}" for line in lines if line.clear]
    faint = [line for line in lines if line.bound in ("noise", "floor")]
    if faint:
        largest = max(faint, key=lambda line: line.dbfs)
        parts.append(f"{'the others' if parts else 'each'} {figure(largest)}")
    return ", ".join(parts)


def _ratio(line: Line) -> str:
    return share(line) if not line.percent else f"{share(line)} ({line.dbc:.2f} dB)"


def _most(line: Line) -> str:
    return "at most " if line.bound in ("noise", "floor") else ""


def _first(lines: Iterator[str]) -> list[str]:
    return [line for line in (next(lines, ""),) if line]


def _hertz(hertz: float) -> str:
    return figures.shown(hertz, "Hz")


def _mains(line: Line) -> str:
    return f"{line.hertz:.2f} Hz"


def _harmonic(line: Line) -> str:
    ending = {2: "nd", 3: "rd"}.get(line.order, "th")
    return f"{line.order}{ending}"
