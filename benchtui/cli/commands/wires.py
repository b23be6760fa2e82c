"""List every wire of a build in the order of wiring: from where to where, what for, and what wire it takes."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.builds import add_build, load_build
from benchtui.cli.caution import CAUTION
from benchtui.cli.kept import kept
from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.wiring.ends import End
    from benchtui.wiring.spots import Spot
    from benchtui.wiring.wires import Wire

_NOTES = (
    "Colours by MIL-STD-681, system II, but on the mains side those of the mains cord: there brown and blue (or black "
    "and white) are line and neutral. Keep that corner sleeved and apart.",
    "Gauge by current, by length where it matters, and never thinner than is handled well; insulation by the largest "
    "volts to chassis. Lengths with a ~ are assumed: no panel in the build file says where both ends are.",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `wires` takes."""
    add_build(parser)
    parser.add_argument("--stage", metavar="S", help="one stage, by its id")


def run(options: argparse.Namespace) -> Answer:
    """The wire list of a build. Raises Refusal for a build file or stage that is wrong."""
    words = ["wires", f"json={options.json}", f"stage={options.stage}"]
    return kept(words, [Path(options.build)], lambda: _computed(options))


def _computed(options: argparse.Namespace) -> Answer:
    build = load_build(options.build).build
    from benchtui.buildfile.stages import stages
    from benchtui.forecast.conductors import conductors
    from benchtui.wiring.spots import extra_tags
    from benchtui.wiring.wires import wires

    titles = {info.id: info.title for info in stages(build)}
    if options.stage is not None and options.stage not in titles:
        words = f"benchtui: --stage {clean(options.stage)} is no stage of this build, known are {', '.join(titles)}"
        raise Refusal(Exit.INPUT_WRONG, words)
    wanted = [options.stage] if options.stage else list(titles)
    listed = [wire for wire in wires(build, conductors(build)) if wire.stage in wanted]
    tags = [spot for spot in extra_tags(build) if spot.stage in wanted]
    if options.json:
        data = {"build": build.id, "wires": [_plain(wire) for wire in listed], "tags": [_plain_tag(t) for t in tags]}
        return Answer(out=json_text.document(data))
    return Answer(out=_text(build, {id: titles[id] for id in wanted}, listed, tags))


def _plain(wire: Wire) -> dict[str, object]:
    gauge = wire.gauge
    return {
        "id": wire.id, "stage": wire.stage, "node": wire.node, "from": wire.start, "to": wire.finish,
        "use": wire.use.name, "own_lead": wire.lead, "colour": wire.colour, "laid": wire.use.laid,
        "peak_v": json_text.number(wire.peak_v), "amps": json_text.number(wire.amps),
        "length_m": json_text.number(wire.length_m), "length_known": wire.measured,
        "awg": gauge.awg if gauge else None, "mm2": gauge.metric_mm2 if gauge else None,
        "drop_v": json_text.number(wire.drop_v), "insulation_v": json_text.number(wire.insulation_v),
    }  # fmt: skip


def _plain_tag(spot: Spot) -> dict[str, object]:
    return {"tag": spot.says, "stage": spot.stage, "node": spot.node, "takes": [end.says for end in spot.takes]}


def _text(build: Build, titles: dict[str, str], listed: list[Wire], tags: list[Spot]) -> str:
    lines = [clean(build.name), ""]
    for stage, title in titles.items():
        here = [wire for wire in listed if wire.stage == stage]
        if here:
            lines += [clean(title), *_stage(here), *_tags(stage, titles, tags), ""]
    return "\n".join([*lines, *_paragraphs((*_NOTES, CAUTION))])


def _stage(here: list[Wire]) -> Iterator[str]:
    """The wires of a stage, those for one use under their heading."""
    before = None
    for number, wire in enumerate(here, 1):
        if wire.use != before:
            yield ""
            yield from hanging(f"{wire.use.says}{f': {wire.use.laid}' if wire.use.laid else ''}", "  ")
            before = wire.use
        yield from hanging(f"{clean(wire.start)} -> {clean(wire.finish)}", f"{number:>5}  ")
        yield from hanging(sizes(wire), "       ")


def _tags(stage: str, titles: dict[str, str], tags: list[Spot]) -> Iterator[str]:
    """The soldering tags of a stage, and what each takes; of what comes later, with its stage."""
    here = [tag for tag in tags if tag.stage == stage]
    if here:
        yield from ("", "  soldering tags, beside those of the parts")
    for tag in here:
        takes = ", ".join(_taken(end, stage, titles) for end in tag.takes)
        yield from hanging(f"{clean(tag.says)}{f': {takes}' if takes else ''}", "       ")


def _taken(end: End, stage: str, titles: dict[str, str]) -> str:
    later = "" if end.stage == stage or end.stage not in titles else f" ({end.stage})"
    return f"{clean(end.says)}{later}"


def _paragraphs(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in [*hanging(text, ""), ""]][:-1]


def sizes(wire: Wire) -> str:
    """What the wire must be, on one line."""
    size = wire.gauge.says if wire.gauge else "no usual wire is thick enough"
    unknown = isnan(wire.peak_v)
    rated = f"{wire.insulation_v:g} V" if wire.insulation_v else "no usual insulation will do"
    rated = "insulation for the largest volts in the amplifier" if unknown else rated
    peak = "volts not known" if unknown else f"{wire.peak_v:.0f} V peak"
    length = f"{'' if wire.measured else '~'}{wire.length_m * 1e2:.0f} cm"
    amps = f"{wire.amps:.2g} A" if wire.amps >= 1e-3 else "under 1 mA"
    drop = f", drops {wire.drop_v * 1e3:.0f} mV" if wire.drop_v >= 1e-3 else ""
    own = ", its own lead (sleeved)" if wire.lead else ""
    return f"{wire.colour}, {size}, {rated}, {length}{own}; carries {amps}, {peak}{drop}"
