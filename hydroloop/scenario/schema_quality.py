"""What a user may write of the materials that water carries, for the separation table."""

from __future__ import annotations

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Number, Share


class Quality(Part):
    """Materials in the water, in mg/L (the same as g/m3), and what each step takes out."""

    salt_mg_per_l: Number = key(
        150.0,
        "dissolved salt in river water at the head",
        usual=(20, 800),
        source="common practice; 40 CFR 143.3: at most 500 mg/L in drinking water",
    )
    salt_per_use_mg_per_l: Number = key(
        265.0,
        "dissolved salt that water gains by one use",
        usual=(150, 380),
        source="Metcalf & Eddy, Table 7-17 (as reprinted): 150 to 380 mg/L for domestic use",
    )
    particles_mg_per_l: Number = key(
        67.0,
        "particles (suspended solids) in river water at the head",
        usual=(1, 500),
        source="Smith, Alexander & Wolman 1987, Science 235:1607 (from memory): median of 276 US "
        "river stations 67 mg/L, quartiles 26 and 193",
    )
    settled: Share = key(
        "93 %",
        "share of the particles that sedimentation catches",
        usual=("60 %", "98 %"),
        source="US EPA 1998, EPA 625/6-91/027, Optimizing Water Treatment Plant Performance (from "
        "memory): settled water at most 2 NTU; from 30 NTU that is 93 %",
    )
    filtered: Share = key(
        "95 %",
        "share of what is left that the filters catch",
        usual=("80 %", "99.9 %"),
        source="the same handbook (from memory): filtered water at most 0.1 NTU; from 2 NTU that "
        "is 95 %",
    )
    alum_mg_per_l: Number = key(
        18.0,
        "dose of alum",
        usual=(5, 60),
        source="a worked example of alum sludge (question page): 18 mg/L",
    )
    iron_mg_per_l: Number = key(
        0.7,
        "iron in river water at the head",
        usual=(0.01, 10),
        source="WHO Guidelines for Drinking-water Quality, iron (from memory): median of rivers "
        "0.7 mg/L; NHMRC, Australian Drinking Water Guidelines, iron: under 1 mg/L in clean "
        "surface water; wells may hold much more",
    )
    iron_removed: Share = key(
        "86 %",
        "share of the iron that settling and filters catch",
        usual=("40 %", "99 %"),
        source="NHMRC, Australian Drinking Water Guidelines, iron: about 0.1 mg/L at a typical "
        "tap; from 0.7 mg/L that is 86 %",
    )
    manganese_mg_per_l: Number = key(
        0.016,
        "manganese in river water at the head",
        usual=(0.001, 0.2),
        source="USGS, as quoted in a teaching sheet: median of US rivers about 0.016 mg/L; fresh "
        "water 0.001 to 0.2 mg/L; wells may hold much more",
    )
    manganese_removed: Share = key(
        "71 %",
        "share of the manganese that oxidation, settling and filters catch",
        usual=("10 %", "99 %"),
        source="Eng. Proc. 2023, 55, 59: 71 % with permanganate and settling, 29 % with chlorine "
        "dioxide, 12 % with hypochlorite; Tobiason et al. 2016, Current Pollution Reports 2: "
        "plants aim below 0.02 mg/L",
    )
    chlorine_decay_per_day: Number = key(
        0.55,
        "first-order decay of chlorine in clearwell, tanks and mains at 20 C, per day; it "
        "doubles from 10 to 20 C",
        usual=(0.1, 3),
        source="Rossman et al. 1994, J. Environmental Engineering 120:803 (from "
        "memory): 0.55 a day, taken at 20 C; 0.1 to over 1 in the literature; exp(-6050/T) with "
        "temperature (from memory)",
    )
    fluoride_mg_per_l: Number = key(
        0.2, "fluoride in river water", usual=(0, 4), source="common practice"
    )
    fluoride_target_mg_per_l: Number = key(
        0.7,
        "fluoride that is aimed at in the mains",
        usual=(0, 1.2),
        source="U.S. Public Health Service 2015, 80 FR 24936: 0.7 mg/L",
    )
    solids_per_use_mg_per_l: Number = key(
        240.0,
        "suspended solids that water gains by one use",
        usual=(100, 450),
        source="0.20 lb a person and day (exam study guide) in 100 gal: 240 mg/L",
    )
    primary_removal: Share = key(
        "55 %",
        "share of the solids that primary settling catches",
        usual=("40 %", "70 %"),
        source="Lin 2007, Water and Wastewater Calculations Manual: 50 to 60 %",
    )
    secondary_removal: Share = key(
        "80 %",
        "share of what is left that aeration and final settling catch",
        usual=("60 %", "95 %"),
        source="40 CFR 133.102: at least 85 % in all; 55 % and 80 % make 91 %",
    )
