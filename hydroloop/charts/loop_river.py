"""The river beside the loop: what comes, what is taken, what returns and what flows on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.patches import FancyBboxPatch, Polygon

from hydroloop.charts.colours import EFFLUENT, GROUND, LINE, PAPER, RIVER, SEWAGE, STORM, TAP
from hydroloop.charts.loop_sheet import HALF_BOX, HEAD, Sheet
from hydroloop.charts.loop_works import PLANT, SEWERS, TANKS, WASTEWATER
from hydroloop.charts.picture import write
from hydroloop.charts.town_flows import RiverAt, TownFlows
from hydroloop.charts.words import flow_words, joined, time_words
from hydroloop.units import DisplayUnit

WIDEST_RIVER = 1.6
"""A river that would be wider is drawn this wide, with a torn bank [in]."""
_LEAST_TOLD = 0.01  # of what flows on: less is not told [-]
_LEFT = 0.25
_RIGHT = _LEFT + WIDEST_RIVER


def draw_river(sheet: Sheet, intake: float, others: dict[str, float]) -> None:
    """The river with the intake and the outfall; without an intake, the source as a block.

    `intake` is what the river gives to the town [m3/d], `others` what wells give or is bought.
    """
    source, outfall = sheet.flows.water_source, sheet.flows.outfall
    if source is None or not sheet.shows(intake):
        _draw_block(sheet, others)
        if outfall is not None:
            _name_coming(sheet, _middle(sheet) + 0.2, outfall, "outfall")
            _draw_lower(sheet, outfall, _RIGHT - 0.3, outfall.coming)
    elif source.is_below_outfall and outfall is not None:
        _draw_closed(sheet, source, outfall, intake)
    else:
        _draw_open(sheet, source, outfall, intake)


def undrawn_words(flows: TownFlows, unit: DisplayUnit) -> str:
    """What the drawn amounts are made of: where the water at the head comes from, and what joins
    and leaves between intake and outfall; empty where that goes without saying."""
    source, outfall = flows.water_source, flows.outfall
    at = outfall if source is None or source.is_below_outfall else source
    if at is None:
        return ""
    said = []
    fed = _told(at.fed, unit, at.coming)
    if len(fed) > 1:
        lost = _told(at.lost, unit, at.coming)
        less = f", less {joined(lost)}" if lost else ""
        said.append(f"what {at.words} {_does(at)}: {joined(fed)}{less}")
    most = max(one.leaving for one in (source, outfall) if one is not None)
    for does, found in (("joining", flows.joining), ("leaving", flows.leaving)):
        told = _told(found, unit, most)
        said += [f"{does} between intake and outfall: {joined(told)}"] if told else []
    words = "; ".join(said)
    return f" {words[:1].upper()}{words[1:]}." if words else ""


def _told(found: Mapping[str, float], unit: DisplayUnit, most: float) -> list[str]:
    """Amounts that matter beside the largest, in words."""
    return [
        f"{flow_words(rate, unit)} {words}"
        for words, rate in found.items()
        if rate > _LEAST_TOLD * most
    ]


def _does(at: RiverAt) -> str:
    return "gives" if at.is_reservoir else "brings"


def _returned(flows: TownFlows) -> float:
    """What of the town's own water comes to the river: effluent, overflow, storm water [m3/d]."""
    back = flows.between(("treatment", "sewers", "wastewater"), "river")
    return back + flows.between("land", "river", "stormwater")


def _start(sheet: Sheet) -> float:
    return sheet.top + 0.95


def _middle(sheet: Sheet) -> float:
    return 0.5 * (sheet.top + sheet.bottom)


def _end(sheet: Sheet) -> float:
    return sheet.bottom - 0.72 - sheet.branch_width(sheet.flows.between("sewers", "river"))


