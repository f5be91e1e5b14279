"""The long run of two towns and a lake that fills, with plain inverses of the mean flows."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from dense_steps import Dense, town

from hydroloop.errors import AskError
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import cycles, long_run, operator


def plain(dense, gate):
    """Measures of one member, from the inverse of what does not go on."""
    time = dense.days.sum()
    rate = dense.moved.sum(axis=0) / time
    stores = dense.volume.shape[1]
    gained = (dense.volume[-1] - dense.volume[0]) / time
    flow, shut = np.zeros((2, stores, stores))
    entering, leaving, out, earlier, fresh = np.zeros((5, stores))
    for k, q in enumerate(rate):
        a, b = dense.source[k], dense.target[k]
        uses = dense.before[k] @ np.arange(dense.before.shape[1]) if a < 0 else 0.0
        if a >= 0 and b >= 0:
            flow[a, b] += q
            shut[a, b] += q * (not gate[k])
        if a >= 0:
            leaving[a] += q
            out[a] += q * gate[k]
        if b >= 0:
            earlier[b] += q * (uses + gate[k])
            if a < 0:
                entering[b] += q
                fresh[b] += q * dense.before[k, 0] * (not gate[k])
    through = leaving + np.maximum(gained, 0)
    inputs, lost = entering + np.maximum(-gained, 0), np.maximum(-gained, 0)
    visits = np.linalg.inv(np.eye(stores) - flow / through[:, None])
    back = np.linalg.inv(np.eye(stores) - (flow / through).T)
    stay = (dense.days @ dense.volume[:-1]) / time / through
    once = np.diag(visits)
    ahead, age = visits @ stay, back @ stay
    squares = 2 * visits @ (stay * ahead), 2 * back @ (stay * age)
    held = stay * through
    never = np.linalg.solve(np.eye(stores) - (shut / through).T, (fresh + lost) / through)
    cycled = through * (1 - 1 / once)

    def both(mean, square, weight):
        mean, square = (part @ weight / weight.sum() for part in (mean, square))
        return mean, np.sqrt(square - mean**2)

    transit, system = both(ahead, squares[0], inputs), both(age, squares[1], held)
    return {
        "visits": visits,
        "return_probability": 1 - 1 / once,
        "passes": visits @ (out / through),
        "mean_uses": back @ (earlier / through),
        "used_share": 1 - never,
        "throughflow": through,
        "cycled": cycled,
        "cycling_index": cycled.sum() / through.sum(),
        "path_length": through.sum() / inputs.sum(),
        "time_to_leave": ahead,
        "time_to_leave_sd": np.sqrt(squares[0] - ahead**2),
        "mean_age": age,
        "age_sd": np.sqrt(squares[1] - age**2),
        "transit_time": transit[0],
        "transit_time_sd": transit[1],
        "system_age": system[0],
        "system_age_sd": system[1],
    }


@pytest.mark.parametrize("members", [0, 2])
@pytest.mark.parametrize("seed", [2, 5])
def test_every_measure(members, seed):
    """Visits, passes ahead and behind, cycling, ages and transit; stores that gain and lose."""
    record = town(seed, members=members)
    assert_closes(record)
    gate = record["kind"].values == "home_use"
    found, quick = long_run(record), cycles(operator(record), gate)
    for k in range(max(1, members)):
        dense = Dense.of(record, k if members else None)
        expected = plain(dense, gate)
        mine = found.isel(member=k) if members else found
        for name, values in expected.items():
            assert mine[name].values == pytest.approx(values, rel=1e-9, abs=1e-12), name
        for name in ("cycling_index", "path_length"):
            assert getattr(quick, name)[k] == pytest.approx(expected[name], rel=1e-9)
        assert quick.passes[:, k] == pytest.approx(expected["passes"], rel=1e-9)
        assert mine["ends"].values.sum(axis=1) == pytest.approx(np.ones(5))


def test_where_water_ends():
    """A lake takes 4, gives 1 to the sky and 2 downstream, and gains 1: shares 1/4, 1/2, 1/4."""
    lake = Network(
        ["lake"], ["rain", "lake", "lake"], ["lake", "sky", "downstream"], ["rain", "evap", "river"]
    )
    record = build_record(lake, edges_of("2031-01-01", 1), [[1], [2]], [[4, 1, 2]])
    ends = long_run(record, gate="river")["ends"].isel(store=0)
    assert ends.sel(exit="sky").item() == 0.25
    assert ends.sel(exit="downstream").item() == 0.5
    assert ends.sel(exit="storage").item() == 0.25
    assert ends.sum().item() == 1.0


def test_without_water():
    """A record in which nothing flows has no cycling, no path and no passes, and no time."""
    lake = Network(["lake"], ["rain", "lake"], ["lake", "sky"], ["rain", "evaporation"])
    record = build_record(lake, edges_of("2031-01-01", 1), [[1], [1]], [[0, 0]])
    op = operator(record)
    found = cycles(op, np.array([False, True]))
    assert (found.cycling_index[0], found.path_length[0], found.passes[0, 0]) == (0, 0, 0)
    run = long_run(record, gate="evaporation")
    assert (run["cycling_index"].item(), run["path_length"].item()) == (0, 0)
    assert np.isnan(run["transit_time"].item())
    assert run["time_to_leave"].item() == 0
    assert run["visits"].item() == 0


def test_water_that_goes_round_without_end():
    """Two ponds that feed each other alone are named; the lake that runs out is not."""
    net = Network(
        ["a", "b", "lake"],
        ["a", "b", "rain", "lake"],
        ["b", "a", "lake", "sky"],
        ["river", "river", "rain", "evaporation"],
    )
    record = build_record(net, edges_of("2031-01-01", 1), [[1, 1, 1]] * 2, [[2, 2, 1, 1]])
    for ask in (
        lambda: long_run(record, "rain"),
        lambda: cycles(operator(record), np.zeros(4, bool)),
    ):
        with pytest.raises(AskError, match=r"goes round without end in a, b\. "):
            ask()
