"""What the captions of pictures say is what another route finds in the record.

Each caption is read as a reader reads it; its numbers are those of `answer_oracle`, which shares no
code with the package. The bundled scenarios, a drought and random ones.
"""

from __future__ import annotations

import re
from functools import cached_property

import numpy as np
import pytest
from answer_oracle import Oracle
from plain_scenarios import plain_scenario
from printed_tables import Printed

import hydroloop as hl
from hydroloop.charts.words import date_words, place_words
from hydroloop.outputs.run.drought_picture import drought_picture
from hydroloop.outputs.run.result import Result, result_of

N = r"([\d,]*\d(?:\.\d+)?)"
HOMES, WORKS = ("taps", "toilets", "baths", "laundry"), ("workplaces", "work_toilets")
ENDS = {
    "evaporated": ("sky",),
    "left down the river": ("downstream",),
    "left with sludge": ("solids",),
    "in rivers": ("reach", "streams"),
    "in reservoirs": ("reservoir",),
    "in the ground": ("subsoil", "groundwater"),
    "in soil, yards and snow": ("soil", "yards", "snow", "pavement", "storm_drains"),
}


class Drawn:
    """A run, the town with the most used water, and the oracle of its record."""

    def __init__(self, scenario: hl.Scenario):
        record = hl.simulate(scenario)
        self.result: Result = result_of(scenario, record, "us")
        self.oracle, self.town = Oracle(record), self.result.most_used_town
        self.places = {town: place_words(town, scenario.names) for town in self.result.towns}
        self.name = self.places[self.town]
        self.tap = self.oracle.into(self.town)
        targets = record["target"].values.astype(str)
        self.leaves = np.where(self.oracle.system.target < 0, targets, "")

    def caption(self, of: str, *about: str) -> str:
        """Words below one of the pictures of a run, with plain letters."""
        return getattr(hl.draw, of)(self.result, *about).caption.replace("³", "3")

    @cached_property
    def used(self) -> np.ndarray:
        """Share that was used before, (time, store)."""
        return self.oracle.used_share("through a home")

    @property
    def days(self) -> np.ndarray:
        """Days that each step begins in."""
        return np.array([date_words(day) for day in self.oracle.record["time"].values])

    def flow(self, flows: np.ndarray) -> float:
        """Mean of some flows [m3/d]."""
        return self.oracle.mean(flows)


def agree(words: str, unit: str, value: float) -> bool:
    """Whether a number of a caption is a value, to half of its last digit; all digits of a share
    count."""
    if unit == "%":
        return float(words) == pytest.approx(
            100 * value, abs=0.501 * 10.0 ** -len(words.partition(".")[2])
        )
    return Printed(words, unit).is_of(value)


def said(caption: str, pattern: str) -> tuple[str, ...]:
    """The numbers of a sentence that must stand there."""
    found = re.search(pattern, caption)
    assert found, (pattern, caption)
    return found.groups()


def check_glass(drawn: Drawn) -> None:
    """Share and mean uses of the glass on its day, its unknown part, and when half was used."""
    oracle, words = drawn.oracle, drawn.caption("glass", drawn.town)
    day = drawn.days.tolist().index(date_words(drawn.result.glass_day(drawn.town)))
    share = oracle.daily(drawn.used, drawn.tap)[day]
    if found := re.search(rf"^{N} % of this glass", words):
        assert agree(found[1], "%", share)
        mean = oracle.daily(oracle.mean_uses(), drawn.tap)[day]
        assert agree(*said(words, rf"on average .*? {N} times"), "", mean)
    else:
        assert not share > 0.005
    if found := re.search(rf"The past of {N} % is not known", words):
        known = oracle.daily(oracle.known("through a home"), drawn.tap)[day]
        assert agree(found[1], "%", 1.0 - known)
    if found := re.search(rf"Half of the used part was last .*? within {N} days?", words):
        (store,) = set(oracle.system.source[drawn.tap].tolist())
        back = np.cumsum(oracle.system.last_passes(oracle.gate("through a home"), day, store))
        steps_a_day = round(1.0 / oracle.days[0])
        at = int(np.argmax(back >= 0.5 * share - 1e-12)) / steps_a_day
        assert float(found[1]) == max(np.ceil(at), 1.0)


