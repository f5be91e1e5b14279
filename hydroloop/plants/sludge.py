"""Sludge: what settles out, how much it weighs, and how much water goes with it."""

from __future__ import annotations

from hydroloop.arguments import DOSE, MOISTURE, NOT_NEGATIVE, POSITIVE, SHARE, Values, bounded

ALUM_HYDROXIDE_SHARE = 2.0 * 78.0 / 666.0
"""Aluminium hydroxide from a gram of alum: two of 78 g from one of 666 g [g/g]."""

WORKS_ALUM_SHARE = 0.44
"""Dry solids from a gram of works alum, bound water included (Cornwell; Lang 1985) [g/g]."""

_LITRES_A_M3, _GRAMS_A_KG = 1000.0, 1000.0


@bounded(alum_mg_per_l=DOSE, solids_removed_mg_per_l=DOSE, hydroxide_share=SHARE)
def alum_solids_mg_per_l(
    alum_mg_per_l: Values, solids_removed_mg_per_l: Values,
    hydroxide_share: Values = ALUM_HYDROXIDE_SHARE,
) -> Values:  # fmt: skip
    """Dry solids of alum treatment [mg/L].

    Mud that settles is the river's own solids and the flocs that alum makes.
    Bound water and other metals come on top: `sludge_solids` counts them.

    Parameters
    ----------
    alum_mg_per_l : float, or array of any shape
        Alum dosed [mg/L]
    solids_removed_mg_per_l : float, or array of any shape
        Suspended solids taken out [mg/L]
    hydroxide_share : float, or array of any shape
        Solids made by a gram of alum [g/g]

    Returns
    -------
    float, or array of that shape
        Dry solids in each litre treated [mg/L]

    Notes
    -----
    S = 0.234 alum + SS removed; 0.234 = 2 x 78 / 666.

    References
    ----------
    Stoichiometry of alum as given on a question page on alum sludge.

    Examples
    --------
    >>> round(alum_solids_mg_per_l(18.0, 28.0), 1)
    32.2
    """
    return hydroxide_share * alum_mg_per_l + solids_removed_mg_per_l


@bounded(flow=NOT_NEGATIVE, alum_mg_per_l=DOSE, suspended_mg_per_l=DOSE, added_mg_per_l=DOSE)
def alum_sludge(
    flow: Values, alum_mg_per_l: Values, suspended_mg_per_l: Values, added_mg_per_l: Values = 0.0
) -> Values:
    """Dry solids of alum treatment in a day [kg/d].

    The plant's daily catch, dry.
    A rule for planning; sludge of a real plant is weighed.

    Parameters
    ----------
    flow : float, or array of any shape
        Water treated [m3/d]
    alum_mg_per_l : float, or array of any shape
        Works alum dosed [mg/L]
    suspended_mg_per_l : float, or array of any shape
        Suspended solids of the raw water [mg/L]
    added_mg_per_l : float, or array of any shape
        Other chemicals that settle, such as carbon or polymer [mg/L]

    Returns
    -------
    float, or array of that shape
        Dry solids [kg/d]

    Notes
    -----
    S = Q (0.44 alum + SS + A) / 1000. In pounds and mgd the factor is 8.34.

    References
    ----------
    Cornwell et al., water-treatment sludge, AWWA (from memory).

    Examples
    --------
    >>> alum_sludge(1000.0, 50.0, 20.0)
    42.0
    """
    total = WORKS_ALUM_SHARE * alum_mg_per_l + suspended_mg_per_l + added_mg_per_l
    return flow * total / _GRAMS_A_KG


