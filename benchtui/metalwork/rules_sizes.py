"""Rules of a layout for sizes: guides that want a caliper, odd sizes, tools that can be bought, thick panels."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.metalwork.finding import Finding, called, found, mm
from benchtui.metalwork.layout import MM, Cut, Mounted, Plate
from benchtui.metalwork.workshop import Workshop
from benchtui.parts.tools import Tool, tools

#: A hole may be so much wider than its screwed part asks for, and so much smaller, which no caliper shows.
_OVER_MM = 0.5
_UNDER_MM = 0.1
#: Beyond the sizes that are known by this a reading is likelier wrong than the part rare.
_ODD_MM = 0.5
#: Thickest metal in which a cut-out is sawn and filed by hand; common practice.
_SAWN_MM = 4.0
#: What is written for a need of the library that is no field itself.
_FIELDS = {"size": "size or diameter", "body": "front (or behind, where it hangs inside)"}
_CALIPER = "from memory; no hole for it is standardised"


def guides(shop: Workshop) -> Iterator[Finding]:
    """Guide sizes are no sizes to drill by: one finding for each kind."""
    kinds: dict[str, list[tuple[Plate, Mounted]]] = {}
    for plate, mounted in shop.mounted():
        if any(cut.guide for cut in mounted.cuts):
            kinds.setdefault(mounted.mounting.name, []).append((plate, mounted))
    for name, places in kinds.items():
        plate, first = places[0]
        wanted = _guessed([mounted for _, mounted in places])
        where = ", ".join(called(mounted) for _, mounted in places[:4]) + (" ..." if len(places) > 4 else "")
        span = first.mounting.range_mm
        sold = f", {span[0]:g} to {span[1]:g} mm are sold" if span else ""
        text = (
            f"{name} ({where}): laid out by guide sizes{sold}: measure yours with a caliper or take its drawing, and "
            f"write {wanted} before you drill"
        )
        guide = first.mounting.hole_mm or (first.mounting.cut_out_mm or (None,))[0]
        yield Finding(
            "warn", plate.name, first.name, "panel-guide-size", text, None, guide, _CALIPER, (("kind", name),)
        )


def _guessed(places: list[Mounted]) -> str:
    """The fields that a caliper would fill."""
    cuts = [(mounted, cut) for mounted in places for cut in mounted.cuts if cut.guide]
    main = any(not mounted.is_fixing(cut) for mounted, cut in cuts)
    size = "diameter" if places[0].mounting.cut_out_mm is None else "size"
    screws = any(mounted.is_fixing(cut) for mounted, cut in cuts)
    return " and ".join([size] * main + ["screws"] * screws)


def unmeasured(shop: Workshop) -> Iterator[Finding]:
    """What no guide can say stands in the file."""
    for plate, mounted in shop.mounted():
        written = mounted.written
        have = {"size": written.size or written.diameter, "screws": written.screws, "front": written.front}
        have |= {"behind": written.behind, "body": written.front or written.behind}
        missing = [name for name in mounted.mounting.needs if have[name] is None]
        if missing:
            what = " and ".join(_FIELDS.get(name, name) for name in missing)
            text = f"{called(mounted)}: write {what}: {mounted.mounting.source}"
            yield found("warn", "panel-unmeasured", plate, mounted, text, source="no guide can say it")


def odd_sizes(shop: Workshop) -> Iterator[Finding]:
    """A size far from those known is measured again; it is never refused."""
    for plate, mounted in shop.mounted():
        span, written = mounted.mounting.range_mm, mounted.written
        size = written.diameter if written.diameter is not None else written.size[0] if written.size else None
        if span is None or size is None:
            continue
        size *= MM
        if not span[0] - _ODD_MM <= size <= span[1] + _ODD_MM:
            text = (
                f"{called(mounted)}: {mm(size)} for a {mounted.mounting.name}; known are {span[0]:g} to {span[1]:g} "
                "mm: measure once more"
            )
            limit = span[0] if size < span[0] else span[1]
            yield found("warn", "panel-size-odd", plate, mounted, text, size, limit, source=_CALIPER)


def bought_tools(shop: Workshop) -> Iterator[Finding]:
    """Every round hole has a tool that can be bought, and that the sheet is not too thick for."""
    for plate in shop.plates:
        sizes: dict[float, list[tuple[Mounted, Cut]]] = {}
        for mounted in plate.mounted:
            for cut in mounted.cuts:
                if cut.diameter_mm is not None and not cut.guide:  # a guide is no size to buy a tool by
                    sizes.setdefault(round(cut.diameter_mm, 2), []).append((mounted, cut))
        for size, places in sizes.items():
            yield from _tool(plate, size, places)


def _tool(plate: Plate, size: float, places: list[tuple[Mounted, Cut]]) -> Iterator[Finding]:
    mounted = places[0][0]
    where = called(mounted) + (f" and {len(places) - 1} more" if len(places) > 1 else "")
    material, thick = plate.panel.material, plate.thickness_mm
    fitting = [tool for tool in tools().values() if _fits(tool, size)]
    bearing = [tool for tool in fitting if tool.bears(material, thick)]
    too_thin = [tool for tool in fitting if material in tool.most_sheet_mm and tool not in bearing]
    about = (("tool", plate.name, f"{size:g}"),)
    if not fitting:
        smaller = max((s for tool in tools().values() if (s := tool.below(size)) is not None), default=0.0)
        text = f"{where}: no drill, punch or saw for {mm(size)} is usual: make it {mm(smaller)} and file the rest"
        yield Finding(
            "note", plate.name, mounted.name, "panel-tool-size", text, size, smaller, _source(tools()["punch"]), about
        )
    elif not bearing:
        most = max(tool.most_sheet_mm.get(material, 0.0) for tool in fitting)
        names = " or ".join(_words(tool) for tool in fitting)
        text = f"{where}: {mm(size)} in {mm(thick)} of {material}: a {names} of that size is for {mm(most)} at most"
        yield Finding(
            "warn", plate.name, mounted.name, "panel-sheet-thick", text, thick, most, _source(fitting[0]), about
        )
    elif too_thin and all(tool.name == "hole_saw" for tool in bearing):
        most = max(tool.most_sheet_mm[material] for tool in too_thin)
        names = " or ".join(_words(tool) for tool in too_thin)
        text = (
            f"{where}: {mm(size)} in {mm(thick)} of {material} is too much for a {names} (made for {mm(most)} at "
            "most): a hole saw does it, slowly, the panel clamped down"
        )
        yield Finding(
            "note", plate.name, mounted.name, "panel-sheet-thick", text, thick, most, _source(too_thin[0]), about
        )


def _fits(tool: Tool, size: float) -> bool:
    return tool.nearest(size - _UNDER_MM, _OVER_MM + _UNDER_MM) is not None


def _source(tool: Tool) -> str:
    return f"from memory: {tool.source}" if tool.kind == "memory" else tool.source


def _words(tool: Tool) -> str:
    return tool.name.replace("_", " ")


def cut_outs(shop: Workshop) -> Iterator[Finding]:
    """A cut-out is sawn and filed by hand in a sheet that allows it."""
    for plate, mounted in shop.mounted():
        metal = plate.panel.material not in ("wood", "plastic")
        if metal and plate.thickness_mm > _SAWN_MM and any(cut.size_mm is not None for cut in mounted.cuts):
            thick = plate.thickness_mm
            text = f"{called(mounted)}: a cut-out in {mm(thick)} of {plate.panel.material} is no work for saw and file"
            yield found("warn", "panel-sheet-thick", plate, mounted, text, thick, _SAWN_MM)


def clamped(shop: Workshop) -> Iterator[Finding]:
    """A bush is long enough for its panel, and a grommet's groove wide enough."""
    for plate, mounted in shop.mounted():
        grip, groove = mounted.mounting.grip_mm, mounted.mounting.groove_mm
        thick = plate.thickness_mm + 2 * (0.0 if plate.panel.paint is None else plate.panel.paint * MM)
        if grip is not None and thick > grip:
            text = (
                f"{called(mounted)}: the bush of a {mounted.mounting.name} clamps some {mm(grip)}, the panel is "
                f"{mm(thick)}: thin it there from behind, or mount the part on a thin plate over a larger opening"
            )
            yield found("warn", "panel-bush", plate, mounted, text, thick, grip, source="from memory; measure the bush")
        if groove is not None and thick > groove + 0.1:
            text = f"{called(mounted)}: its groove takes some {mm(groove)}, the panel is {mm(thick)}: take a wider one"
            yield found("warn", "panel-grommet", plate, mounted, text, thick, groove)
