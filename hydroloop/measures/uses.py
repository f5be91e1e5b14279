"""Use shares: how often the water at a tap, or at an intake, has been through homes before."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, label_leaving

_WORDS = {
    "use_share": "share of the water by number of earlier uses",
    "unknown_share": "share of the water whose past is unknown",
    "used_share": "share of the water used at least once before",
    "mean_uses": "mean number of earlier uses",
}


def use_shares(op: Operator, counted: xr.Dataset, flows: np.ndarray) -> xr.Dataset:
    """Share of water by number of earlier uses.

    How often the water that runs in some flows, such as those into a town's homes, has passed the
    gate before. Water of unknown past counts apart, so the used share is a lower bound while it is
    not zero.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    counted : xarray.Dataset
        What `hydroloop.count_uses` gives.
    flows : numpy.ndarray of bool
        The flows, shape (flow).

    Returns
    -------
    xarray.Dataset
        `use_share` (time, use), `unknown_share`, `used_share` and `mean_uses` (time) [-]; member
        last where the record has it.

    Notes
    -----
    used share f = 1 - share(0) - unknown share.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="penhollow")
    >>> tap = use_shares(operator(record), hl.count_uses(record), taps)
    >>> bool((tap.used_share > 0).all())
    True
    """
    by_use = label_leaving(op, counted["share"], flows).transpose("time", "use", ...)
    unknown = label_leaving(op, counted["unknown"], flows)
    known = by_use.sum("use") + unknown
    found = {
        "use_share": by_use,
        "unknown_share": unknown,
        # Rounding may leave a share a last digit under zero.
        "used_share": (known - by_use.sel(use=0, drop=True) - unknown).clip(0.0, 1.0),
        "mean_uses": label_leaving(op, counted["mean_uses"], flows),
    }
    return xr.Dataset({name: values.assign_attrs(units="1", long_name=_WORDS[name])
                       for name, values in found.items()})