def check_loop(drawn: Drawn) -> None:
    """What the town takes in, and where of each hundred it goes."""
    oracle, words = drawn.oracle, drawn.caption("loop", drawn.town)
    here, kind = oracle.from_place == drawn.town, oracle.kind
    taken = drawn.flow(np.isin(kind, ("intake", "import")) & (oracle.to_place == drawn.town))
    assert agree(*said(words, rf"^The town takes in {N} (Mgal/day|gal/day)"), taken)

    def out(roles: tuple[str, ...], to: tuple[str, ...] = (), of: str = "") -> float:
        ends = np.isin(oracle.to_role, to) | np.isin(drawn.leaves, to) if to else True
        return (
            drawn.flow(
                here & np.isin(oracle.from_role, roles) & ends & ((kind == of) if of else True)
            )
            / taken
        )

    plant = (
        "rapid_mix",
        "flocculation",
        "sedimentation",
        "filters",
        "clearwell",
        "primary",
        "aeration",
        "final_settling",
        "contact",
    )
    parts = {
        "leaks? away": out(("mains",), of="leak"),
        "go(?:es)? to yards": out(("mains", "reclaimed"), ("yards",)),
        "go(?:es)? to on-site systems": out(HOMES + WORKS, ("groundwater",)),
        "evaporates? in homes and workplaces": out(HOMES + WORKS, ("sky",)),
        "leaves? with sludge": out(plant, ("solids",)),
        "overflows? from the sewers": out(("sewers",), ("reach", "reservoir")),
        "soaks? away after reuse": out(("reclaimed",), ("groundwater",)),
        "comes? back at the outfall": out(("contact", "effluent_pond"), of="outfall"),
    }
    joins = (
        drawn.flow(
            (oracle.to_place == drawn.town)
            & (oracle.to_role == "sewers")
            & np.isin(kind, ("infiltration", "stormwater", "inflow"))
        )
        / taken
    )
    kept = 1.0 + joins - sum(parts.values())
    parts |= {"stays? in store": max(kept, 0.0)}
    comes = {"of rain and groundwater join": joins, "comes? out of store": max(-kept, 0.0)}
    told = {
        verb: int(found[1]) if (found := re.search(rf"(\d+) {verb}", words)) else 0
        for verb in (*parts, *comes)
    }
    for verb, share in (parts | comes).items():
        # What goes is rounded so that it adds up to what comes: to one, not to a half.
        room = 1.0 if verb in parts else 0.501
        assert told[verb] == pytest.approx(100 * share, abs=room), (verb, share, words)
    assert sum(told[verb] for verb in parts) == 100 + sum(told[verb] for verb in comes)


def check_season(drawn: Drawn) -> None:
    """The season's share, the highest and its day, the lowest river, and the days short."""
    oracle, words = drawn.oracle, drawn.caption("season", drawn.town)
    whole = oracle.mixed(drawn.used, drawn.tap)
    if "Over the season none of" in words:
        assert whole <= 0.0
    else:
        assert agree(*said(words, rf"Over the season {N} % of"), "%", whole)
    if found := re.search(rf"the past of {N} % is not known", words):
        assert agree(found[1], "%", 1.0 - oracle.mixed(oracle.known("through a home"), drawn.tap))
    if found := re.search(rf"highest on (\d+ \w+ \d+) with {N} %", words):
        share = oracle.daily(drawn.used, drawn.tap)
        assert agree(found[2], "%", np.nanmax(share))
        assert np.nanmax(share[drawn.days == found[1]]) == pytest.approx(np.nanmax(share), rel=1e-6)
    if found := re.search(
        rf"river at the intake was lowest on (\d+ \w+ \d+) with {N} (ft3/s)", words
    ):
        taken = (oracle.kind == "intake") & (oracle.to_place == drawn.town)
        stores = oracle.system.source[taken & (oracle.from_role == "reach")]
        past = np.isin(oracle.system.source, stores) & (oracle.kind != "evaporation")
        flow = oracle.rate[:, past].sum(axis=1)
        assert agree(found[2], found[3], flow.min())
        assert flow[drawn.days == found[1]].min() == pytest.approx(flow.min(), rel=1e-9)
    short = (oracle.short(drawn.town).sum(axis=1) > 0) @ oracle.days
    if short:
        assert agree(*said(words, rf"was short of water on {N} days?"), "days", short)
    else:
        assert f"Nobody in {drawn.name} went short" in words


