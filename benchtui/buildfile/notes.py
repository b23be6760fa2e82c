"""Notes written at the bench as frozen models: what was read of parts before use. Strict as the build file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from benchtui.buildfile import texts
from benchtui.buildfile.entry import Entry
from benchtui.buildfile.surroundings import Meter
from benchtui.buildfile.values import (
    Amps,
    Celsius,
    Farads,
    Hertz,
    Id,
    Lead,
    LeadPair,
    Metres,
    Node,
    Number,
    Ohms,
    OhmsOrOpen,
    Text,
    Tolerance,
    Volts,
    VoltsOrNone,
    Watts,
)


class NotedMains(Entry):
    volts: Volts = Field(description="nominal mains volts")
    frequency: Hertz = Field(description="50 Hz or 60 Hz")


class Salvage(Entry):
    """A part out of the drawer."""

    found: Text = Field("", description="where it came from")
    label: Text = Field("", description="what its label says")
    when: Text = Field("", description="when it was measured")


class FourWires(Entry):
    amps: Amps = Field(description="direct current through the winding")
    volts: Volts = Field(description="volts read at the winding's own leads meanwhile")


class Fed(Entry):
    """A few isolated low volts AC into one winding."""

    into: LeadPair = Field(description="the leads that are fed")
    supply: Volts | None = Field(None, description="what the low supply gives by itself")
    applied: Volts = Field(description="volts at these leads, fed")
    joined: tuple[LeadPair, ...] = Field((), description="leads that are joined for it")
    reads: dict[LeadPair, VoltsOrNone] = Field(default_factory=dict, description="pair of leads = AC volts read there")


class NotedPrimary(Entry):
    ends: LeadPair = Field(description="where mains goes")
    volts: Volts = Field(description="rated volts there")
    joined: tuple[LeadPair, ...] = Field(
        (), description="leads that are joined for it: one joint in series, two in parallel"
    )


class NotedCore(Entry):
    tongue: Metres = Field(description="width of the core's tongue through the windings, such as 32 mm")
    stack: Metres = Field(description="height of the stack of sheets")


class Insulation(Entry):
    test: Volts = Field(description="volts of the insulation tester, or of the hand meter")
    reads: dict[LeadPair, OhmsOrOpen] = Field(
        description="lead-rest = ohms from its winding to all others and the core"
    )


class NotedAtMains(Entry):
    lamp: Literal["dark", "glow", "bright"] | None = Field(
        None, description="what the lamp limiter did after its flash"
    )
    applied: Volts | None = Field(None, description="volts at the primary, lamp out")
    reads: dict[LeadPair, VoltsOrNone] = Field(default_factory=dict, description="pair of leads = volts without load")
    amps: Amps | None = Field(None, description="current without load, from a power meter")
    drop: Volts | None = Field(None, description="or: volts across `resistor` in the live lead")
    resistor: Ohms | None = Field(None, description="the resistor for `drop`")


class NotedWarm(Entry):
    cold: Ohms = Field(description="ohms of one winding before")
    hot: Ohms = Field(description="ohms of the same winding after 30 minutes at mains without load")
    cold_c: Celsius = Field(description="temperature of the room before")
    ambient: Celsius = Field(description="temperature of the room after")


class NotedTransformer(Salvage):
    leads: tuple[Lead, ...] = Field(min_length=2, max_length=40, description="every lead, by number or colour")
    ohms: dict[LeadPair, OhmsOrOpen] = Field(
        default_factory=dict, description='pair of leads = ohms as shown; 1-rest = "OL" for all others'
    )
    fine: dict[LeadPair, FourWires] = Field(default_factory=dict, description="low ohms by four wires")
    volts: tuple[Fed, ...] = Field((), description="each feed of low volts")
    screens: tuple[Lead, ...] = Field((), description="leads that are screens")
    nodes: dict[Lead, Node] = Field(default_factory=dict, description="lead = its node in the build file")


class NotedMainsTransformer(NotedTransformer):
    primary: NotedPrimary | None = Field(None, description="which leads are the primary, once you are sure")
    core: NotedCore | None = Field(None, description="size of the core")
    insulation: Insulation | None = Field(None, description="insulation readings")
    mains: NotedAtMains | None = Field(None, description="what was read at mains")
    warm: NotedWarm | None = Field(None, description="warmth after 30 minutes")
    names: dict[LeadPair, Id] = Field(default_factory=dict, description="pair of leads = winding in the build file")
    stage: Id = Field("cold", description="the stage that fits its windings")


class NotedThrough(Entry):
    resistor: Ohms = Field(description="resistor in series with the whole primary")
    across_resistor: Volts = Field(description="AC volts across the resistor")
    across_winding: Volts = Field(description="AC volts across the primary")
    dc: Amps | None = Field(None, description="direct current through the primary meanwhile")


class NotedOutputTransformer(NotedTransformer):
    loads: tuple[Ohms, ...] = Field((), description="loudspeakers thought of, the one in use first")
    secondary: LeadPair | None = Field(None, description="leads of the secondary in use")
    sheets: Literal["one way", "turn about"] | None = Field(None, description="how the core's sheets lie")
    inductance: NotedThrough | None = Field(None, description="inductance without direct current")
    inductance_dc: NotedThrough | None = Field(None, description="inductance with direct current, `dc`")
    stage: Id = Field("output", description="the stage that fits it")


class NotedTurn(Entry):
    place: Text = Field(description="where the output transformer stood")
    angle: Number = Field(description="degrees from any mark that stays the same")
    reads: VoltsOrNone = Field(description="AC volts induced in its primary")


class NotedCapacitor(Salvage):
    value: Farads = Field(description="marked value")
    volts: Volts = Field(description="rated volts")
    to: Volts | None = Field(None, description="volts it is formed to, by default the rated ones")
    months: Number = Field(12.0, ge=0, le=1200, description="months it lay idle")
    resistor: Ohms = Field(47_000.0, description="series resistor, as measured")
    resistor_watts: Watts = Field(description="its rating")
    bleed: Ohms = Field(2_200.0, description="bleed resistor with insulated clips")
    bleed_watts: Watts = Field(10.0, description="its rating")
    measured: Farads | None = Field(None, description="value measured")


class NotedResistor(Salvage):
    value: Ohms = Field(description="marked value")
    tolerance: Tolerance = Field((-0.05, 0.05), description='such as "5 %"')
    measured: Ohms = Field(description="as the meter shows it")
    match: Id | None = Field(None, description="name of the set that it is paired within, such as anode_loads")


class Notes(Entry):
    """A whole file of bench notes."""

    format: Annotated[Literal[1], BeforeValidator(texts.whole)] = Field(description="version of this format")
    meter: Meter = Field(description="the meter that all is read with; the same as in the build file")
    mains: NotedMains = Field(description="the mains here")
    transformer: dict[Id, NotedMainsTransformer] = Field(default_factory=dict)
    output_transformer: dict[Id, NotedOutputTransformer] = Field(default_factory=dict)
    turning: tuple[NotedTurn, ...] = Field(
        (), max_length=100, description="readings while the output transformer is turned"
    )
    capacitor: dict[Id, NotedCapacitor] = Field(default_factory=dict)
    resistor: dict[Id, NotedResistor] = Field(default_factory=dict)
