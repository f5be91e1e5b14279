"""Limits for tests on tap water: 40 CFR 141 and 143, 30 TAC 290, US PHS 2015.

Limits as printed; some federal rules were read where a state repeats them (COMAR 26.04.01.23, 179
NAC 16). mg/L but turbidity (NTU) and pH.
"""

from __future__ import annotations

from published_checks import Check

from hydroloop.plants.tap_limits import LIMITS, limits_of

# Source; test, kind, low and high as printed; words that tell it from others of that test.
TABLE = (
    ("40 CFR 141.65, as COMAR 26.04.01.23", "free chlorine", "legal", None, 4.0, "year"),
    ("40 CFR 141.65, as COMAR 26.04.01.23", "chloramines", "legal", None, 4.0, ""),
    ("40 CFR 141.65, as COMAR 26.04.01.23", "chlorine dioxide", "legal", None, 0.8, ""),
    ("40 CFR 141.72(a)(3), (b)(2)", "free chlorine", "legal", 0.2, None, "4 h"),
    ("30 TAC 290.110(b)(2), (4)", "free chlorine", "legal", 0.2, None, "far end"),
    ("30 TAC 290.110(b)(2), (4)", "total chlorine", "legal", 0.5, None, ""),
    ("40 CFR 141.173/.551, as 179 NAC 16 Att. 2", "turbidity", "legal", None, 0.3, "95 %"),
    ("40 CFR 141.173/.551, as 179 NAC 16 Att. 2", "turbidity", "legal", None, 1.0, "any"),
    ("40 CFR 143.3", "iron", "recommended", None, 0.3, ""),
    ("40 CFR 143.3", "manganese", "recommended", None, 0.05, ""),
    (
        "WHO 2021, as Rahman et al. 2023, ACS ES&T Water 3:1425",
        "manganese",
        "health",
        None,
        0.08,
        "tap",
    ),
    ("US EPA 2004, as AWWA's page for consumers", "manganese", "health", None, 0.3, "lifetime"),
    ("40 CFR 143.3", "pH", "recommended", 6.5, 8.5, ""),
    ("40 CFR 143.3", "dissolved solids", "recommended", None, 500, ""),
    ("40 CFR 143.3", "chloride", "recommended", None, 250, ""),
    ("40 CFR 143.3", "sulfate", "recommended", None, 250, ""),
    ("40 CFR 143.3", "aluminium", "recommended", None, 0.2, "0.05"),
    ("40 CFR 143.3", "fluoride", "recommended", None, 2.0, "tap"),
    ("40 CFR 141.62(b)(1)", "fluoride", "legal", None, 4.0, ""),
    ("US PHS 2015, 80 FR 24936", "fluoride", "recommended", None, 0.7, "optimum"),
    ("40 CFR 141.64", "trihalomethanes", "legal", None, 0.080, ""),
    ("40 CFR 141.64", "haloacetic acids", "legal", None, 0.060, ""),
    ("40 CFR 141.64", "bromate", "legal", None, 0.010, ""),
    ("40 CFR 141.64", "chlorite", "legal", None, 1.0, ""),
    ("40 CFR 141.62", "nitrate", "legal", None, 10, ""),
)


def held(test, kind, words, printed, end):
    """The one limit of that test and kind whose words and source fit."""
    fitting = [
        one
        for one in limits_of(test)
        if one.kind == kind and words in one.where and getattr(one, end) is not None
    ]
    if len(fitting) > 1:  # fluoride has an optimum and a limit for taste
        fitting = [one for one in fitting if "optimum" not in one.where] or fitting
    assert fitting, f"no limit for {test} ({printed})"
    return getattr(fitting[0], end)


CONSTANTS: list[Check] = [
    Check(
        source,
        f"{test}, {kind}, {end} {words}".strip(),
        float(printed),
        0,
        lambda t=test, k=kind, w=words, p=printed, e=end: held(t, k, w, p, e),
        {"turbidity": "NTU", "pH": "-"}.get(test, "mg/L"),
    )
    for source, test, kind, low, high, words in TABLE
    for end, printed in (("low", low), ("high", high))
    if printed is not None
]


def test_constants_as_printed():
    """What the program keeps is what was printed."""
    for one in CONSTANTS:
        one.holds()


def test_no_limit_is_without_a_printed_row():
    """The program has no limit that is not in this table."""
    assert len(LIMITS) == len(TABLE)
