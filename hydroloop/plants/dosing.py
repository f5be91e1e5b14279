"""Doses: how much of a chemical goes into how much water. Arithmetic for class, never a recipe."""

from __future__ import annotations

from hydroloop.arguments import (
    DOSE,
    GRAVITY,
    NOT_NEGATIVE,
    POSITIVE,
    POSITIVE_SHARE,
    Values,
    bounded,
)

SATURATED_FLUORIDE_MG_PER_L = 18_000.0
"""Fluoride in a saturated solution of sodium fluoride (from memory: 4 g NaF in 100 mL) [mg/L]."""

_GRAMS_A_KG = 1000.0


@bounded(flow=NOT_NEGATIVE, dose_mg_per_l=DOSE)
def feed_for(flow: Values, dose_mg_per_l: Values) -> Values:
    """Chemical fed, or load carried [kg/d].

    A dose is small, but the water is much: milligrams become kilograms.
    Counts the pure chemical; trade products are weaker (`product_for`).

    Parameters
    ----------
    flow : float, or array of any shape
        Flow [m3/d]
    dose_mg_per_l : float, or array of any shape
        Dose, or concentration [mg/L]

    Returns
    -------
    float, or array of that shape
        Mass in a day [kg/d]

    Notes
    -----
    kg/d = m3/d x mg/L / 1000. Operator texts: lb/d = mgd x mg/L x 8.34 (0.065 % less than exact).

    Examples
    --------
    >>> feed_for(1000.0, 4.0)
    4.0
    """
    return flow * dose_mg_per_l / _GRAMS_A_KG


@bounded(volume=NOT_NEGATIVE, dose_mg_per_l=DOSE)
def mass_for(volume: Values, dose_mg_per_l: Values) -> Values:
    """Chemical for a tank or a main [kg].

    What it takes to bring a body of water to a dose once.
    Counts the pure chemical.

    Parameters
    ----------
    volume : float, or array of any shape
        Water [m3]
    dose_mg_per_l : float, or array of any shape
        Dose [mg/L]

    Returns
    -------
    float, or array of that shape
        Mass [kg]

    Notes
    -----
    kg = m3 x mg/L / 1000.

    Examples
    --------
    >>> mass_for(500.0, 20.0)
    10.0
    """
    return volume * dose_mg_per_l / _GRAMS_A_KG


@bounded(feed_kg_per_d=NOT_NEGATIVE, flow=POSITIVE)
def dose_from(feed_kg_per_d: Values, flow: Values) -> Values:
    """Dose from a feed [mg/L].

    What the day's use of a chemical comes to in each litre.
    A mean of the day: flow and feed go up and down.

    Parameters
    ----------
    feed_kg_per_d : float, or array of any shape
        Pure chemical fed in a day [kg/d]
    flow : float, or array of any shape
        Flow, above zero [m3/d]

    Returns
    -------
    float, or array of that shape
        Dose [mg/L]

    Notes
    -----
    mg/L = 1000 kg/d / (m3/d).

    Examples
    --------
    >>> dose_from(4.0, 1000.0)
    4.0
    """
    return _GRAMS_A_KG * feed_kg_per_d / flow


@bounded(chemical_kg=NOT_NEGATIVE, strength=POSITIVE_SHARE)
def product_for(chemical_kg: Values, strength: Values) -> Values:
    """Trade product for an amount of chemical [kg].

    Hypochlorite of 65 % holds 65 g of available chlorine in 100 g.
    Strength falls while a product is stored.

    Parameters
    ----------
    chemical_kg : float, or array of any shape
        Pure chemical wanted [kg]
    strength : float, or array of any shape
        Share of it in the product, above zero [-]

    Returns
    -------
    float, or array of that shape
        Product [kg]

    Notes
    -----
    product = chemical / strength.

    Examples
    --------
    >>> product_for(13.0, 0.65)
    20.0
    """
    return chemical_kg / strength


