"""The sign-off with its cover screwed on: what is read from outside, when, and the mains winding as it cools."""

from __future__ import annotations

from functools import lru_cache
from math import isnan
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.buildfile.models import Point as BuildPoint
from benchtui.buildfile.stages import StageInfo
from benchtui.forecast.winding import WindingHeat, expect_heat, unresolved, winding_heat
from benchtui.metalwork.touchable import is_bonded, touchable
from benchtui.parts.guide import value as guide
from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import WINDING, Winding
from benchtui.procedure.state import Mode
from benchtui.quantities.tolerance import FINEST_OHM, last_digit
from benchtui.session import figures
from benchtui.session.drift import moved_all
from benchtui.session.tables import table
from benchtui.verdicts.judge import judge

if TYPE_CHECKING:
    from benchtui.session.bench import Bench

SIGN_OFF = "signoff"

#: When the points of a soak are read between its beginning and its end, seconds of full mains. Own decision.
_MARKS_S = (600.0, 1800.0, 3600.0)

#: The cooling winding: four readings over a minute and a half, none later than a quarter of an hour. Own decision.
_READINGS, _SPAN_S, _LATEST_S = 4, 90.0, 900.0


@lru_cache(maxsize=8)
def with_touchable(build: Build) -> Build:
    """`build` with a point of the earth bond for each touchable piece of metal, and one for all that no file knows of.

    Only where the file has an earth bond to be judged like, and a soak: without one the cover is not screwed on.
    """
    stage = build.stage.get(SIGN_OFF)
    bonds = [point for point in build.point.values() if point.guards == "bond"]
    bond = next((point for point in bonds if point.red == build.mains.earth), next(iter(bonds), None))
    if stage is None or stage.soak is None or bond is None:
        return build
    words = table("words")["touch"]
    places = [*touchable(build), *(_audio(build) if build.mains.earth else ())]
    found = {
        f"bond {id}": bond.model_copy(
            update={"name": words["name"].format(at=at), "black_at": at, "stages": (SIGN_OFF,), "outside": True}
        )
        for id, at in places
    }
    name, at = words["name"].format(at=words["others"]), words["others_at"]
    found["bond others"] = bond.model_copy(
        update={"name": name, "black_at": at, "stages": (SIGN_OFF,), "outside": True}
    )
    return build.model_copy(update={"point": {**build.point, **found}})


def _audio(build: Build) -> list[tuple[str, str]]:
    """Loudspeaker commons, and shells of inputs, that are chassis or that a link joins to it."""
    words = table("words")["touch"]
    joined = {node for link in build.link.values() if "0" in link.nodes for node in link.nodes} | {"0"}
    commons = [id for id, each in build.output_transformer.items() if joined & set(each.secondary)]
    shells = [id for id, each in build.input.items() if each.nodes[1] in joined and not is_bonded(build, id)]
    return [
        *((f"{id} common", words["common"].format(id=id)) for id in commons),
        *((f"{id} shell", words["shell"].format(id=id)) for id in shells),
    ]


def is_touch(id: str) -> bool:
    """Is it one of these points, of which a bench without its instrument would list dozens?"""
    return id.startswith("bond ")


def is_outside(point: BuildPoint) -> bool:
    """Is a point of the sign-off read after the last screw?"""
    return point.outside or (point.quantity == "resistance" and point.guards in ("bond", "insulation"))


def marks_s(info: StageInfo, settle_s: float) -> tuple[float, ...]:
    """Seconds of full mains at which the points of a soak are read."""
    end = info.entry.soak or 0.0
    return (settle_s, *(mark for mark in _MARKS_S if settle_s < mark < end), end)


def winding(build: Build) -> Winding | None:
    """The mains winding that can be read at the inlet; none behind a thermistor, nor where several are side by side."""
    if len(build.transformer) != 1 or build.thermistor:
        return None
    words = table("words")["winding"]
    at = "inlet" if build.mains.inlet == "appliance inlet" else "plug"
    return Winding(words["red"].format(at=at), words["black"].format(at=at), _READINGS, _SPAN_S, _LATEST_S)


def heat(bench: Bench) -> WindingHeat | None:
    """What the readings so far tell of the winding at switch-off."""
    wound = bench.state.winding
    if wound.room_c is None or wound.cold_ohm is None or not wound.hot:
        return None
    digit_ohm = last_digit(wound.cold_ohm, bench.build.meter.counts, FINEST_OHM)
    return winding_heat(wound.room_c, wound.cold_ohm, wound.hot, digit_ohm)


