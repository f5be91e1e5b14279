"""What a user may write of the materials that water carries, for the separation table."""

from __future__ import annotations

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Number, Share

_KALVANI = "Kalvani et al. 2021, J. Env. Health Science & Engineering 19:1005 (means of 516 "


class Quality(Part):
    """Materials in the water, in mg/L (the same as g/m3), and what each step takes out."""

    salt_mg_per_l: Number = key(
        150.0, "dissolved salt in river water at the head", usual=(20, 800),
        source="common practice; 40 CFR 143.3: at most 500 mg/L in drinking water",
    )  # fmt: skip
    salt_per_use_mg_per_l: Number = key(
        265.0, "dissolved salt that water gains by one use", usual=(150, 380),
        source="Metcalf & Eddy, Table 7-17 (as reprinted): 150 to 380 mg/L for domestic use",
    )  # fmt: skip
    particles_mg_per_l: Number = key(
        40.0, "particles in river water at the head", usual=(1, 500),
        source="a worked example of alum sludge (question page): suspended solids 40 mg/L",
    )  # fmt: skip
    settled: Share = key(
        "70 %", "share of the particles that sedimentation catches", usual=("40 %", "95 %"),
        source="the same example: 40 to 12 mg/L",
    )  # fmt: skip
    filtered: Share = key(
        "99 %", "share of what is left that the filters catch", usual=("90 %", "99.9 %"),
        source="common practice; 40 CFR 141.173: filtered turbidity at most 0.3 NTU",
    )  # fmt: skip
    alum_mg_per_l: Number = key(
        18.0, "dose of alum", usual=(5, 60), source="the same example: 18 mg/L")
    iron_mg_per_l: Number = key(
        0.93, "iron in raw water", usual=(0, 10), source=f"{_KALVANI}samples): 0.93 mg/L raw")
    iron_removed: Share = key(
        "80.6 %", "share of the iron that oxidation and filters catch", usual=("40 %", "99 %"),
        source=f"{_KALVANI}samples): 0.93 to 0.18 mg/L",
    )  # fmt: skip
    manganese_mg_per_l: Number = key(
        0.24, "manganese in raw water", usual=(0, 3),
        source=f"{_KALVANI}samples): 0.24 mg/L raw",
    )  # fmt: skip
    manganese_removed: Share = key(
        "56.3 %", "share of the manganese that oxidation and filters catch",
        usual=("20 %", "99 %"), source=f"{_KALVANI}samples): 0.24 to 0.105 mg/L",
    )  # fmt: skip
    chlorine_dose_mg_per_l: Number = key(
        2.0, "chlorine dosed where water enters the clearwell", usual=(0.3, 5),
        source="common practice; 40 CFR 141.65: residual at most 4.0 mg/L",
    )  # fmt: skip
    chlorine_decay_per_day: Number = key(
        0.55, "first-order decay of chlorine in clearwell, tanks and mains, per day",
        usual=(0.1, 3), source="Rossman et al. 1994, J. Environmental Engineering 120:803 (from "
        "memory): 0.55 a day; 0.1 to over 1 in the literature",
    )  # fmt: skip
    fluoride_mg_per_l: Number = key(
        0.2, "fluoride in river water", usual=(0, 4), source="common practice")
    fluoride_target_mg_per_l: Number = key(
        0.7, "fluoride that is aimed at in the mains", usual=(0, 1.2),
        source="U.S. Public Health Service 2015, 80 FR 24936: 0.7 mg/L",
    )  # fmt: skip
    solids_per_use_mg_per_l: Number = key(
        240.0, "suspended solids that water gains by one use", usual=(100, 450),
        source="0.20 lb a person and day (exam study guide) in 100 gal: 240 mg/L",
    )  # fmt: skip
    primary_removal: Share = key(
        "55 %", "share of the solids that primary settling catches", usual=("40 %", "70 %"),
        source="Lin 2007, Water and Wastewater Calculations Manual: 50 to 60 %",
    )  # fmt: skip
    secondary_removal: Share = key(
        "80 %", "share of what is left that aeration and final settling catch",
        usual=("60 %", "95 %"), source="40 CFR 133.102: at least 85 % in all; 55 % and 80 % make "
        "91 %",
    )  # fmt: skip