@bounded(volume=NOT_NEGATIVE, specific_gravity=GRAVITY)
def solution_mass(volume: Values, specific_gravity: Values) -> Values:
    """Mass of a solution [kg].

    What a pump that is set by volume feeds by weight.
    Specific gravity changes with strength and temperature.

    Parameters
    ----------
    volume : float, or array of any shape
        Solution [m3]
    specific_gravity : float, or array of any shape
        Density over that of water [-]

    Returns
    -------
    float, or array of that shape
        Mass [kg]

    Notes
    -----
    kg = 1000 V SG.

    Examples
    --------
    >>> solution_mass(0.5, 1.2)
    600.0
    """
    return 1000.0 * volume * specific_gravity


@bounded(("residual_mg_per_l", "dose_mg_per_l"), dose_mg_per_l=DOSE, residual_mg_per_l=DOSE)
def chlorine_demand(dose_mg_per_l: Values, residual_mg_per_l: Values) -> Values:
    """Chlorine demand [mg/L].

    What the water has used up: dosed, less what is left.
    Grows with time and warmth, so say after how long.

    Parameters
    ----------
    dose_mg_per_l : float, or array of any shape
        Chlorine dosed [mg/L]
    residual_mg_per_l : float, or array of any shape
        Chlorine left [mg/L]

    Returns
    -------
    float, or array of that shape
        Chlorine used up [mg/L]

    Notes
    -----
    demand = dose - residual.

    Examples
    --------
    >>> chlorine_demand(3.0, 1.0)
    2.0
    """
    return dose_mg_per_l - residual_mg_per_l


@bounded(demand_mg_per_l=DOSE, residual_mg_per_l=DOSE)
def dose_for(demand_mg_per_l: Values, residual_mg_per_l: Values) -> Values:
    """Chlorine dose for a residual [mg/L].

    What must be added so that some is left after the water has taken its part.
    The demand is measured, not guessed.

    Parameters
    ----------
    demand_mg_per_l : float, or array of any shape
        Chlorine the water uses up [mg/L]
    residual_mg_per_l : float, or array of any shape
        Chlorine wanted at the end [mg/L]

    Returns
    -------
    float, or array of that shape
        Dose [mg/L]

    Notes
    -----
    dose = demand + residual.

    Examples
    --------
    >>> dose_for(2.0, 1.0)
    3.0
    """
    return demand_mg_per_l + residual_mg_per_l


@bounded(("solution", "water"), solution=NOT_NEGATIVE, water=POSITIVE)
def saturated_fluoride_dose(solution: Values, water: Values) -> Values:
    """Fluoride dose from saturated sodium fluoride [mg/L].

    A little of the strong solution into much water.
    Leaves out the fluoride the water has already; 0.7 mg/L in all is the recommended optimum.

    Parameters
    ----------
    solution : float, or array of any shape
        Saturated solution used [m3]
    water : float, or array of any shape
        Water treated with it, above zero [m3]

    Returns
    -------
    float, or array of that shape
        Fluoride added [mg/L]

    Notes
    -----
    dose = 18,000 mg/L x solution / water.

    Examples
    --------
    >>> saturated_fluoride_dose(1.0, 18000.0)
    1.0
    """
    return SATURATED_FLUORIDE_MG_PER_L * solution / water


@bounded(flow=NOT_NEGATIVE, rise_mg_per_l=DOSE)
def saturated_solution_for(flow: Values, rise_mg_per_l: Values) -> Values:
    """Saturated sodium fluoride for a rise in fluoride [m3/d].

    How much of the strong solution a plant uses in a day.
    The rise is the aim less what the raw water has.

    Parameters
    ----------
    flow : float, or array of any shape
        Flow treated [m3/d]
    rise_mg_per_l : float, or array of any shape
        Fluoride to be added [mg/L]

    Returns
    -------
    float, or array of that shape
        Solution [m3/d]

    Notes
    -----
    solution = flow x rise / 18,000 mg/L.

    Examples
    --------
    >>> saturated_solution_for(18000.0, 0.5)
    0.5
    """
    return flow * rise_mg_per_l / SATURATED_FLUORIDE_MG_PER_L
