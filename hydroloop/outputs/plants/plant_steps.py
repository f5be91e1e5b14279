"""Both plants step by step against published rules, for a document."""

from __future__ import annotations

from hydroloop.outputs.document import Block, Paragraph, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.plants.capacity_words import standby_sentence
from hydroloop.plants import PlantReport, UnitRow
from hydroloop.plants.standards import At, in_held_units
from hydroloop.plants.standby import LEAST_AERATION_BASINS
from hydroloop.studies.capacity_study import CapacityStudy
from hydroloop.units.printing import System

AT: dict[At, str] = {
    "average": "average day",
    "maximum_day": "busiest day",
    "peak_hour": "peak hour",
}


def steps_sections(study: CapacityStudy, system: System) -> list[Block]:
    """Steps of both plants, at all three flows, as people read them."""
    star = (
        "On the average day, on the busiest day and in the peak hour, in the unit of the rule; "
        "* the flow that the rule is meant for."
    )
    water: Block = _section(
        "The water plant, step by step, with the largest unit out",
        _units("water_steps", star, study.water, system),
    )
    if not study.water.rows:
        water = Paragraph(
            "The town has no water plant of its own: it buys all its water.", short=False
        )
    return [
        water,
        _section(
            "The wastewater plant, step by step, with all units in use",
            _units("wastewater_steps", star, study.wastewater, system, out=False),
        ),
        _section(
            "What each step still treats of the design flow, with the largest unit out",
            _standby(study),
            standby_sentence(study, system),
        ),
    ]


def steps_table(study: CapacityStudy) -> Table:
    """Each rule with what is compared with it, for scripts and files."""
    rows = [
        (plant, row)
        for plant, report in (("water", study.water), ("wastewater", study.wastewater))
        for row in report.rows
    ]
    texts = {
        name: [getattr(row, name) for _, row in rows]
        for name in ("process", "what", "at", "unit", "rule", "source", "verdict")
    }
    return Table(
        "steps",
        "Steps of both plants against their rules",
        [
            Column("plant", [plant for plant, _ in rows]),
            *(Column(name, cells) for name, cells in texts.items()),
            *(
                Column(name, [getattr(row, name) for _, row in rows], "count")
                for name in ("units", "out")
            ),
            Column(
                "value",
                [float("nan") if row.value is None else row.value for _, row in rows],
                "number",
            ),
        ],
    )


def _section(title: str, table: Table, *said: str) -> Section:
    blocks = [TableBlock(table, where="people"), *map(Paragraph, said)]
    return Section(title, blocks, short=False)


def _table(name: str, note: str, rows: list[list[str]]) -> Table:
    return Table(
        name,
        "",
        [Column(head, cells) for head, *cells in zip(*rows, strict=True)],
        notes=[note] if note else [],
    )


def _standby(study: CapacityStudy) -> Table:
    """One row a step: units left, share carried, share asked."""
    rows = [["step", "units left", "treats", "asked", "verdict"]]
    for one in study.standby:
        asked = (
            f"{LEAST_AERATION_BASINS} basins in all"
            if one.asked is None
            else (f"{100.0 * one.asked:.0f} %")
        )
        rows.append(
            [
                one.process.replace("_", " "),
                str(one.units),
                f"{100.0 * one.carried:.0f} %",
                asked,
                "ok" if one.is_met else "TOO LITTLE",
            ]
        )
    return _table("standby", "", rows)


def _units(name: str, note: str, report: PlantReport, system: System, *, out: bool = True) -> Table:
    """One row a step and rule, at all three flows; the flow the rule is meant for has a star."""
    rows = [["step", "average", "busiest", "peak", "rule", "verdict"]]
    there = [row for row in report.rows if (row.out > 0) == out]
    for row in there:
        if row.judged:
            # A rule for the peak hour stands in a row of its own, of the same measure.
            values = {
                one.at: one for one in there if (one.process, one.what) == (row.process, row.what)
            }
            rows.append(
                [
                    f"{row.process.replace('_', ' ')}, {row.what}",
                    *(_value(values[at], system) + ("*" if at == row.at else "") for at in AT),
                    _rule(row, system),
                    _mark(row),
                ]
            )
    return _table(name, note, rows)


def _rule(row: UnitRow, system: System) -> str:
    """The rule in the unit of the value beside it; as printed where it has none."""
    if row.low is None and row.high is None:
        return row.rule.split(" (")[0]
    low, high = (None if end is None else _amount(end, row, system) for end in (row.low, row.high))
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


def _mark(row: UnitRow) -> str:
    return {
        "within": "ok",
        "over": "TOO SMALL",
        "slow": "slow, no harm",
        "no unit left": "NONE LEFT",
    }.get(row.verdict, "")


def _value(row: UnitRow, system: System) -> str:
    """A number in the unit of its rule; with its unit where the rule stands as it was printed."""
    if row.value is None:
        return "-"
    amount = _amount(row.value, row, system)
    return amount if row.low is None and row.high is None else amount.split(" ")[0]


def _amount(value: float, row: UnitRow, system: System) -> str:
    """A number in the unit in which a row is shown, the same for value and rule."""
    if row.unit == "d":
        return _time(value, max(end for end in (row.low, row.high, 0.0) if end is not None))
    if row.unit == "m/d":
        if system == "metric":
            return f"{value:.3g} m/day"
        if row.what == "filter rate":
            return f"{value / in_held_units('gpm/ft2'):.3g} gpm/ft2"
        return f"{value / in_held_units('gpd/ft2'):,.0f} gpd/ft2"
    if row.unit == "m3/m/d":
        if system == "metric":
            return f"{value:.3g} m3/m/day"
        return f"{value / in_held_units('gpd/ft'):,.0f} gpd/ft"
    return f"{value:.3g}"


def _time(value: float, rule: float) -> str:
    """A time [d] in the unit that suits the rule it is held to."""
    for unit, size in (("s", 86400.0), ("min", 1440.0)):
        if rule * size < 121.0:
            return f"{value * size:.3g} {unit}"
    return f"{value * 24.0:.3g} h"
