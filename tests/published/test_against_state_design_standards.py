"""Design standards of water works, as states and textbooks print them.

The table of `hydroloop.plants.standards` is held, in metres and days, against the printed numbers
and units; conversions of our own below. State rules that adopt the Ten States wording: 35 Ill. Adm.
Code 604 (IL) and 370, Wis. NR 811, Minn. R. 4720, 15A NCAC 18C, Utah R309-525-12, Wyo. ch. 11 s.
17(f), Okla. 252:656-17, 10 CSR 20-8, 30 TAC 217, 40 CFR 35 and 133.102; TM 5-814-3; Lin 2007;
Metcalf & Eddy as given on an exam page or from memory. All are rules: the number itself is what
was printed.
"""

from __future__ import annotations

from operator_units import FT, GAL, GPD_FT, GPD_FT2, GPM_FT2, HOUR, MINUTE
from published_checks import Check, half

from hydroloop.plants.standards import STANDARDS, standard

PER_UNIT = {
    "s": MINUTE / 60,
    "min": MINUTE,
    "h": HOUR,
    "ft/min": FT / MINUTE,
    "ft/s": 60 * FT / MINUTE,
    "gpm/ft2": GPM_FT2,
    "gpd/ft2": GPD_FT2,
    "gpd/ft": GPD_FT,
    "gal/ft2": GAL / FT**2,
    "gal/cap/d": GAL,
    "%": 0.01,
    "mg/L": 1.0,
    "-": 1.0,
}
IL, WI, MN, NC = "35 Ill. Adm. Code 604", "Wis. NR 811", "Minn. R. 4720", "15A NCAC 18C"
WY, OK, TM = "Wyo. ch. 11 s. 17(f)", "Okla. 252:656-17-2(b)", "TM 5-814-3"
MO, CFR = "10 CSR 20-8.190(3)(A)", "40 CFR 133.102"
PAPER, LIN = "paper on filter run volumes, 5,000-10,000 gal/ft2 (abstract)", "Lin 2007"
ME, EXAM = "Metcalf & Eddy 4th ed.", "Metcalf & Eddy 4th ed., as given on an exam page"
MOP = "exam key after WEF MOP 8, as given in TPO January 2021"
FINAL = "teaching page on final effluent, 350-700 gpd/ft2"