def judged(bench: Bench) -> c.JudgeWinding | e.WindingLeft | None:
    """The winding's temperature, as it is judged once its prompt is answered."""
    found = heat(bench)
    if found is None:
        return None
    if isnan(found.celsius):
        return e.WindingLeft(table("words")["winding"]["nothing"])
    by = expect_heat(WINDING, found.celsius - found.rise, found.unsure)
    lacks = unresolved(found.unsure)
    if not lacks and judge(found.celsius, by).verdict == "pass":
        lacks = not_rested(bench)
    return c.JudgeWinding(f"{found.celsius:.1f} degC by its ohms", round(found.celsius, 1), by, lacks)


def not_rested(bench: Bench) -> str:
    """What its cold reading lacks where the power had not been off for long: its rise then reads too small."""
    off_s, rest_s = bench.notebook.rested_s, guide("winding.rest")
    if off_s is None or off_s >= rest_s:
        return ""
    return table("words")["winding"]["warm start"].format(rest=figures.seconds(rest_s))


def _power_last(bench: Bench) -> str:
    """When the record has power on last, for the prompt that takes the transformer for cold."""
    if bench.notebook.live_s is None:
        return ""
    rest, when = figures.seconds(guide("winding.rest")), figures.day(bench.notebook.live_s)
    return table("words")["winding"]["power last"].format(when=when, rest=rest)


def unit(event: e.Event) -> str:
    """What a reading without a point of the plan is told in."""
    return "degC" if getattr(event, "point", "") == WINDING else "V"


def result(bench: Bench) -> str:
    """How it was finished, in one sentence."""
    objections = len({objection for _, objection in bench.state.overruled})
    counts = (len(bench.accepted), objections, len(bench.state.unproved))
    return table("words")["result"].format(warns=counts[0], objections=counts[1], unmeasured=counts[2])


def left_as(bench: Bench) -> str:
    """Each pot as it was left, by the last reading on its target."""
    pots = {id: adjustment.pot for id, adjustment in bench.build.adjust.items()}
    told = [f"{pots.get(id, id)} {figures.volts(trim.value_v)}" for id, trim in bench.notebook.trims_left.items()]
    return table("words")["pots"].format(pots=", ".join(told)) if told else ""


def outside(bench: Bench) -> str:
    """Where plug and screws are while it is read from outside before a soak."""
    if bench.state.mode is not Mode.CLOSING:
        return ""
    return table("words")["outside"]["inlet" if bench.build.mains.inlet == "appliance inlet" else "captive"]


def shut_fields(bench: Bench) -> dict[str, str]:
    """What the prompts of a soak are filled with."""
    soak, wound = bench.phase.soak, bench.state.winding
    found = {"result": result(bench), "left_as": left_as(bench), "moved": moved_all(bench)} | dict.fromkeys(
        ("soak_end", "soak_left", "winding_red", "winding_black", "winding_found", "winding_read"), ""
    )
    found["power_last"] = _power_last(bench)
    if soak is None:
        return found
    found["soak_end"] = figures.seconds(soak.marks_s[-1])
    found["soak_left"] = figures.seconds(max(soak.marks_s[-1] - bench.state.full_s, 0.0))
    if soak.winding is not None:
        found |= {"winding_red": soak.winding.red, "winding_black": soak.winding.black}
    words = table("words")["winding"]
    found["winding_read"] = words["read"].format(
        cold=figures.ohms(wound.cold_ohm) if wound.cold_ohm else "nothing",
        hot=", ".join(f"{figures.ohms(ohm)} after {figures.seconds(after)}" for after, ohm in wound.hot) or "nothing",
    )
    if (told := heat(bench)) is not None:
        if isnan(told.celsius):
            found["winding_found"] = words["nothing"]
        else:
            by = expect_heat(WINDING, told.celsius - told.rise, told.unsure)
            found["winding_found"] = words["found"].format(
                celsius=f"{told.celsius:.0f}", rise=f"{told.rise:.0f}", unsure=f"{told.unsure:.1f}",
                most=f"{by.high:.0f}", stop=f"{by.stop_high.value:.0f}" if by.stop_high else "",
            )  # fmt: skip
    return found