def _draw_open(sheet: Sheet, source: RiverAt, outfall: RiverAt | None, intake: float) -> None:
    """The intake lies above the outfall: the river runs down the page."""
    passing = max(source.coming - intake, 0.0)
    _name_source(sheet, _start(sheet) + 0.2, source)
    _draw_intake(sheet, intake, _start(sheet))
    bank = _RIGHT - sheet.width(intake)
    said = f"{sheet.rate(passing)}\npass by"
    if outfall is None:
        _water(sheet, bank, (_start(sheet), _end(sheet)), passing)
    elif not sheet.flows.are_joined:
        _draw_parted(sheet, outfall, bank, (passing, outfall.coming))
        said += f"\n{sheet.rate(outfall.coming)} come"
    else:
        below = max(outfall.leaving - _returned(sheet.flows), 0.0)
        if _differ(sheet, below, passing, outfall.leaving):
            _draw_parted(sheet, outfall, bank, (passing, below))
            said = f"{sheet.rate(passing)} pass by,\n{_more(sheet, below - passing)}"
        else:
            _draw_lower(sheet, outfall, bank, below, _start(sheet))
    sheet.note(bank + 0.15, sheet.top - 1.2, said, ha="left")


def _draw_parted(sheet: Sheet, outfall: RiverAt, bank: float, rates: tuple[float, float]) -> None:
    """The river above and below a gap, each half with a rate of its own."""
    _water(sheet, bank, (_start(sheet), _middle(sheet)), rates[0])
    _draw_lower(sheet, outfall, bank, rates[1])
    _gap(sheet, bank, max(rates))


def _differ(sheet: Sheet, one: float, other: float, largest: float) -> bool:
    """Whether water joins or leaves between two places, by so much that the labels show it."""
    return abs(one - other) > _LEAST_TOLD * largest and not sheet.rate(abs(one - other)).startswith(
        "0 "
    )


def _more(sheet: Sheet, rate: float) -> str:
    """What joins between intake and outfall, or leaves, all together."""
    return f"{sheet.rate(abs(rate))} {'join' if rate > 0.0 else 'leave'}"


def _name_source(sheet: Sheet, y: float, at: RiverAt) -> None:
    """What comes to the intake, and from where; a reservoir stands there with its mean stay."""
    _name_coming(sheet, y, at, "intake")
    if at.is_reservoir:
        low, high = sheet.top + 0.27, _start(sheet) + 0.02
        sheet.picture.sheet.add_patch(
            FancyBboxPatch(
                (_LEFT - 0.1, low),
                _RIGHT - _LEFT + 0.35,
                high - low,
                facecolor=PAPER,
                edgecolor=LINE,
                boxstyle="round,pad=0,rounding_size=0.12",
                lw=2.0,
                zorder=6,
                gid="reservoir",
            )
        )
        told = (("Reservoir", "bold"), (time_words(at.stay), "normal"))
        for row, (words, weight) in enumerate(told):
            sheet.note(
                0.5 * (_LEFT + _RIGHT) + 0.07,
                high - 0.19 - 0.24 * row,
                words,
                weight=weight,
                va="center_baseline",
            )


def _draw_lower(
    sheet: Sheet, outfall: RiverAt, bank: float, coming: float, start: float | None = None
) -> None:
    """The river past storm outlet and outfall to its end, from the middle or from above it."""
    end = _end(sheet)
    left = _water(sheet, bank, (start or _middle(sheet), end), coming)
    _head(sheet, (left, _join(sheet, bank, end, down=True)), end, -0.2)
    _name_leaving(sheet, end - 0.4, outfall.words, outfall.leaving)


def _draw_closed(sheet: Sheet, source: RiverAt, outfall: RiverAt, intake: float) -> None:
    """The outfall lies above the intake: the river runs up the page and closes the ring."""
    start, middle, end = sheet.bottom - 0.72, _middle(sheet), _start(sheet)
    low = _RIGHT - sum(_joining(sheet).values())
    _water(sheet, low, (start, middle), outfall.coming)
    _join(sheet, low, middle, down=False)
    _draw_intake(sheet, intake, middle)
    passing = max(source.coming - intake, 0.0)
    bank = _RIGHT - sheet.width(intake)
    left = _water(sheet, bank, (middle, end), passing)
    _head(sheet, (left, bank), end, 0.2)
    above = outfall.coming + _returned(sheet.flows)
    said = f"{sheet.rate(source.coming)}\narrive"
    if _differ(sheet, source.coming, above, source.coming):
        _gap(sheet, _RIGHT, source.coming)
        said = f"{_more(sheet, source.coming - above)},\n{sheet.rate(source.coming)} arrive"
    _name_coming(sheet, start - 0.2, outfall, "outfall")
    sheet.note(_RIGHT + 0.15, sheet.top - 1.2, said, ha="left")
    _name_leaving(sheet, end + 0.36, source.words, passing)