def check_parcel(drawn: Drawn) -> None:
    """Where water taken in on the first day is at the end, and how often it was used."""
    oracle, words = drawn.oracle, drawn.caption("parcel", drawn.town)
    system, gate = oracle.system, oracle.gate("through a home")
    comes = np.isin(oracle.kind, ("intake", "import")) & (oracle.to_place == drawn.town)
    first = system.target[np.argmax(np.where(comes, system.moved.sum(axis=0), -1.0))]
    given = np.zeros_like(system.volume[1:])
    given[0, first] = 1.0
    every = np.ones(len(oracle.kind), dtype=bool)
    place = system.factored(every).solve(given.ravel()).reshape(given.shape)
    ends, gone = system.volume[-1] * place[-1], (system.moved * place[:, system.source]).sum(axis=0)
    shares = {
        end: ends[np.isin(oracle.role, roles)].sum() + gone[np.isin(drawn.leaves, roles)].sum()
        for end, roles in ENDS.items()
    }
    told = re.findall(rf"{N} (?:had|was|were) ({'|'.join(ENDS)})", words)
    assert told
    assert f", by {drawn.days[-1]}:" in words
    for number, end in told:
        assert abs(float(number) / 100.0 - shares[end]) < 0.01, (end, words)  # whole drops
    assert (
        min(shares[end] for _, end in told)
        >= max(
            [
                share
                for end, share in shares.items()
                if end not in dict(told).values() and end not in [one for _, one in told]
            ],
            default=0.0,
        )
        - 1e-9
    )
    moved = system.moved * place[:, system.source]
    assert agree(*said(words, rf"On average .*? {N} times"), "", moved[:, gate].sum())
    shut = system.factored(~gate)
    never = shut.solve(given.ravel()).reshape(given.shape)
    once = shut.solve(system.entering(np.where(gate, never[:, system.source], 0.0)).ravel())
    few = never + once.reshape(given.shape)
    outside = (system.target < 0) & (system.source >= 0) & ~gate
    kept = system.volume[-1] @ few[-1] + (system.moved * few[:, system.source])[:, outside].sum()
    if found := re.search(rf"; {N} % of it had done so more than once", words):
        assert agree(found[1], "%", 1.0 - kept)
    else:
        assert 1.0 - kept < 0.001


def check_map(drawn: Drawn) -> None:
    """The river where it comes and leaves, and the shares at all taps."""
    oracle, words = drawn.oracle, drawn.caption("river")
    water = oracle.kind != "evaporation"
    out = np.flatnonzero(drawn.leaves == "downstream")
    last = oracle.system.source[out[np.argmax(oracle.system.moved[:, out].sum(axis=0))]]
    leaving = (oracle.system.source == last) & water
    assert agree(*said(words, rf"leaves with {N} (Mgal/day|gal/day)"), drawn.flow(leaving))
    top = int(np.flatnonzero(oracle.place == oracle.place[last])[0])
    assert agree(
        *said(words, rf"comes with {N} (Mgal/day|gal/day)"),
        drawn.flow((oracle.system.source == top) & water),
    )
    if found := re.search(rf"{N} % of it used before", words):
        assert agree(found[1], "%", oracle.mixed(drawn.used, leaving))
    for town, name in drawn.places.items():
        share = oracle.mixed(drawn.used, oracle.into(town))
        if found := re.search(rf"{re.escape(name)} {N} %", words):
            assert agree(found[1], "%", share), (town, words)
        else:
            assert not share >= 0.0005


