"""The two rows of the loop: from the intake to the mains, and from the sewers to the outfall."""

from __future__ import annotations

from hydroloop.charts.colours import GROUND, RECLAIMED, SEWAGE, STORM, TAP
from hydroloop.charts.loop_sheet import HALF_BOX, HEAD, Sheet

PLANT = (3.75, 1.4)  # left edge and width of the boxes [in]
TANKS = (6.85, 0.95)
MAINS = (8.1, 0.95)
SEWERS = (6.9, 1.4)
WASTEWATER = (3.75, 1.45)
TANK = (4.0, 1.3)
_HALF = HALF_BOX


def draw_supply(sheet: Sheet) -> None:
    """Treatment, tanks and mains, and what leaves and joins there."""
    flows, y = sheet.flows, sheet.top
    made = flows.between("treatment", "tanks")
    mains = flows.between("tanks", "mains")
    if sheet.shows(made):
        sheet.band([(PLANT[0] + 0.8, y), (TANKS[0], y)], made, TAP, head=True)
        sheet.on_band((sum(PLANT) + TANKS[0]) / 2 - HEAD / 2, y, made, TAP)
        sheet.box(PLANT[0], y, PLANT[1], "Treatment", "treatment")
        _draw_plant_branches(sheet)
    sheet.band([(TANKS[0] + 0.5, y), (MAINS[0], y)], mains, TAP, head=True)
    sheet.box(TANKS[0], y, TANKS[1], "Tanks", "tanks")
    sheet.box(MAINS[0], y, MAINS[1], "Mains", "mains")
    leak = flows.between("mains", "ground", "leak")
    if sheet.shows(leak):
        x = MAINS[0] + 0.5
        sheet.branch([(x, y + _HALF - 0.1), (x, y + 0.8)], leak, GROUND)
        sheet.note(MAINS[0] + 0.1, y + 1.1, f"leaks into the ground\n{sheet.rate(leak)}", ha="left")


def _draw_plant_branches(sheet: Sheet) -> None:
    flows, y = sheet.flows, sheet.top
    sludge = flows.between("treatment", "solids", "sludge")
    if sheet.shows(sludge):
        x = PLANT[0] + 0.5
        sheet.branch([(x, y + _HALF - 0.1), (x, y + 0.8)], sludge, GROUND)
        sheet.note(x, y + 1.1, f"sludge\n{sheet.rate(sludge)}")
    washed = flows.between("treatment", "sewers", "backwash")
    if sheet.shows(washed):
        x, across, down = sum(PLANT) - 0.3, y - 0.95, sum(SEWERS) - 0.2
        sheet.branch(
            [(x, y - _HALF + 0.1), (x, across), (down, across), (down, sheet.bottom + _HALF)],
            washed,
            SEWAGE,
        )
        sheet.note(x + 0.3, across + 0.27, f"filter wash {sheet.rate(washed)}", ha="left")
    lost = flows.between("treatment", ("river", "wastewater"), "backwash")
    if sheet.shows(lost):
        x = sum(PLANT) - 0.3
        sheet.branch([(x, y - _HALF + 0.1), (x, y - 0.8)], lost, SEWAGE)
        sheet.note(x + 0.3, y - 0.68, f"filter wash {sheet.rate(lost)}", ha="left")


def draw_joining(sheet: Sheet, rates: dict[str, float]) -> None:
    """Water that joins the supply from above: wells beside an intake, and bought water."""
    places = {
        "wells": (sum(PLANT) - 0.2, 0.3, "left", GROUND),
        "bought": (TANKS[0] + 0.5, 0.0, "center", TAP),
    }
    for what, rate in rates.items():
        x, aside, side, colour = places[what]
        if sheet.shows(rate):
            sheet.branch([(x, sheet.top + 0.8), (x, sheet.top + _HALF)], rate, colour)
            sheet.note(x + aside, sheet.top + 1.1, f"{what}\n{sheet.rate(rate)}", ha=side)


def draw_wastewater(sheet: Sheet) -> None:
    """Sewers and wastewater plant, and what leaves and joins there."""
    flows, y = sheet.flows, sheet.bottom
    to_plant = flows.between("sewers", "wastewater")
    sheet.band([(SEWERS[0] + 0.5, y), (sum(WASTEWATER), y)], to_plant, SEWAGE, head=True)
    sheet.on_band((sum(WASTEWATER) + SEWERS[0]) / 2 + HEAD / 2, y, to_plant, SEWAGE)
    sheet.box(SEWERS[0], y, SEWERS[1], "Sewers", "sewers")
    sheet.box(WASTEWATER[0], y, WASTEWATER[1], "Wastewater\nplant", "wastewater")
    _draw_sewer_branches(sheet)
    sludge = flows.between("wastewater", "solids", "sludge")
    if sheet.shows(sludge):
        x = sum(WASTEWATER) - 0.15
        sheet.branch([(x, y + _HALF), (x, y + 0.85)], sludge, GROUND)
        sheet.note(x + 0.3, y + 0.72, f"sludge\n{sheet.rate(sludge)}", ha="left")


def _draw_sewer_branches(sheet: Sheet) -> None:
    flows, y = sheet.flows, sheet.bottom
    low = y - 1.0
    seeps = flows.between("ground", "sewers", "infiltration")
    if sheet.shows(seeps):
        x = SEWERS[0] + 0.75
        sheet.branch([(x, y - 0.72), (x, y - _HALF + 0.02)], seeps, GROUND)
        sheet.note(SEWERS[0] + 1.1, low, f"seeping in\n{sheet.rate(seeps)}", ha="right")
    storm = flows.between("land", "sewers", "stormwater")
    if sheet.shows(storm):
        x = sum(SEWERS) - 0.2
        sheet.branch([(x, y - 0.72), (x, y - _HALF + 0.02)], storm, STORM)
        sheet.note(SEWERS[0] + 1.2, low, f"rain\n{sheet.rate(storm)}", ha="left")


def draw_reuse(sheet: Sheet) -> None:
    """Reclaimed water: the inner way from the wastewater plant back to treatment and elsewhere."""
    flows = sheet.flows
    made = flows.between("wastewater", "reclaimed")
    if not sheet.shows(made):
        return
    middle = 0.5 * (sheet.top + sheet.bottom) - 0.1
    x = TANK[0] + 0.5
    sheet.branch([(x, sheet.bottom + 0.4), (x, middle - _HALF + 0.02)], made, RECLAIMED)
    sheet.box(TANK[0], middle, TANK[1], "Reclaimed", "reclaimed")
    plant = flows.between("reclaimed", "treatment")
    if sheet.shows(plant):
        width = sheet.branch([(x, middle + 0.4), (x, sheet.top - _HALF)], plant, RECLAIMED)
        sheet.note(
            x - width / 2 - 0.1,
            sheet.top - 0.68,
            sheet.rate(plant),
            ha="right",
            va="center_baseline",
        )
    others = [
        (words, flows.between("reclaimed", group))
        for words, group in (("yards", "yards"), ("ground", "ground"), ("reservoir", "river"))
    ]
    shown = [(words, rate) for words, rate in others if sheet.shows(rate)]
    for row, (words, rate) in enumerate(shown):
        y = middle + 0.33 * ((len(shown) - 1) / 2 - row)
        right = sum(TANK)
        sheet.branch([(right - 0.1, y), (right + 0.3, y)], rate, RECLAIMED)
        sheet.note(right + 0.36, y, f"{words} {sheet.rate(rate)}", ha="left", va="center_baseline")