def _draw_intake(sheet: Sheet, intake: float, start: float) -> None:
    """The strip of the river that turns into the town."""
    x, y = _RIGHT - sheet.width(intake) / 2, sheet.top
    sheet.band([(x, start), (x, y), (PLANT[0], y)], intake, RIVER, head=True)
    sheet.on_band((_RIGHT + PLANT[0] - HEAD) / 2 + 0.05, y, intake, RIVER)


def _joining(sheet: Sheet) -> dict[str, float]:
    """Widths of what joins the river as strips along its bank [in]."""
    effluent = sheet.flows.between("wastewater", "river")
    storm = sheet.flows.between("land", "river", "stormwater")
    widths = {
        "storm": sheet.branch_width(storm) if sheet.shows(storm) else 0.0,
        "outfall": sheet.width(effluent),
    }
    return {name: width for name, width in widths.items() if width}


def _join(sheet: Sheet, bank: float, end: float, *, down: bool) -> float:
    """Storm water and effluent as strips along the right bank, overflow as an arrow to it.

    Returns the new bank.
    """
    widths = _joining(sheet)
    # The strip that joins first lies inside.
    for name in ("storm", "outfall") if down else ("outfall", "storm"):
        if name in widths:
            draw = _draw_storm if name == "storm" else _draw_outfall
            draw(sheet, bank + widths[name] / 2, end)
            bank += widths[name]
    overflow = sheet.flows.between("sewers", "river")
    if sheet.shows(overflow):
        _draw_overflow(sheet, bank if down else _RIGHT - sum(widths.values()), overflow)
    return bank


def _draw_outfall(sheet: Sheet, x: float, end: float) -> None:
    rate, y = sheet.flows.between("wastewater", "river"), sheet.bottom
    sheet.band([(WASTEWATER[0] + 0.5, y), (x, y), (x, end)], rate, EFFLUENT)
    right_bank = x + sheet.width(rate) / 2
    sheet.on_band((WASTEWATER[0] + right_bank) / 2 + 0.05, y, rate, EFFLUENT)


def _draw_storm(sheet: Sheet, x: float, end: float) -> None:
    rate = sheet.flows.between("land", "river", "stormwater")
    y, right = sheet.bottom + 0.9, max(_RIGHT, x) + 0.5
    sheet.branch([(right, y), (x, y), (x, end)], rate, STORM, head=False)
    sheet.note(right + 0.07, y, f"storm water\n{sheet.rate(rate)}", ha="left")


def _draw_overflow(sheet: Sheet, bank: float, rate: float) -> None:
    half = sheet.branch_width(rate) / 2
    y, x = sheet.bottom - 0.58 - half, SEWERS[0] + 0.1 + half
    sheet.branch([(x, sheet.bottom - 0.3), (x, y), (bank, y)], rate, SEWAGE)
    sheet.note(
        WASTEWATER[0] + 0.2,
        y - half - 0.2,
        f"overflow {sheet.rate(rate)}",
        ha="left",
        va="center_baseline",
    )


def _water(sheet: Sheet, bank: float, ends: tuple[float, float], rate: float) -> float:
    """River water along its right bank, torn on the left where it is cut; returns the left bank."""
    width, room = sheet.width(rate), bank - _LEFT
    left = bank - min(width, room)
    low, high = sorted(ends)
    count = 2 + 2 * round((high - low) / 0.3) if width > room else 2
    heights = np.linspace(low, high, count)
    tear = 0.13 * (np.arange(count) % 2) * (width > room)
    if width > 0:
        outline = [(bank, high), (bank, low), *zip(left + tear, heights, strict=True)]
        _fill(sheet, outline, 2.5)
    return left