def check_because(drawn: Drawn) -> None:
    """The share at the tap, and of it what was last used in each town and above the map."""
    oracle, words = drawn.oracle, drawn.caption("because")
    if words.startswith("Hardly any"):
        return
    whole = oracle.mixed(drawn.used, drawn.tap)
    assert agree(*said(words, rf"^{N} % of {re.escape(drawn.name)}'s tap water"), "%", whole)
    if found := re.search(rf"The {N} %[^.]*? is made up of", words):
        assert agree(found[1], "%", whole)
    parts = {
        f"in {name}": oracle.mixed(oracle.last_used_in(town), drawn.tap)
        for town, name in drawn.places.items()
    }
    parts["above the map"] = whole - sum(parts.values())
    for place, share in parts.items():
        numbers = re.findall(rf"([\d.]+) % (?:last used )?{re.escape(place)}\b", words)
        if numbers:
            digit = max(10.0 ** -len(one.partition(".")[2]) for one in numbers)
            assert sum(map(float, numbers)) == pytest.approx(
                100 * share, abs=digit * len(numbers)
            ), (place, words)
        elif f"All of it was last used {place}" in words:
            assert share == pytest.approx(whole, rel=0.02)
        else:
            assert share < 0.02, (place, words)


def assert_captions(drawn: Drawn) -> None:
    """Every caption of a run of one town."""
    for check in (check_glass, check_loop, check_season, check_parcel, check_map, check_because):
        check(drawn)


@pytest.mark.parametrize("name", ["first_town", "five_towns", "old_town", "long_river"])
def test_of_a_bundled_scenario(name):
    """What stands below the pictures of a bundled scenario is in its record."""
    scenario = hl.read_scenario(name)
    if name != "first_town":  # all of their seasons take the other route too long
        start = np.datetime64(scenario.season.start, "D")
        scenario = scenario.changed({"season.end": str(start + 30)})
    assert_captions(Drawn(scenario))


@pytest.mark.parametrize("seed", range(12))
def test_of_a_random_scenario(seed):
    """The same of a random scenario."""
    assert_captions(Drawn(plain_scenario(seed)))


def test_of_a_drought():
    """The lowest level and its day, days of each stage, what stages cut, and what was short."""
    scenario = hl.read_scenario("long_river").changed(
        {"season.end": "2047-08-31", "river.tessle.inflow.scale": 0.4}
    )
    record = hl.simulate(scenario)
    words = drought_picture([scenario], [("", record)], "us").caption
    oracle = Oracle(record)
    (dam,) = scenario.reservoir
    level = record["volume"].sel(store=f"{dam}/reservoir").values[1:]
    day, number = said(words, rf"lowest on (\d+ \w+ \d+), at {N} %")
    assert agree(number, "%", level.min() / scenario.reservoir[dam].capacity)
    assert day == date_words(record["time"].values[level.argmin()])
    in_force = record["stage_days"].transpose("stage", "time").values > 0.0
    ranks = sorted(
        range(len(in_force)),
        key=lambda k: -float(scenario.stage[str(record["stage"].values[k])].storage_below),
    )
    told = re.findall(rf"([\w ]+?) on {N} days", words.partition("In force: ")[2])
    assert told
    for place, (_, days) in enumerate(told):
        assert float(days) == in_force[ranks[place:]].any(axis=0) @ oracle.days
    cut, asked = (
        float(
            record[name].sum("town").transpose("time", "purpose").values.sum(axis=1) @ oracle.days
        )
        for name in ("cut", "demand")
    )
    assert agree(*said(words, rf"Stages cut {N} % of the use"), "%", cut / (cut + asked))
    short = sum(oracle.short(town).sum(axis=1) @ oracle.days for town in scenario.town)
    if short:
        assert agree(*said(words, rf"Short all the same: {N} (\S+?)\.$"), short)
    else:
        assert "Nobody went short" in words
