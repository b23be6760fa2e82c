"""What is around an amplifier as frozen models: mains, meter, bench, and the discharge gate's own values."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from benchtui.buildfile.entry import Entry
from benchtui.buildfile.values import (
    Accuracy,
    Count,
    Flag,
    Hertz,
    Id,
    Node,
    Ohms,
    OhmsOrNone,
    Seconds,
    Share,
    Text,
    Volts,
    Watts,
)


class Mains(Entry):
    volts: Volts = Field(description="nominal mains volts")
    frequency: Hertz = Field(description="50 Hz or 60 Hz")
    spread: Share = Field(0.1, description='how far mains may be off, such as "10 %"')
    inlet: Literal["appliance inlet", "captive lead"] = Field(description="how the mains lead is attached")
    nodes: tuple[Node, Node] | None = Field(
        None, description="live and neutral of the inlet or lead, if parts join them"
    )
    earth: Node | None = Field(None, description="protective earth of the inlet or lead, if a part joins it")
    dead_at: Text = Field("", description="with a captive lead: where the mains side is read dead")
    read_at: Literal["neighbouring outlet", "variable transformer", "heater winding"] = Field(
        "neighbouring outlet", description="how mains is read; never on tags inside"
    )
    read_point: Id | None = Field(None, description="with heater winding: the test point that mains is inferred from")


class Meter(Entry):
    name: Text = Field("", description="what you call it")
    input: Ohms = Field(description="input resistance on volts")
    counts: Count = Field(ge=1000, le=1_000_000, description="largest count of its display, such as 6000")
    dc: Accuracy = Field(description='accuracy on DC volts, such as "0.5 % + 3"')
    ac: Accuracy = Field(description="accuracy on AC volts at mains frequency")
    ohms: Accuracy = Field(description="accuracy on resistance")
    lead_ohm: OhmsOrNone = Field(0.2, description="resistance of the leads, if not nulled")
    true_rms: Flag = Field(description="false for an average-responding meter")
    ac_lowest: Hertz = Field(description="lowest frequency its AC range is good for")
    ac_highest: Hertz = Field(400.0, description="highest frequency its AC range is good for")
    ac_blocks: Volts = Field(description="direct volts that its AC range withstands")
    largest: Volts = Field(description="largest volts it and its leads are rated for")
    category: Literal["CAT II", "CAT III", "CAT IV"] | None = Field(
        None, description="measurement category printed on it"
    )


class Bench(Entry):
    """What is on the bench. What is missing is answered with "not measured: no instrument"."""

    lamps: tuple[Watts, ...] = Field((), description="lamp limiter: the lamps owned")
    variable_transformer: Flag = Field(False, description="true if one is at hand")
    dc_proof: Text = Field(description="the source the meter is proved on for DC, such as a 9 V block battery")
    ac_proof: Text = Field(description="the isolated low-voltage AC source it is proved on")
    insulation_tester: Volts | None = Field(None, description="its test voltage")
    bond_tester: Flag = Field(False, description="true if an earth-bond tester is at hand")
    oscilloscope: Flag = Field(False, description="true if one is at hand")
    generator: Flag = Field(
        False,
        description="true if a sine generator is at hand; else a player with test tones, and corners take captures",
    )
    sound_card: Flag = Field(False, description="true if a sound card with a divider before its input is at hand")
    second_load: Ohms | None = Field(None, description="a second load resistor, for the output impedance")


class Gate(Entry):
    """The builder's own gate values; never below the floors of the guide values."""

    threshold: Volts | None = Field(None, description="below this a reservoir counts as discharged")
    wait: Seconds | None = Field(None, description="between the two rounds of readings")
    clip: Ohms = Field(2200.0, description="resistor in the bleed clip lead, and in each link")
    clip_watts: Watts = Field(10.0, description="its power rating")
    clip_time: Seconds | None = Field(None, description="how long the clip is on before hands go in")
    clip_between: tuple[Node, Node] | None = Field(
        None, description="where it is clipped; by default across the first reservoir"
    )
