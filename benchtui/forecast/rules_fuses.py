"""Rules of the review for fuses: what they carry, what they protect, and the volts that they must break."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchtui.assemble.netlist import winding_ratio
from benchtui.buildfile.joints import Joints
from benchtui.buildfile.models import Build, Fuse, MainsTransformer
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.operating import Operating
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, Walk, first, of_limit
from benchtui.forecast.rules_parts import RATING
from benchtui.parts.guide import guide
from benchtui.quantities.show import show


def fuses(states: StageStates) -> Iterator[Finding]:
    """A fuse carries for good what the stage asks of it."""
    for name, fuse in states.build.fuse.items():
        amps = fuse_amps(states.build, states.high, name)
        lasting, source = lasting_amps(fuse)
        if amps is not None and amps > lasting:
            text = f"{name} at the highest mains: {of_limit(amps, lasting, 'A')} rms that it carries for good"
            yield states.find("warn", name, "fuse-current", text, amps, lasting, source)


def lasting_amps(fuse: Fuse) -> tuple[float, str]:
    """Amperes that a fuse carries for good, and who says so."""
    share = guide("fuse.ul_share")
    return fuse.amps * (share.value if fuse.standard == "UL 248-14" else 1.0), share.source


def fuse_too_large(walk: Walk) -> Iterator[Finding]:
    """A fuse far above what flows, and above what the windings may give, protects neither circuit nor transformer.

    Full output may ask for twice the current without signal, which is all that is computed; so a fuse that fits its
    windings is right.
    """
    share, usual = guide("fuse.largest_share"), guide("fuse.usual_share")
    for name, fuse in walk.build.fuse.items():
        carried = (fuse_amps(states.build, states.high, name) for states in walk.states.values())
        flows = max((amps for amps in carried if amps is not None and np.isfinite(amps)), default=0.0)
        rated = _rated_amps(walk.build, name) or 0.0
        if not flows > 0.0 or fuse.amps <= max(share.value * flows, usual.value * rated):
            continue
        most = share.value * max(flows, rated)
        behind = f", and the windings behind it are rated for {show(rated, 'A', 3)}" if rated else ""
        text = (
            f"{name} is rated {show(fuse.amps, 'A')}, and {show(flows, 'A', 3)} flows without signal{behind}: 1.5 to "
            "2 times the current at full load, next standard value, is usual"
        )
        severity = "note" if fuse.amps <= most else "warn"
        yield Finding(severity, "", name, "fuse-too-large", text, fuse.amps, most, share.source)


def fuse_volts(walk: Walk) -> Iterator[Finding]:
    """A fuse is rated for the volts that stand across it once it has blown."""
    build = walk.build
    for name, fuse in build.fuse.items():
        if fuse.volts is None:
            yield Finding("note", "", name, "rating-missing", f"{name} has no voltage rating", None, None, RATING)
            continue
        volts, what = _to_break(walk, name)
        if volts > fuse.volts:
            text = f"{name} has {of_limit(volts, fuse.volts, 'V')} to break ({what}): blown, it may go on as an arc"
            severity = "stop" if _fed_transformer(build, name) else "warn"
            yield Finding(severity, "", name, "fuse-volts", text, volts, fuse.volts, RATING)
        elif what.startswith("direct"):
            text = f"{name} breaks {show(volts, 'V', 3)} of direct volts: its rating must be one for DC, not for AC"
            yield Finding("note", "", name, "fuse-volts", text, volts, fuse.volts, "common practice, no source")


def _to_break(walk: Walk, name: str) -> tuple[float, str]:
    """Volts across the blown fuse, and what they are."""
    build = walk.build
    if _fed_transformer(build, name):
        return build.mains.volts, "the mains"
    windings = _windings_behind(build, name)
    if windings:
        volts = max(winding_ratio(build.transformer[t], build.transformer[t].windings[w]) for t, w in windings)
        return volts * build.mains.volts, "its winding off load"
    found = (each for states in walk.states.values() for each in (states.high, states.cold))
    volts = (
        abs(first(each.dc(node, CHASSIS)))
        for each in found
        for node in build.fuse[name].nodes
        if node in each.system.network.nodes
    )
    return max((v for v in volts if np.isfinite(v)), default=0.0), "direct volts to chassis"


def fuse_amps(build: Build, found: Operating, name: str) -> float | None:
    """Rms current of a fuse; one on the mains side carries at most the sum of all windings, referred."""
    present = found.system.network.linear_names
    if name in present:
        amps = first(found.rms(name))
        if amps > 1e-9:
            return amps
    transformer = _fed_transformer(build, name)
    if transformer is None:
        return None
    carried = (
        winding_ratio(transformer, winding) * first(found.rms(ref))
        for ref, winding in transformer.windings.items()
        if ref in present
    )
    return float(sum(carried))


def _rated_amps(build: Build, name: str) -> float | None:
    """Rated rms current of what lies behind a fuse: a whole primary, or windings; None where it is not known."""
    transformer = _fed_transformer(build, name)
    if transformer is not None:
        amps = [(winding.amps, winding_ratio(transformer, winding)) for winding in transformer.windings.values()]
        return sum(a * ratio for a, ratio in amps if a is not None) if all(a for a, _ in amps) else None
    # the halves of a winding with a centre tap take turns, so that their squares add up in the tap's lead
    amps = [build.transformer[t].windings[w].amps for t, w in _windings_behind(build, name)]
    return float(np.sqrt(sum(a**2 for a in amps))) if amps and all(amps) else None


def _windings_behind(build: Build, name: str) -> list[tuple[str, str]]:
    """(transformer, winding) of those that one end of the fuse is joined to, through parts in series with them."""
    joints = _in_series(build)
    ends = {joints.root(node) for node in build.fuse[name].nodes if node != CHASSIS}
    return [
        (transformer_name, winding_name)
        for transformer_name, transformer in build.transformer.items()
        for winding_name, winding in transformer.windings.items()
        if ends & {joints.root(node) for node in winding.nodes if node != CHASSIS}
    ]


def _fed_transformer(build: Build, name: str) -> MainsTransformer | None:
    """The transformer whose primary the fuse is in series with; None for any other fuse."""
    joints = _in_series(build)
    ends = {joints.root(node) for node in build.fuse[name].nodes}
    for transformer in build.transformer.values():
        if ends & {joints.root(node) for node in transformer.primary.nodes or ()}:
            return transformer
    return None


def _in_series(build: Build) -> Joints:
    """Nodes that wires, switches, thermistors and fuses join, not through the chassis."""
    joints = Joints()
    for table in (build.link, build.switch, build.thermistor, build.fuse):
        for part in table.values():
            if CHASSIS not in part.nodes:
                joints.join(*part.nodes)
    return joints
