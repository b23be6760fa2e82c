"""Analyse captured signals: level, distortion, hum, noise, crosstalk, response, square waves.

A capture is a WAV file of one steady tone at the load, through a divider, or of none. Several captures give the
response. --record takes one from a sound card first."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.sound_files import calibrated, captures, floor_of, record_into
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.cli.sound_files import Named
    from benchtui.sound.calibration import Calibration
    from benchtui.sound.figures import Analysis
    from benchtui.sound.response import Response
    from benchtui.sound.square import Square


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `sound` takes."""
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path, help="a WAV file, or one a frequency")
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")
    parser.add_argument("--record", metavar="SECONDS", type=float, help="record into FILE first, from a sound card")
    parser.add_argument("--device", metavar="NAME", help="the sound card of --record, by a part of its name")
    parser.add_argument("--rate", metavar="HZ", type=float, help="samples a second of --record")
    parser.add_argument("--volts", metavar="V", type=float, help="what a meter showed at the load, volts rms")
    parser.add_argument("--write-calibration", metavar="FILE", type=Path, help="keep what --volts found in this file")
    parser.add_argument("--calibration", metavar="FILE", type=Path, help="take it from this file")
    parser.add_argument("--floor", metavar="FILE", type=Path, help="a capture of the same card, its input shorted")
    parser.add_argument("--channel", metavar="N", type=int, help="the channel that is driven (by default the loudest)")
    parser.add_argument("--tone", metavar="HZ", type=float, help="where the tone is (by default the largest line)")
    parser.add_argument("--no-tone", action="store_true", help="none is fed: hum and noise alone")
    parser.add_argument("--mains", metavar="HZ", type=int, choices=(50, 60), default=50, help="50 (default) or 60")
    parser.add_argument("--band", metavar="HZ", type=float, nargs=2, default=(20.0, 20_000.0),
                        help="from and to where noise and THD are counted (by default 20 20000)")  # fmt: skip
    parser.add_argument("--square", action="store_true", help="it is a square wave: overshoot, droop, rise time")


def run(options: argparse.Namespace) -> Answer:
    """The figures of the captures. Raises Refusal."""
    _refuse_options(options)
    if options.record is not None:
        record_into(options.files[0], options.record, options.device, options.rate)
    read = captures(options.files)
    scale, doubts = calibrated(read[0], options)
    if options.square:
        return _squares(read, options)
    from benchtui.sound.analysis import analyse
    from benchtui.sound.errors import SoundError

    floor = floor_of(options.floor, read[0])
    told: list[Analysis] = []
    problems, warnings = [], list(doubts)
    for each in read:
        try:
            told.append(analyse(
                each.capture.samples, each.capture.rate, channel=options.channel, mains=float(options.mains),
                band=tuple(options.band), tone=options.tone,
                fed=False if options.no_tone else True if len(read) > 1 else None,
                volts_full_scale=scale and scale.volts_full_scale, floor=floor(each),
            ))  # fmt: skip
            warnings += [f"{each.path}: {text}" for text in told[-1].warnings]
        except SoundError as error:
            problems.append(f"{each.path}: {error}")
    if problems:
        raise _wrong(*problems)
    curve = _response(told)
    out = _json(read, told, curve, scale, warnings) if options.json else _text(read, told, curve, scale)
    words = "" if options.json else "\n".join(clean(f"warn  {text}") for text in warnings)
    return Answer(Exit.FINDINGS if warnings else Exit.FINE, out, words)


def _refuse_options(options: argparse.Namespace) -> None:
    wrong = []
    if options.record is not None and len(options.files) > 1:
        wrong.append("--record makes one capture, so it goes with one FILE")
    if options.record is None and (options.device or options.rate):
        wrong.append("--device and --rate are of a recording, they go with --record")
    if options.volts is not None and len(options.files) > 1:
        wrong.append("--volts calibrates by one capture, so it goes with one FILE")
    if options.write_calibration and options.volts is None:
        wrong.append("--write-calibration keeps what --volts finds, it goes with --volts")
    if options.volts is not None and options.calibration:
        wrong.append("--volts finds a calibration and --calibration takes one from a file: give one of them")
    if options.no_tone and (options.tone or options.volts is not None or len(options.files) > 1):
        wrong.append("--no-tone is for one capture without a tone, it goes without --tone and --volts")
    if options.square and (options.tone or options.no_tone or options.floor or options.volts is not None):
        wrong.append("--square tells shapes, it goes without --tone, --no-tone, --floor and --volts")
    low, high = options.band
    if not 0 < low < high:
        wrong.append(f"--band {low:g} {high:g} is no band, two frequencies with the lower one first are wanted")
    if options.tone is not None and not options.tone > 0:
        wrong.append(f"--tone {options.tone:g} is no frequency, hertz above 0 are wanted")
    if wrong:
        raise _wrong(*wrong)


def _response(told: list[Analysis]) -> Response | None:
    """The response, where there are several captures."""
    if len(told) < 2:
        return None
    from benchtui.sound.errors import SoundError
    from benchtui.sound.response import response

    try:
        return response((one.tone.hertz, one.tone.level.dbfs or 0.0) for one in told if one.tone)
    except SoundError as error:
        raise _wrong(str(error)) from error


def _squares(read: list[Named], options: argparse.Namespace) -> Answer:
    from benchtui.cli.sound_text import caution_lines, square_lines
    from benchtui.sound.errors import SoundError
    from benchtui.sound.square import square_wave

    told: list[Square] = []
    problems = []
    for each in read:
        samples = each.capture.samples
        at = (1 if options.channel is None else options.channel) - 1
        try:
            if not 0 <= at < samples.shape[1]:
                raise SoundError(f"the capture has no channel {options.channel}, it has {samples.shape[1]}")
            told.append(square_wave(samples[:, at], each.capture.rate, each.capture.bits))
        except SoundError as error:
            problems.append(f"{each.path}: {error}")
    if problems:
        raise _wrong(*problems)
    if options.json:
        squares = [{"file": str(each.path), **asdict(one)} for each, one in zip(read, told, strict=True)]
        return Answer(out=json_text.document({"squares": squares}))
    blocks = [[clean(str(each.path)), *square_lines(one), ""] for each, one in zip(read, told, strict=True)]
    return Answer(out="\n".join([*(line for block in blocks for line in block), *caution_lines()]))


def _text(read: list[Named], told: list[Analysis], curve: Response | None, scale: Calibration | None) -> str:
    from benchtui.cli.sound_text import (
        analysis_lines,
        bounds_told,
        caution_lines,
        response_lines,
        scale_lines,
    )

    lines: list[str] = []
    if curve is not None:
        lines += [*response_lines(curve), ""]
    else:
        lines += [clean(read[0].head(told[0].channel)), "", *analysis_lines(told[0]), *bounds_told(told[0]), ""]
    lines += [*scale_lines(scale), ""]
    return "\n".join([*lines, *caution_lines()])


def _json(
    read: list[Named], told: list[Analysis], curve: Response | None, scale: Calibration | None, warnings: list[str]
) -> str:
    return json_text.document({
        "volts_full_scale": scale and scale.volts_full_scale,
        "captures": [
            {"file": str(each.path), "bits": each.capture.bits, **asdict(one)}
            for each, one in zip(read, told, strict=True)
        ],
        "response": None if curve is None else asdict(curve),
        "warnings": warnings,
    })  # fmt: skip


def _wrong(*problems: str) -> Refusal:
    return Refusal(Exit.INPUT_WRONG, "\n".join(clean(f"benchtui sound: {each}") for each in problems))
