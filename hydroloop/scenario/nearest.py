"""Did you mean: the nearest name to one that is not known."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

# Words that people use for a key of ours and that are not spelt like it.
ALIASES = {
    "population": "people",
    "inhabitants": "people",
    "persons": "people",
    "residents": "people",
    "leaks": "mains.real_losses",
    "leakage": "mains.real_losses",
    "leak": "mains.real_losses",
    "losses": "mains.real_losses",
    "water_loss": "mains.real_losses",
    "wwtp": "wastewater",
    "sewage": "wastewater",
    "wtp": "plant",
    "treatment": "plant",
    "works": "plant",
    "effluent": "outfall",
    "discharge": "outfall",
    "storm_drain": "storm_outlet",
    "gpcd": "homes.use_per_person",
    "use": "homes.use_per_person",
    "gardens": "yards",
    "lawns": "yards",
    "pipes": "mains",
    "network": "mains",
    "tank": "tanks",
    "tower": "tanks",
    "name": "title",
    "description": "about",
    "begin": "start",
    "from": "start",
    "to": "end",
    "stop": "end",
    "until": "end",
    "flow": "inflow",
    "headwater": "inflow",
    "position": "at",
    "distance": "at",
    "location": "at",
    "km": "at",
    "mile": "at",
    "lat": "latitude",
    "altitude": "elevation",
    "velocity": "speed",
    "tributary_of": "joins",
    "into": "joins",
    "ecological_flow": "minimum_flow",
    "environmental_flow": "minimum_flow",
    "cn": "curve_number",
    "dam": "reservoir",
    "lake": "reservoir",
    "groundwater": "aquifer",
    "city": "town",
    "village": "town",
    "stream": "river",
    "imports": "imported",
    "well": "wells",
    "surface": "area",
    "size": "capacity",
    "max": "capacity",
    "limit": "permit",
}


_LONGEST = 80  # no name is longer; to look for what is near takes its length squared


def nearest(word: str, choices: Iterable[str], alike: float = 0.6) -> str:
    """The choice that was probably meant, or an empty text; `alike` is how much of the letters must
    be the same [-]."""
    if len(word) > _LONGEST:
        return ""
    known = {choice.lower(): choice for choice in choices}
    low = word.lower().replace("-", "_").replace(" ", "_")
    if low in known:
        return known[low]
    alias = ALIASES.get(low, "")
    if alias in known:
        return known[alias]
    starts = [choice for choice in known if len(low) > 2 and choice.startswith(low)]
    if len(starts) == 1:
        return known[starts[0]]
    close = difflib.get_close_matches(low, known, n=1, cutoff=alike)
    return known[close[0]] if close else ""


def offer(word: str, choices: Iterable[str]) -> str:
    """A sentence that offers the nearest name, or says which there are."""
    known = list(choices)
    if near := nearest(word, known):
        return f'Did you mean "{near}"?'
    if not known:
        return "There is none."
    listed = ", ".join(known[:12]) + (f" and {len(known) - 12} more" if len(known) > 12 else "")
    return f"There {'is only' if len(known) == 1 else 'are'}: {listed}."
