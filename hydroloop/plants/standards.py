"""Published design standards of water works: what a basin, weir or filter should be built for.

State rules that adopt the wording of the Ten States standards were read; they differ from state to
state, and the local code comes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from hydroloop.errors import AskError, Problem
from hydroloop.units.words import WORDS

At = Literal["average", "maximum_day", "peak_hour"]

HELD = {
    "detention": "d", "overflow rate": "m/d", "weir load": "m3/m/d", "filter rate": "m/d",
    "velocity": "m/d", "backwash rate": "m/d", "wash volume": "m3/m2", "run volume": "m3/m2",
    "flow for each person": "m3/person/d", "removal": "-", "solids": "-", "recycle": "-",
    "feed": "mg/L", "residual": "mg/L", "BOD5": "mg/L", "suspended solids": "mg/L", "pH": "-",
    "storage": "d", "sludge of primary settling": "-",
}  # fmt: skip # a table, read row by row
"""Unit in which each kind of standard is held."""


@dataclass(frozen=True)
class Standard:
    """A published design standard.

    Attributes
    ----------
    process : str
        Unit process: ``"sedimentation"``.
    what : str
        What is limited: ``"detention"``, ``"overflow rate"``.
    low, high : float or None
        Ends of what is allowed, as printed; None where there is none.
    unit : str
        Unit as printed.
    source : str
        Rule or book; "from memory" or "as given in" where the original was not seen.
    condition : str
        For which plants it holds; empty for all.
    at : str
        Flow it is meant for: average, maximum_day or peak_hour.
    known : str
        "read", "second-hand" or "memory".
    """

    process: str
    what: str
    low: float | None
    high: float | None
    unit: str
    source: str
    condition: str = ""
    at: At = "maximum_day"
    known: str = "read"

    @property
    def held_low(self) -> float | None:
        """Low end in the held unit of its kind."""
        return None if self.low is None else self.low * in_held_units(self.unit)

    @property
    def held_high(self) -> float | None:
        """High end in the held unit of its kind."""
        return None if self.high is None else self.high * in_held_units(self.unit)

    @property
    def printed(self) -> str:
        """The limit as people write it: ``at most 20,000 gpd/ft``."""
        unit = "" if self.unit == "-" else f" {self.unit}"
        if self.low is not None and self.high is not None:
            if self.low == self.high:
                return f"{self.low:,g}{unit}"
            return f"{self.low:,g} to {self.high:,g}{unit}"
        if self.low is not None:
            return f"at least {self.low:,g}{unit}"
        return f"at most {self.high:,g}{unit}"


@lru_cache(maxsize=64)
def in_held_units(unit: str) -> float:
    """Size of a printed unit, such as `gpm/ft2`, in metres, days and people; concentrations and
    plain numbers count as they are."""
    if unit in ("-", "mg/L"):
        return 1.0
    first, *below = unit.split("/")
    size = _word(first)
    for word in below:
        size /= _word(word)
    return size


def _word(word: str) -> float:
    power = int(word[-1]) if word[-1].isdigit() else 1
    return float(WORDS[word.rstrip("23")][0]) ** power


_IL, _IL_WW, _MN = "35 Ill. Adm. Code 604", "35 Ill. Adm. Code 370", "Minn. R. 4720"
_NC, _WY_WW, _OK = "15A NCAC 18C", "Wyo. Water Quality Rules ch. 11 s. 17(f)", "Okla. 252:656-17"
_TM, _ME = "US Army 1988, TM 5-814-3", "Metcalf & Eddy"

STANDARDS: tuple[Standard, ...] = (
    Standard("rapid_mix", "detention", None, 30, "s", "Wis. NR 811.47(7)(b)1",
             "velocity gradient of 750 /s or more"),
    Standard("presedimentation", "detention", 3, None, "h", "Wis. NR 811.47(7)(a)4"),
    Standard("flocculation", "detention", 30, None, "min", f"{_IL}.510(c); Utah R309-525-12"),
    Standard("flocculation", "detention", 20, None, "min", f"{_NC} .0703(b)", "mechanical"),
    Standard("flocculation", "detention", 25, None, "min", f"{_NC} .0704(a)", "baffled"),
    Standard("flocculation", "velocity", 0.5, 1.5, "ft/min", f"{_IL}.510"),
    Standard("flocculation", "velocity", 0.5, 1.5, "ft/s", f"{_IL}.510(g)", "pipe to settling"),
    Standard("sedimentation", "detention", 4, None, "h",
             f"{_IL}.515(a); {_MN}.3935; {_NC} .0706(b)"),
    Standard("sedimentation", "detention", 2, None, "h", f"{_IL}.515(a)",
             "lime softening of groundwater"),
    Standard("sedimentation", "overflow rate", None, 0.5, "gpm/ft2", f"{_IL}.515(a)",
             "in place of the detention time"),
    Standard("sedimentation", "weir load", None, 20_000, "gpd/ft",
             f"{_IL}.515(d)(1); Minnesota; North Carolina"),
    Standard("sedimentation", "velocity", None, 0.5, "ft/min", f"{_IL}.515(c)"),
    Standard("sedimentation", "velocity", None, 1, "ft/min", f"{_MN}.3935", "Minnesota"),
    Standard("filters", "filter rate", None, 3, "gpm/ft2", f"{_IL}.605(b)", "single"),
    Standard("filters", "filter rate", None, 5, "gpm/ft2", f"{_IL}.605(b)", "multi"),
    Standard("filters", "filter rate", None, 2, "gpm/ft2", f"{_NC} .0708(a)",
             "North Carolina, single"),
    Standard("filters", "filter rate", None, 4, "gpm/ft2", f"{_NC} .0708(a)",
             "North Carolina, multi"),
    Standard("filters", "filter rate", 45, 150, "gpd/ft2", f"{_MN}.3947 subp. 4", "slow sand"),
    Standard("filters", "backwash rate", 15, None, "gpm/ft2", "Wis. NR 811.49(1)(i)8",
             "without air scour"),
    Standard("filters", "wash volume", 100, 200, "gal/ft2",
             "a paper on filter run volumes (abstract)"),
    Standard("filters", "run volume", 5_000, 10_000, "gal/ft2",
             "a paper on filter run volumes (abstract)"),
    Standard("clearwell", "feed", 5.0, None, "mg/L", f"{_IL}.705(b)", "chlorinator"),
    Standard("clearwell", "residual", 2.0, None, "mg/L", f"{_IL}.705(b)", "chlorinator, total"),
    Standard("sewers", "flow for each person", 100, None, "gal/cap/d", f"{_IL_WW}.310(a)(1)",
             "new sewers", "average"),
    Standard("sewers", "flow for each person", None, 120, "gal/cap/d",
             "40 CFR 35.2005(b)(28), 35.2120(c)", "base flow and infiltration", "average"),
    Standard("sewers", "flow for each person", None, 275, "gal/cap/d", "40 CFR 35.2120(b)",
             "base flow, infiltration and inflow"),
    Standard("primary", "overflow rate", None, 1_000, "gpd/ft2", f"{_OK}-2(b)", "", "average"),
    Standard("primary", "overflow rate", None, 1_500, "gpd/ft2", f"{_OK}-2(b)", "", "peak_hour"),
    Standard("primary", "removal", 30, 35, "%", f"{_OK}-2(b)", "BOD of normal sewage", "average"),
    Standard("primary", "detention", 1.5, 2.5, "h", "exam key after WEF MOP 8, as given in "
             "Treatment Plant Operator, Jan 2021", "exam key", "average", "second-hand"),
    Standard("primary", "sludge of primary settling", 3, 6, "%", "exam key after WEF MOP 8, as "
             "given in Treatment Plant Operator, Jan 2021", "", "average", "second-hand"),
    Standard("primary", "detention", 1.5, None, "h", f"{_TM} par. 11-2", "before activated sludge",
             "average"),
    Standard("primary", "detention", 2.5, None, "h", f"{_TM} par. 11-2", "before other processes",
             "average"),
    Standard("primary", "overflow rate", 600, 1_200, "gpd/ft2", "Lin 2007", "textbook", "average"),
    Standard("primary", "detention", 1, 3, "h", "Lin 2007", "textbook", "average"),
    Standard("final_settling", "overflow rate", None, 600, "gpd/ft2", _WY_WW, "activated sludge",
             "average"),
    Standard("final_settling", "overflow rate", None, 1_200, "gpd/ft2", _WY_WW, "activated sludge",
             "peak_hour"),
    Standard("final_settling", "overflow rate", None, 400, "gpd/ft2", _WY_WW,
             "separate nitrification", "average"),
    Standard("final_settling", "overflow rate", None, 800, "gpd/ft2", _WY_WW,
             "separate nitrification", "peak_hour"),
    Standard("final_settling", "overflow rate", None, 800, "gpd/ft2", _WY_WW,
             "trickling filter or contactor", "average"),
    Standard("final_settling", "overflow rate", None, 1_200, "gpd/ft2", _WY_WW,
             "trickling filter or contactor", "peak_hour"),
    Standard("final_settling", "detention", 2, 3, "h", f"{_ME} (from memory)", "", "average",
             "memory"),
    Standard("final_settling", "overflow rate", 350, 700, "gpd/ft2",
             "teaching page on final effluent", "after extended aeration", "average"),
    Standard("aeration", "detention", 4, 8, "h", f"{_ME}, as given on an exam page",
             "conventional", "average", "second-hand"),
    Standard("aeration", "detention", 3, 6, "h", f"{_TM} par. 13-2d", "completely mixed",
             "average"),
    Standard("aeration", "detention", 3, 8, "h", f"{_TM} par. 13-2c", "contact stabilisation",
             "average"),
    Standard("aeration", "detention", 18, 36, "h", f"{_ME} (from memory)",
             "extended aeration, older editions", "average", "memory"),
    Standard("aeration", "detention", 20, 30, "h", f"{_ME} (from memory)",
             "extended aeration, later editions", "average", "memory"),
    Standard("contact", "detention", 15, None, "min",
             "10 CSR 20-8.190(3)(A); Okla. 252:656-21-2(b)(2)(A)", "", "peak_hour"),
    Standard("contact", "detention", 20, None, "min", "30 TAC 217.281(b)(1)", "Texas",
             "peak_hour"),
    Standard("outfall", "BOD5", None, 30, "mg/L", "40 CFR 133.102", "30-day mean", "average"),
    Standard("outfall", "BOD5", None, 45, "mg/L", "40 CFR 133.102", "7-day mean", "average"),
    Standard("outfall", "suspended solids", None, 30, "mg/L", "40 CFR 133.102", "30-day mean",
             "average"),
    Standard("outfall", "suspended solids", None, 45, "mg/L", "40 CFR 133.102", "7-day mean",
             "average"),
    Standard("outfall", "removal", 85, None, "%", "40 CFR 133.102", "BOD5 and suspended solids",
             "average"),
    Standard("outfall", "pH", 6.0, 9.0, "-", "40 CFR 133.102", "", "average"),
)  # fmt: skip # a table, read row by row
"""Every standard of the table, in the order of the water."""


def standard(process: str, what: str, condition: str = "", at: At | None = None) -> Standard:
    """A standard of the table.

    The rule that a report compares a plant with.
    Rules differ from state to state: the local code comes first.

    Parameters
    ----------
    process, what : str
        Unit process, and what is limited
    condition : str
        For which plants; empty for all
    at : str, optional
        Flow it is meant for, where there are several

    Returns
    -------
    Standard
        The first that fits

    Raises
    ------
    AskError
        If there is none; those of the process are listed.

    Examples
    --------
    >>> standard("sedimentation", "weir load").printed
    'at most 20,000 gpd/ft'
    """
    there = [one for one in STANDARDS if one.process == process]
    for one in there:
        if one.what == what and one.condition == condition and at in (None, one.at):
            return one
    known = "; ".join(f"{s.what}{f' ({s.condition})' if s.condition else ''}" for s in there)
    raise AskError(
        Problem(
            "standard",
            f'there is no standard for {what} of {process} under "{condition}".',
            f"There are: {known}."
            if known
            else f"Processes: {', '.join(sorted({one.process for one in STANDARDS}))}.",
        )
    )


FIRES_ABOVE = 50_000 * in_held_units("gpd")
"""Average day above which storage for fires is asked for [m3/d]: see `finished_storage_days`."""


def finished_storage_days(average: float) -> tuple[float, float]:
    """Storage of treated water that a rule asks for, in average and in maximum days [d].

    Tanks carry a town over the evening and over a short stop of the plant.
    Water to fight fires comes on top, above 50,000 gal/d.

    Parameters
    ----------
    average : float
        Average day [m3/d]

    Returns
    -------
    tuple of float
        Days of the average day, and days of the maximum day, one of them zero [d]

    Notes
    -----
    Up to 500,000 gal/d one average day; above, a quarter of the maximum day.

    References
    ----------
    Wyo. Water Quality Rules ch. 12 s. 13(a)(i).

    Examples
    --------
    >>> finished_storage_days(1000.0), finished_storage_days(10000.0)
    ((1.0, 0.0), (0.0, 0.25))
    """
    return (1.0, 0.0) if average <= 500_000 * in_held_units("gpd") else (0.0, 0.25)