# Source; step, what, condition, flow it is meant for; low and high as printed; unit; how known.
TABLE = (
    (
        f"{WI}.47(7)(b)1",
        "rapid_mix",
        "detention",
        "velocity gradient of 750 /s or more",
        None,
        None,
        "30",
        "s",
        "read",
    ),
    (f"{WI}.47(7)(a)4", "presedimentation", "detention", "", None, "3", None, "h", "read"),
    (
        f"{IL}.510(c), Utah R309-525-12",
        "flocculation",
        "detention",
        "",
        None,
        "30",
        None,
        "min",
        "read",
    ),
    (f"{NC} .0703(b)", "flocculation", "detention", "mechanical", None, "20", None, "min", "read"),
    (f"{NC} .0704(a)", "flocculation", "detention", "baffled", None, "25", None, "min", "read"),
    (f"{IL}.510", "flocculation", "velocity", "", None, "0.5", "1.5", "ft/min", "read"),
    (
        f"{IL}.510(g)",
        "flocculation",
        "velocity",
        "pipe to settling",
        None,
        "0.5",
        "1.5",
        "ft/s",
        "read",
    ),
    (f"{IL}.515(a)", "sedimentation", "detention", "", None, "4", None, "h", "read"),
    (
        f"{IL}.515(a)",
        "sedimentation",
        "detention",
        "lime softening of groundwater",
        None,
        "2",
        None,
        "h",
        "read",
    ),
    (
        f"{IL}.515(a)",
        "sedimentation",
        "overflow rate",
        "in place of the detention time",
        None,
        None,
        "0.5",
        "gpm/ft2",
        "read",
    ),
    (f"{IL}.515(d)(1)", "sedimentation", "weir load", "", None, None, "20000", "gpd/ft", "read"),
    (f"{IL}.515(c)", "sedimentation", "velocity", "", None, None, "0.5", "ft/min", "read"),
    (f"{MN}.3935", "sedimentation", "velocity", "Minnesota", None, None, "1", "ft/min", "read"),
    (f"{IL}.605(b)", "filters", "filter rate", "single", None, None, "3", "gpm/ft2", "read"),
    (f"{IL}.605(b)", "filters", "filter rate", "multi", None, None, "5", "gpm/ft2", "read"),
    (
        f"{NC} .0708(a)",
        "filters",
        "filter rate",
        "North Carolina, single",
        None,
        None,
        "2",
        "gpm/ft2",
        "read",
    ),
    (
        f"{NC} .0708(a)",
        "filters",
        "filter rate",
        "North Carolina, multi",
        None,
        None,
        "4",
        "gpm/ft2",
        "read",
    ),
    (
        f"{MN}.3947 subp. 4",
        "filters",
        "filter rate",
        "slow sand",
        None,
        "45",
        "150",
        "gpd/ft2",
        "read",
    ),
    (
        f"{WI}.49(1)(i)8",
        "filters",
        "backwash rate",
        "without air scour",
        None,
        "15",
        None,
        "gpm/ft2",
        "read",
    ),
    (PAPER, "filters", "wash volume", "", None, "100", "200", "gal/ft2", "read"),
    (PAPER, "filters", "run volume", "", None, "5000", "10000", "gal/ft2", "read"),
    (f"{IL}.705(b)", "clearwell", "feed", "chlorinator", None, "5.0", None, "mg/L", "read"),
    (
        f"{IL}.705(b)",
        "clearwell",
        "residual",
        "chlorinator, total",
        None,
        "2.0",
        None,
        "mg/L",
        "read",
    ),
    (
        "35 Ill. Adm. Code 370.310(a)(1)",
        "sewers",
        "flow for each person",
        "new sewers",
        None,
        "100",
        None,
        "gal/cap/d",
        "read",
    ),
    (
        "40 CFR 35.2005(b)(28), 35.2120(c)",
        "sewers",
        "flow for each person",
        "base flow and infiltration",
        None,
        None,
        "120",
        "gal/cap/d",
        "read",
    ),
    (
        "40 CFR 35.2120(b)",
        "sewers",
        "flow for each person",
        "base flow, infiltration and inflow",
        None,
        None,
        "275",
        "gal/cap/d",
        "read",
    ),
    (OK, "primary", "overflow rate", "", "average", None, "1000", "gpd/ft2", "read"),
    (OK, "primary", "overflow rate", "", "peak_hour", None, "1500", "gpd/ft2", "read"),
    (OK, "primary", "removal", "BOD of normal sewage", None, "30", "35", "%", "read"),
    (
        f"{TM} par. 11-2",
        "primary",
        "detention",
        "before activated sludge",
        None,
        "1.5",
        None,
        "h",
        "read",
    ),
    (
        f"{TM} par. 11-2",
        "primary",
        "detention",
        "before other processes",
        None,
        "2.5",
        None,
        "h",
        "read",
    ),
    (MOP, "primary", "detention", "exam key", None, "1.5", "2.5", "h", "second-hand"),
    (MOP, "primary", "sludge of primary settling", "", None, "3", "6", "%", "second-hand"),
    (LIN, "primary", "overflow rate", "textbook", None, "600", "1200", "gpd/ft2", "read"),
    (LIN, "primary", "detention", "textbook", None, "1", "3", "h", "read"),
    (
        WY,
        "final_settling",
        "overflow rate",
        "activated sludge",
        "average",
        None,
        "600",
        "gpd/ft2",
        "read",
    ),
    (
        WY,
        "final_settling",
        "overflow rate",
        "activated sludge",
        "peak_hour",
        None,
        "1200",
        "gpd/ft2",
        "read",
    ),
    (
        WY,
        "final_settling",
        "overflow rate",
        "separate nitrification",
        "average",
        None,
        "400",
        "gpd/ft2",
        "read",
    ),
    (
        WY,
        "final_settling",
        "overflow rate",
        "separate nitrification",
        "peak_hour",
        None,
        "800",
        "gpd/ft2",
        "read",
    ),
    (
        WY,
        "final_settling",
        "overflow rate",
        "trickling filter or contactor",
        "average",
        None,
        "800",
        "gpd/ft2",
        "read",
    ),
    (
        WY,
        "final_settling",
        "overflow rate",
        "trickling filter or contactor",
        "peak_hour",
        None,
        "1200",
        "gpd/ft2",
        "read",
    ),
    (ME, "final_settling", "detention", "", None, "2", "3", "h", "memory"),
    (
        FINAL,
        "final_settling",
        "overflow rate",
        "after extended aeration",
        None,
        "350",
        "700",
        "gpd/ft2",
        "read",
    ),
    (EXAM, "aeration", "detention", "conventional", None, "4", "8", "h", "second-hand"),
    (f"{TM} par. 13-2d", "aeration", "detention", "completely mixed", None, "3", "6", "h", "read"),
    (
        f"{TM} par. 13-2c",
        "aeration",
        "detention",
        "contact stabilisation",
        None,
        "3",
        "8",
        "h",
        "read",
    ),
    (
        ME,
        "aeration",
        "detention",
        "extended aeration, older editions",
        None,
        "18",
        "36",
        "h",
        "memory",
    ),
    (
        ME,
        "aeration",
        "detention",
        "extended aeration, later editions",
        None,
        "20",
        "30",
        "h",
        "memory",
    ),
    (MO, "contact", "detention", "", None, "15", None, "min", "read"),
    ("30 TAC 217.281(b)(1)", "contact", "detention", "Texas", None, "20", None, "min", "read"),
    (CFR, "outfall", "BOD5", "30-day mean", None, None, "30", "mg/L", "read"),
    (CFR, "outfall", "BOD5", "7-day mean", None, None, "45", "mg/L", "read"),
    (CFR, "outfall", "suspended solids", "30-day mean", None, None, "30", "mg/L", "read"),
    (CFR, "outfall", "suspended solids", "7-day mean", None, None, "45", "mg/L", "read"),
    (CFR, "outfall", "removal", "BOD5 and suspended solids", None, "85", None, "%", "read"),
    (CFR, "outfall", "pH", "", None, "6.0", "9.0", "-", "read"),
)


