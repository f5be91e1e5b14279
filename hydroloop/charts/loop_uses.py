"""The turn of the loop: homes, workplaces and yards, and what leaves there for the air."""

from __future__ import annotations

from hydroloop.charts.colours import AIR, GROUND, SEWAGE, TAP
from hydroloop.charts.loop_sheet import HALF_BOX, WIDEST_BRANCH, Sheet
from hydroloop.charts.loop_works import MAINS, SEWERS

# group: title, left edge of its box, and where its water enters, from there [in]
_BOXES = {
    "workplaces": ("Workplaces", 8.45, 1.15),
    "homes": ("Homes", 10.06, 1.0),
    "yards": ("Yards", 11.67, 0.8),
}
_WIDE = 1.53
_HALF = HALF_BOX + 0.08


def draw_uses(sheet: Sheet) -> None:
    """Lanes from the mains through the uses to the sewers, side by side and to scale."""
    taken = {group: sheet.flows.between("mains", group) for group in _BOXES}
    shown = {group: rate for group, rate in taken.items() if sheet.shows(rate)}
    _draw_lanes(sheet, shown)
    for group, rate in shown.items():
        words, left, _ = _BOXES[group]
        sheet.box(left, _middle(sheet), _WIDE, f"{words}\n{sheet.rate(rate)}", group)
    edges = _draw_returns(sheet, shown)
    for group in shown:
        _draw_air(sheet, group, edges[group])


def _middle(sheet: Sheet) -> float:
    return 0.5 * (sheet.top + sheet.bottom) + 0.3


def _draw_lanes(sheet: Sheet, taken: dict[str, float]) -> None:
    """The band of the mains, peeled off lane by lane; the lowest lane turns first."""
    top = sheet.top + sheet.width(sum(taken.values())) / 2
    for group in ("yards", "homes", "workplaces"):
        if group in taken:
            width = sheet.width(taken[group])
            y, x = top - width / 2, _BOXES[group][1] + _BOXES[group][2]
            top -= width
            sheet.band(
                [(MAINS[0] + 0.5, y), (x, y), (x, _middle(sheet) + _HALF)],
                taken[group],
                TAP,
                head=True,
            )


def _draw_returns(sheet: Sheet, taken: dict[str, float]) -> dict[str, float]:
    """Sewage back below; the lane from the homes runs lowest. Returns the lanes' right edges."""
    flows = sheet.flows
    back = {group: flows.between(group, "sewers", "sewage") for group in taken}
    edges = {group: _BOXES[group][1] + 0.1 for group in taken}
    level = sheet.bottom - sheet.width(sum(back.values())) / 2
    for group in ("yards", "homes", "workplaces"):
        if sheet.shows(back.get(group, 0.0)):
            width = sheet.width(back[group])
            y, x = level + width / 2, edges[group] + width / 2
            level += width
            edges[group] += width
            sheet.band(
                [(x, _middle(sheet)), (x, y), (sum(SEWERS), y)], back[group], SEWAGE, head=True
            )
    onsite = flows.between("homes", "ground", "sewage")
    if sheet.shows(onsite):
        x = edges["homes"] + min(sheet.width(onsite), WIDEST_BRANCH) / 2
        edges["homes"] += sheet.branch(
            [(x, _middle(sheet)), (x, sheet.bottom - 0.53)], onsite, GROUND
        )
        words = f"on-site systems\n{sheet.rate(onsite)}"
        sheet.note(min(x - 0.5, 10.0), sheet.bottom - 0.92, words, ha="left")
    return edges


def _draw_air(sheet: Sheet, group: str, edge: float) -> None:
    """What leaves a use for good, below its box, right of its lane."""
    if group == "yards":
        gone, words = sheet.flows.between("mains", "yards"), "to air\nand soil"
    else:
        gone = sheet.flows.between(group, "sky")
        words = "to the air\n" + sheet.rate(gone).replace(" ", "\n")
    if not sheet.shows(gone):
        return
    low = _middle(sheet) - _HALF
    x = edge + 0.55
    sheet.branch([(x, low + 0.1), (x, low - 0.26)], gone, AIR)
    sheet.note(x, low - 0.29, words, va="top", linespacing=1.1)
