"""What each part stands in a solved state: currents, volts and dissipation beside their ratings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from benchtui.assemble.valves import Rating, ratings_of, sections
from benchtui.buildfile.models import Build
from benchtui.circuit.discharge import Decay, discharge
from benchtui.circuit.operating import Operating
from benchtui.forecast.by_rating import threshold_v
from benchtui.forecast.drawn import levelled
from benchtui.forecast.results import Stress
from benchtui.forecast.run import Run

UNITS = {
    "winding_rms": "A",
    "rectifier_peak": "A",
    "rectifier_mean": "A",
    "capacitor_ripple_rms": "A",
    "capacitor_volts": "V",
    "anode_dissipation": "W",
    "screen_dissipation": "W",
    "dissipation": "W",
    "discharge_cold": "s",
    "discharge_hot": "s",
}

HOT_BUILDS = 20
"""Builds for the spread of the fall with hot valves: it is stepped in time, so 200 of them take ten times as long."""

_NORMAL_98 = 2.326
"""Standard deviations either way that hold 98 % of a normal distribution."""


@dataclass(frozen=True)
class Rated:
    """A quantity of a part, with the rating that it must keep (None where none is known)."""

    part: str
    quantity: str
    limit: float | None


def stresses(run: Run, ensemble: Operating) -> tuple[Stress, ...]:
    """Every stress of the state, nominal and over the ensemble (98 % of the builds), in the build file's order."""
    rated = list(rated_quantities(run.build, run.nominal))
    few = ensemble.take(np.arange(min(ensemble.samples, HOT_BUILDS)))
    hot = _hot_seconds(run.build, few) if any(each.quantity == "discharge_hot" for each in rated) else {}
    nominal = _values(run.build, run.nominal, rated, {name: seconds[:1] for name, seconds in hot.items()})
    drawn = _values(run.build, ensemble, rated, hot)
    return tuple(
        Stress(
            each.part,
            each.quantity,
            UNITS[each.quantity],
            float(nominal[k][0]),
            *(_band_of_few if each.quantity == "discharge_hot" else _band)(
                float(nominal[k][0]), levelled(drawn[k], nominal[k][0])
            ),
            limit=each.limit,
        )
        for k, each in enumerate(rated)
    )


def _band(nominal: float, drawn: np.ndarray) -> tuple[float, float]:
    """What 98 % of the builds, and the nominal one, lie between."""
    known = drawn[~np.isnan(drawn)]
    if not len(known):
        return float("nan"), float("nan")
    low, high = np.quantile(known, [0.01, 0.99], method="nearest")
    return float(min(low, nominal)), float(max(high, nominal))


def _band_of_few(nominal: float, drawn: np.ndarray) -> tuple[float, float]:
    """The same for positive values of a few builds, whose logarithms are taken to be normal."""
    if not (np.isfinite(drawn) & (drawn > 0.0)).all():
        return _band(nominal, drawn)
    logs = np.log(drawn)
    reach = _NORMAL_98 * logs.std(ddof=1)
    return float(min(np.exp(logs.mean() - reach), nominal)), float(max(np.exp(logs.mean() + reach), nominal))


def over_rating(build: Build, found: Operating) -> frozenset[tuple[str, str]]:
    """(Part, quantity) of every rating that the first build of a solved circuit passes."""
    rated = [each for each in rated_quantities(build, found) if each.limit is not None]
    values = zip(rated, _values(build, found, rated, {}), strict=True)
    return frozenset((each.part, each.quantity) for each, value in values if value[0] > each.limit)


def rated_quantities(build: Build, found: Operating) -> Iterator[Rated]:
    """What is worth watching in a solved circuit, part by part."""
    network = found.system.network
    present = set(network.linear_names) | set(network.rectifier_names) | set(network.tracks)
    for transformer in build.transformer.values():
        for name, winding in transformer.windings.items():
            if name in present:
                yield Rated(name, "winding_rms", winding.amps)
    yield from _rectifiers(build, present)
    for name, capacitor in build.capacitor.items():
        if name in present:
            yield Rated(name, "capacitor_volts", capacitor.volts)
            yield Rated(name, "capacitor_ripple_rms", None)
            yield Rated(name, "discharge_cold", None)
            yield Rated(name, "discharge_hot", None)
    for section in sections(build):
        if section.id in network.valve_names:
            yield Rated(section.id, "anode_dissipation", _limit(section.ratings, "anode_w"))
            if "screen" in section.nodes:
                yield Rated(section.id, "screen_dissipation", _limit(section.ratings, "screen_w"))
    for table in ("resistor", "load", "pot"):
        for name, part in getattr(build, table).items():
            if name in present:
                yield Rated(name, "dissipation", part.watts)
    for name in build.choke:
        if name in present:
            yield Rated(name, "dissipation", None)


def _rectifiers(build: Build, present: set[str]) -> Iterator[Rated]:
    for section in sections(build):
        if section.kind == "diode" and section.id in present:
            mean = _limit(section.ratings, "mean_a")
            yield Rated(section.id, "rectifier_peak", _limit(section.ratings, "peak_a"))
            # the rating is for both anodes together, each section carries its half
            yield Rated(section.id, "rectifier_mean", mean / 2 if mean and section.id != section.valve else mean)
            yield Rated(section.id, "dissipation", None)
    for name, diode in build.diode.items():
        if name in present:
            ratings = ratings_of(build, diode.type)
            yield Rated(name, "rectifier_peak", None)
            yield Rated(name, "rectifier_mean", _limit(ratings, "mean_a"))


def _limit(ratings: Mapping[str, Rating], name: str) -> float | None:
    return ratings[name].value if name in ratings else None


def _values(build: Build, found: Operating, rated: list[Rated], hot_s: Mapping[str, np.ndarray]) -> list[np.ndarray]:
    """Each of `rated` over the samples of `found`, `hot_s` apart: (samples,) each."""
    read = {
        "winding_rms": found.rms,
        "rectifier_peak": found.peak,
        "rectifier_mean": found.current,
        "capacitor_ripple_rms": found.rms,
        "capacitor_volts": lambda name: _peak_volts(build, found, name),
        "anode_dissipation": lambda name: found.valve(name).anode_w,
        "screen_dissipation": lambda name: found.valve(name).screen_w,
        "dissipation": found.power,
        "discharge_hot": hot_s.__getitem__,
    }
    if any(each.quantity == "discharge_cold" for each in rated):
        read["discharge_cold"] = _seconds(discharge(found), threshold_v(build)).__getitem__
    return [read[each.quantity](each.part) for each in rated]


def _hot_seconds(build: Build, found: Operating) -> dict[str, np.ndarray]:
    least_v = threshold_v(build)
    return _seconds(discharge(found, hot=True, until_v=least_v), least_v)


def _seconds(decay: Decay, threshold_v: float) -> dict[str, np.ndarray]:
    """Capacitor = seconds (samples,) until it stays under the threshold."""
    return dict(zip(decay.names, decay.seconds_to(threshold_v).T, strict=True))


def _peak_volts(build: Build, found: Operating, name: str) -> np.ndarray:
    """The largest volts across a capacitor: its direct volts and half of the ripple on them."""
    a, b = build.capacitor[name].nodes
    return np.abs(found.dc(a, b)) + 0.5 * found.ac_pp(a, b)