def rows():
    for source, process, what, condition, at, low, high, unit, known in TABLE:
        for end, printed in (("held_low", low), ("held_high", high)):
            if printed is None:
                continue
            name = f"{process}, {what} {condition} {at or ''}, {end.removeprefix('held_')} end"
            yield Check(
                source,
                " ".join(name.split()),
                float(printed),
                1e-9 * float(printed),
                lambda p=process, w=what, c=condition, a=at, e=end, u=unit: (
                    getattr(standard(p, w, c, a), e) / PER_UNIT[u]
                ),
                unit,
                known,
            )


SETTLING = standard("sedimentation", "overflow rate", "in place of the detention time")

CONSTANTS: list[Check] = [
    *rows(),
    Check(
        f"{IL}.515(a), the same in other units",
        "settling overflow rate",
        720,
        half("720"),
        lambda: SETTLING.held_high / GPD_FT2,
        "gpd/ft2",
    ),
    Check(
        f"{IL}.515(a), the same in other units",
        "settling overflow rate",
        29.3,
        half("29.3"),
        lambda: SETTLING.held_high,
        "m/d",
    ),
    Check(
        f"{IL}.515(d)(1), the same in other units",
        "outlet weir load",
        248,
        half("248"),
        lambda: standard("sedimentation", "weir load").held_high,
        "m3/m/d",
    ),
    Check(
        f"{PAPER}, run of 5,000 gal/ft2",
        "hours at 5 gpm/ft2",
        16,
        0.7,  # 16.7, printed as 16
        lambda: standard("filters", "run volume").held_low / (5 * GPM_FT2) / HOUR,
        "h",
    ),
    Check(
        f"{PAPER}, run of 10,000 gal/ft2",
        "hours at 5 gpm/ft2",
        33,
        half("33"),
        lambda: standard("filters", "run volume").held_high / (5 * GPM_FT2) / HOUR,
        "h",
    ),
]


def test_constants_as_printed():
    """What the program keeps is what was printed."""
    for one in CONSTANTS:
        one.holds()


def test_no_standard_is_without_a_printed_row():
    """The program has no standard, and no end of one, that is not in this table."""
    held = sum((one.low is not None) + (one.high is not None) for one in STANDARDS)
    assert len(STANDARDS) == len(TABLE)
    assert held == len(list(rows()))


def test_how_each_is_known_agrees():
    """A standard says that it is from memory or second-hand where its row does."""
    for _, process, what, condition, at, *_, known in TABLE:
        assert standard(process, what, condition, at).known == known