def _fill(sheet: Sheet, outline: list[tuple[float, float]], depth: float) -> None:
    sheet.picture.sheet.add_patch(
        Polygon(
            outline, closed=True, facecolor=RIVER, edgecolor=LINE, lw=1.0, zorder=depth, gid="river"
        )
    )


def _head(sheet: Sheet, banks: tuple[float, float], end: float, length: float) -> None:
    left, right = banks
    wing = 0.09
    _fill(sheet, [(left - wing, end), ((left + right) / 2, end + length), (right + wing, end)], 3.5)


def _gap(sheet: Sheet, bank: float, rate: float) -> None:
    """Mark across the river: between the two places water joins or leaves that is not drawn."""
    left, y = max(bank - sheet.width(rate), _LEFT), _middle(sheet)
    x = np.linspace(left - 0.1, bank + 0.1, 60)
    wave = 0.05 * np.sin(2 * np.pi * (x - left) / 0.45)
    axes = sheet.picture.sheet
    axes.fill_between(x, y - 0.07 + wave, y + 0.07 + wave, color=PAPER, lw=0, zorder=4)
    for side in (-0.07, 0.07):
        axes.plot(x, y + side + wave, color=LINE, lw=1.2, zorder=4.1)


def _name_coming(sheet: Sheet, y: float, at: RiverAt, place: str) -> None:
    """What comes to the intake or the outfall, there and not at the river's head."""
    rate, other = sheet.rate(at.coming), "the reservoir" if at.is_reservoir else "the river"
    said = [f"At the {place}, {name} {_does(at)} {rate}" for name in (at.words, other)]
    _write_first(sheet, y, [*said, f"At the {place}: {rate}"])


def _name_leaving(sheet: Sheet, y: float, words: str, rate: float) -> None:
    name = words[:1].upper() + words[1:]
    other = "The reservoir" if "reservoir" in words else "The river"
    said = [f"{start} flows on with {sheet.rate(rate)}" for start in (name, other)]
    _write_first(sheet, y, [*said, f"Flows on with {sheet.rate(rate)}"])


def _write_first(sheet: Sheet, y: float, lines: Sequence[str]) -> None:
    """The first line that has room before what stands to the right of it, else the last."""
    right = PLANT[0] + (0.5 if y < sheet.bottom else -0.4)
    if y > sheet.top + HALF_BOX and not sheet.shows(sheet.flows.between("treatment", "solids")):
        right = sum(PLANT) - 0.2
    fitting = (line for line in lines if sheet.picture.text_width(line) <= right - _LEFT)
    sheet.note(_LEFT, y, next(fitting, lines[-1]), ha="left", va="center_baseline")


def _draw_block(sheet: Sheet, others: dict[str, float]) -> None:
    """The main source of a town without an intake, and its band."""
    what, rate = max(others.items(), key=lambda item: item[1])
    y, right = sheet.top, _RIGHT + 0.3
    colour = GROUND if what == "wells" else TAP
    target = PLANT[0] if what == "wells" else TANKS[0]
    sheet.picture.sheet.add_patch(
        FancyBboxPatch(
            (_LEFT, y - HALF_BOX),
            right - _LEFT,
            2 * HALF_BOX,
            facecolor=colour,
            edgecolor=LINE,
            boxstyle="round,pad=0,rounding_size=0.12",
            lw=2.0,
            zorder=6,
            gid="store",
        )
    )
    words = "Groundwater\nby wells" if what == "wells" else "Bought from\noutside"
    write(sheet.picture.sheet, ((_LEFT + right) / 2, y), words, on=colour, weight="bold")
    sheet.band([(right - 0.5, y), (target, y)], rate, colour, head=True)
    sheet.on_band((right + PLANT[0] - HEAD) / 2, y, rate, colour)