@bounded(
    flow=NOT_NEGATIVE, calcium=DOSE, magnesium=DOSE, alum=DOSE, iron=DOSE, suspended=DOSE,
    added=DOSE,
)
def sludge_solids(
    flow: Values, *, calcium: Values = 0.0, magnesium: Values = 0.0, alum: Values = 0.0,
    iron: Values = 0.0, suspended: Values = 0.0, added: Values = 0.0,
) -> Values:  # fmt: skip
    """Dry solids of coagulation and softening, with bound water [kg/d].

    Every chemical that settles has its own weight of sludge.
    A rule for planning; one reprint has 84.4 for 86.4, a misprint.

    Parameters
    ----------
    flow : float, or array of any shape
        Water treated [m3/d]
    calcium, magnesium : float, or array of any shape
        Hardness removed, as calcium and as magnesium [mg/L]
    alum, iron : float, or array of any shape
        Alum dosed, and iron dosed as Fe [mg/L]
    suspended, added : float, or array of any shape
        Suspended solids removed, and other chemicals [mg/L]

    Returns
    -------
    float, or array of that shape
        Dry solids [kg/d]

    Notes
    -----
    S = Q (2 Ca + 2.6 Mg + 0.44 Al + 1.9 Fe + SS + Ax) / 1000, Q in m3/d, the rest in mg/L. The
    print has Q in m3/s and 86.4 in front.

    References
    ----------
    Lang et al. 1985, eq. 9.1, as reprinted in a later handbook.

    Examples
    --------
    >>> sludge_solids(86400.0, suspended=10.0)
    864.0
    """
    total = (
        2.0 * calcium + 2.6 * magnesium + WORKS_ALUM_SHARE * alum + 1.9 * iron + suspended + added
    )
    return flow * total / _GRAMS_A_KG


@bounded(flow=NOT_NEGATIVE, suspended_mg_per_l=DOSE, removed_share=SHARE)
def solids_removed(flow: Values, suspended_mg_per_l: Values, removed_share: Values) -> Values:
    """Dry solids that a settling step takes out in a day [kg/d].

    What comes in with the flow, times the part that settles.
    The part falls when the tank is overloaded.

    Parameters
    ----------
    flow : float, or array of any shape
        Flow [m3/d]
    suspended_mg_per_l : float, or array of any shape
        Suspended solids in it [mg/L]
    removed_share : float, or array of any shape
        Part of them that settles [-]

    Returns
    -------
    float, or array of that shape
        Dry solids [kg/d]

    Notes
    -----
    S = Q SS share / 1000.

    Examples
    --------
    >>> solids_removed(20000.0, 300.0, 0.7)
    4200.0
    """
    return flow * suspended_mg_per_l * removed_share / _GRAMS_A_KG


@bounded(dry_solids_kg=NOT_NEGATIVE, moisture=MOISTURE)
def water_in_sludge(dry_solids_kg: Values, moisture: Values) -> Values:
    """Water that leaves with sludge [m3].

    Sludge is mostly water: at 95 % moisture nineteen parts of twenty.
    Thickening and drying give most of it back.

    Parameters
    ----------
    dry_solids_kg : float, or array of any shape
        Dry solids [kg]
    moisture : float, or array of any shape
        Share of the wet sludge, by weight, that is water; below 1 [-]

    Returns
    -------
    float, or array of that shape
        Water [m3]

    Notes
    -----
    W = S m / (1 - m) / 1000, water at 1,000 kg/m3.

    Examples
    --------
    >>> round(water_in_sludge(4200.0, 0.95), 3)
    79.8
    """
    return dry_solids_kg * moisture / (1.0 - moisture) / _LITRES_A_M3


@bounded(before_mg_per_l=POSITIVE, after_mg_per_l=DOSE)
def removed_share(before_mg_per_l: Values, after_mg_per_l: Values) -> Values:
    """Share removed [-].

    How much of what came in a step keeps back.
    Of the same water, before and after: a mean over many samples hides bad days.

    Parameters
    ----------
    before_mg_per_l, after_mg_per_l : float, or array of any shape
        Concentration before (above zero) and after [mg/L]

    Returns
    -------
    float, or array of that shape
        Share [-]

    Notes
    -----
    r = 1 - after / before.

    Examples
    --------
    >>> removed_share(40.0, 10.0)
    0.75
    """
    return 1.0 - after_mg_per_l / before_mg_per_l
