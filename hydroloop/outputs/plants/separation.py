"""What each step of the plants takes out and what passes, in words."""

from __future__ import annotations

from collections.abc import Mapping

from hydroloop.charts.words import percent, place_words
from hydroloop.outputs.document import Fact, Paragraph, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.placenames import Names, possessive
from hydroloop.studies.separation import CAUGHT, Separation

_AT_TAPS = ("salt", "dye")  # what is shown; files and scripts get all


def separation_sections(towns: Mapping[str, Separation], town: str, names: Names) -> list[Section]:
    """What each step of a town takes out, and what passes; then the taps of all towns."""
    found = towns[town]
    alum = [
        Paragraph(
            f"The alum that makes fine particles clump adds {found.alum_solids:,.0f} kg "
            "a day of its own solids to the sludge of the water plant."
        )
    ]
    return [
        Section(
            "What each step takes out, kg a day, average of the season",
            [
                TableBlock(_caught(found)),
                *(alum if found.alum_solids >= 0.5 else []),
                Paragraph(
                    f"Salt passes every step: {found.at_tap['salt']:.0f} mg/L at "
                    f"{possessive(place_words(town, names))} "
                    f"taps against {found.salt_in_river:.0f} at the river's head, while "
                    f"{percent(found.used_share)} of the tap water was used before. Each use adds "
                    "salt, and evaporation takes water and leaves the salt; what is used cannot "
                    "become more used by evaporation, as vapour takes its part of it along."
                ),
                Paragraph(
                    f"Chlorine left in the mains: {found.at_tap['chlorine']:.2g} mg/L; fluoride "
                    f"{found.at_tap['fluoride']:.2g} mg/L. The mass of every material closes to "
                    f"{found.gap:.0e} of what is there."
                ),
            ],
            short=False,
        ),
        Section(
            "Salt, used water and an imagined dye at the taps, mean of the season",
            [
                TableBlock(_taps(towns, names)),
                Paragraph(
                    "The dye is for a class to think with: 1 mg/L of it goes into water at each "
                    "use in a home, and no step takes it out. Like the salt it counts every use; "
                    "the used share counts water once, however often it was used, and cannot pass "
                    "100 %."
                ),
            ],
            short=False,
        ),
    ]


def separation_facts(found: Separation) -> dict[str, Fact]:
    """What stands in no table."""
    return {
        "alum_solids": Fact(found.alum_solids, "number", "kg/d"),
        "salt_in_river": Fact(found.salt_in_river, "number", "mg/L"),
        "gap_of_mass": Fact(found.gap, "share"),
    }


def _caught(found: Separation) -> Table:
    return Table(
        "caught",
        "",
        [
            Column("step", list(found.caught)),
            *(
                Column(name, amounts, "number", unit="kg/d", words=list(map(_kilograms, amounts)))
                for name in CAUGHT
                for amounts in [[caught[name] for caught in found.caught.values()]]
            ),
        ],
    )


def _taps(towns: Mapping[str, Separation], names: Names) -> Table:
    every = next(iter(towns.values())).at_tap
    amounts = {name: [one.at_tap[name] for one in towns.values()] for name in every}
    said = {
        "salt": [f"{salt:.0f}" for salt in amounts["salt"]],
        "dye": [f"{dye:.2g}" for dye in amounts["dye"]],
    }
    columns = {
        name: Column(
            "imagined dye" if name == "dye" else name,
            values,
            "number",
            name,
            said.get(name),
            "mg/L",
            name in _AT_TAPS,
        )
        for name, values in amounts.items()
    }
    return Table(
        "at_taps",
        "",
        [
            places_column("town", list(towns), names),
            columns.pop("salt"),
            Column("used share", [one.used_share for one in towns.values()], "share"),
            *columns.values(),
        ],
    )


def _kilograms(amount: float) -> str:
    if amount < 5e-4:
        return "-"
    return f"{amount:,.0f}" if amount >= 10 else f"{amount:.2g}"
