"""Dry seasons of a scenario: which year serves, what is scaled, what is said, what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.errors import InputError, ScenarioError
from hydroloop.scenario import explain, read_toml
from hydroloop.waterworks.dry_season import dryness
from hydroloop.weather.low_flow import low_flow, n_day_means

FIRST, LAST = np.datetime64("1970-01-01"), np.datetime64("1994-12-31")
DAYS = np.arange(FIRST, LAST + np.timedelta64(1, "D"))
# Every year has its own level of flow and rain, told in its numbers; 1983 is the driest by flow,
# 1976 by rain.
LEVEL = {year: 1.0 + 0.04 * ((year * 7) % 25) for year in range(1970, 1995)}
YEAR = DAYS.astype("datetime64[Y]").astype(int) + 1970
SEASON = """
title = "A town on a gauged river"
[season]
start = {start}
end = {end}
[weather]
file = "weather.csv"
[river.wren]
length = "40 km"
inflow = {{ file = "flow.csv" }}
[river.brook]
length = "10 km"
inflow = "0.5 m3/s"
joins = "wren"
joins_at = "20 km"
[town.larkmill]
people = 20000
intake = {{ river = "wren", at = "10 km" }}
outfall = {{ river = "wren", at = "15 km" }}
"""


def flow_m3_per_s():
    level = np.array([0.3 if year == 1983 else LEVEL[year] for year in YEAR])
    day = (DAYS - DAYS.astype("datetime64[Y]")).astype(int)
    return level * (2.0 + np.cos(2.0 * np.pi * (day - 30) / 365.25))


def rain_mm():
    level = np.array([0.1 if year == 1976 else LEVEL[year] for year in YEAR])
    return level * (1.0 + (np.arange(len(DAYS)) % 3))


def summer(year):
    """Days from May to October of a year."""
    place = np.searchsorted(DAYS, np.array([f"{year}-05-01", f"{year}-11-01"], "datetime64[D]"))
    return slice(*place)


@pytest.fixture(scope="module")
def gauged(tmp_path_factory):
    """A scenario with 25 years of rain and flow, and a season that none of them holds."""
    folder = tmp_path_factory.mktemp("gauged")
    rows = [f"{day},{flow:.6f}" for day, flow in zip(DAYS, flow_m3_per_s(), strict=True)]
    (folder / "flow.csv").write_text("date,flow [m3/s]\n" + "\n".join(rows) + "\n")
    rows = [f"{day},{rain:.6f},10,20" for day, rain in zip(DAYS, rain_mm(), strict=True)]
    heading = "date,rain [mm],tmin [C],tmax [C]\n"
    (folder / "weather.csv").write_text(heading + "\n".join(rows) + "\n")

    def make(start="2031-05-01", end="2031-10-31", **dry):
        scenario = read_toml(SEASON.format(start=start, end=end), folder=folder)
        return scenario.changed({"dry_season": dry}) if dry else scenario

    return make


def head(record, river="wren"):
    """Inflow at the head of a river [m3/s]."""
    mask = (record["kind"].values == "upstream") & (record["target"].str.startswith(river).values)
    return record["rate"].values[:, mask].sum(axis=1) / 86_400.0


def test_driest_year_by_flow_serves_weather_and_inflow_alike(gauged):
    """The river of 1983 comes with the rain of 1983, day by day, and the record says so."""
    record = hl.simulate(gauged(method="driest_year"))
    assert_closes(record)
    of_1983 = summer(1983)
    np.testing.assert_allclose(head(record), flow_m3_per_s()[of_1983], rtol=1e-5)
    np.testing.assert_allclose(record["rain_mm"].values, rain_mm()[of_1983], atol=1e-6)
    assert record.attrs["weather_dry_season"] == "the days of 1983, the driest of 25 by inflow"
    assert record.attrs["weather_days_from"] == (
        "2031-05-01 to 2031-10-31 from 1983-05-01 to 1983-10-31"
    )


def test_driest_year_by_rain(gauged):
    """Judged by rain it is 1976, and the inflow is that of 1976 too."""
    found = dryness(gauged(method="driest_year", judged_by="rain"))
    assert str(found.source_days[0]) == "1976-05-01"
    record = hl.simulate(gauged(method="driest_year", judged_by="rain"))
    np.testing.assert_allclose(head(record), flow_m3_per_s()[summer(1976)], rtol=1e-5)


def test_a_steady_inflow_falls_with_the_measured_one(gauged):
    """The brook, of which only a mean is known, gets the share of usual that the river has."""
    record = hl.simulate(gauged(method="driest_year"))
    usual = np.mean([flow_m3_per_s()[summer(year)].sum() for year in range(1970, 1995)])
    expected = 0.5 * flow_m3_per_s()[summer(1983)].sum() / usual
    np.testing.assert_allclose(head(record, "brook"), expected, rtol=1e-5)


def test_once_in_ten_years_has_that_low_flow(gauged):
    """The season's lowest 7-day mean is the log-Pearson III value of the seasons of the record."""
    record = hl.simulate(gauged(method="one_in_years", years=4.0))
    flow, minima = flow_m3_per_s(), []
    for year in range(1970, 1995):
        minima.append(n_day_means(flow[summer(year)], 7).min())
    wanted = low_flow(np.array(minima), 4.0)
    assert not wanted.is_exercise
    assert n_day_means(head(record), 7).min() == pytest.approx(wanted.value, rel=1e-5)
    assert "exercise" not in record.attrs["weather_dry_season"]
    longer = hl.simulate(gauged(method="one_in_years", years=10.0))
    assert "an exercise, as 25 years are few for once in 10" in longer.attrs["weather_dry_season"]


def test_ranks_for_a_short_record(gauged):
    """By ranks, once in 26 years is the lowest of 25 seasons, taken as it is."""
    found = dryness(gauged(method="one_in_years", years=26.0, frequency="ranks"))
    assert str(found.source_days[0]) == "1983-05-01"
    assert found.flow_scale == pytest.approx(1.0, rel=1e-12)


def test_a_named_year_across_the_new_year(gauged):
    """A season from November to June is taken whole from the winter that begins in that year."""
    scenario = gauged("2030-11-01", "2031-06-30", method="year", year=1979)
    found = dryness(scenario)
    assert (str(found.source_days[0]), str(found.source_days[-1])) == ("1979-11-01", "1980-06-30")
    assert found.said["dry_season"] == "the days of 1979-80"
    # 1980 is a leap year and 2031 is none: 29 February 1980 is left out.
    assert np.datetime64("1980-02-29") not in found.source_days
    with pytest.raises(InputError, match="Name a year from 1970 to 1993"):
        dryness(gauged("2030-11-01", "2031-06-30", method="year", year=1994))


def test_a_season_that_ends_on_new_year_s_day(gauged):
    """One day in the next year, and both years are named."""
    said = dryness(gauged("2031-12-01", "2032-01-01", method="year", year=1975)).said
    assert said["dry_season"].startswith("the days of 1975-76")


def test_a_season_without_any_rain_on_record(tmp_path):
    """Where no year had rain none is drier than another, and a steady inflow stays as it is."""
    days = DAYS[-3 * 365 :]
    rows = "".join(f"{day},0,10,20\n" for day in days)
    (tmp_path / "weather.csv").write_text("date,rain [mm],tmin [C],tmax [C]\n" + rows)
    text = SEASON.format(start="2031-05-01", end="2031-10-31")
    text = text.replace('{ file = "flow.csv" }', '"3 m3/s"')
    scenario = read_toml(text, folder=tmp_path).changed({"dry_season": {"method": "driest_year"}})
    found = dryness(scenario)
    assert (found.rain_ratio, found.steady_scale) == (1.0, 1.0)


def test_years_by_lot(gauged):
    """Two years are two draws, told in words; another seed draws others."""
    scenario = gauged("2031-05-01", "2033-04-30", method="bootstrap", seed=4)
    found = dryness(scenario)
    drawn = found.said["dry_season"].removeprefix("years drawn at random, dry or wet: ").split(", ")
    assert [str(found.source_days[i])[:4] for i in (0, 366)] == drawn
    record = hl.simulate(scenario)
    assert_closes(record)
    many = {dryness(scenario, seed).said["dry_season"] for seed in range(12)}
    assert len(many) > 6


def test_a_factor_of_one_changes_nothing():
    """Scaling rain and inflow by one gives the same record to the bit."""
    plain, scaled = one_town(), one_town('[dry_season]\nrain_scale = "100 %"\n')
    one, other = hl.simulate(plain), hl.simulate(scaled)
    assert np.array_equal(one["rate"].values, other["rate"].values)
    assert np.array_equal(one["volume"].values, other["volume"].values)


def test_scaled_rain_and_inflow():
    """60 % of the rain makes 36 % of a given inflow, unless the inflow's share is given."""
    plain = hl.simulate(one_town())
    dry = hl.simulate(one_town('[dry_season]\nrain_scale = "60 %"\n'))
    np.testing.assert_allclose(dry["rain_mm"], 0.6 * plain["rain_mm"], rtol=1e-12)
    np.testing.assert_allclose(head(dry), 0.36 * head(plain), rtol=1e-12)
    given = hl.simulate(one_town('[dry_season]\nrain_scale = "60 %"\nflow_scale = "50 %"\n'))
    np.testing.assert_allclose(head(given), 0.5 * head(plain), rtol=1e-12)
    assert "rain times 0.6; inflow times 0.5" in given.attrs["weather_dry_season"]


def test_warmer_weather_raises_evaporation_and_yard_use():
    """Three degrees more raise reference evaporation on every day, and what yards ask for."""
    plain = hl.simulate(one_town())
    warm = hl.simulate(one_town("[dry_season]\nwarmer_by = 3.0\n"))
    assert (warm["et0_mm"].values > plain["et0_mm"].values).all()
    np.testing.assert_allclose(warm["tmean_c"], plain["tmean_c"] + 3.0, rtol=1e-12)
    assert float(warm["demand"].sel(purpose="yards").sum()) > 1.02 * float(
        plain["demand"].sel(purpose="yards").sum()
    )


def test_factors_come_on_top_of_what_is_picked(gauged):
    """The scenario's own factors multiply those of the year, on inflow by a power of the rain's
    where it has none of its own; so do the ratios to a usual season."""
    for make, method in (
        (gauged, "driest_year"),
        (gauged, "one_in_years"),
        (lambda **dry: one_town().changed({"dry_season": dry}), "driest_year"),
    ):
        plain = dryness(make(method=method))
        scaled = dryness(make(method=method, rain_scale=0.5, flow_elasticity=2.0, warmer_by=3))
        other = dryness(make(method=method, rain_scale=0.5, flow_scale=0.8, flow_elasticity=2.0))
        by_rain = plain.steady_scale if plain.flow_ratio != 1.0 else plain.rain_ratio**2
        for found, flow in ((scaled, 0.25), (other, 0.8)):
            assert found.rain_scale == pytest.approx(plain.rain_scale * 0.5, rel=1e-12)
            assert found.rain_ratio == pytest.approx(plain.rain_ratio * 0.5, rel=1e-12)
            assert found.flow_scale == pytest.approx(plain.flow_scale * flow, rel=1e-12)
            assert found.flow_ratio == pytest.approx(plain.flow_ratio * flow, rel=1e-12)
            assert found.steady_scale == pytest.approx(by_rain * flow, rel=1e-12)
        assert (scaled.warmer_by_c, other.warmer_by_c) == (3.0, 0.0)
        assert scaled.said["dry_season"].startswith(plain.said["dry_season"])
        assert scaled.said["dry_season"].endswith("; rain times 0.5; inflow times 0.25; 3 C warmer")


def test_a_dry_river_runs_slower():
    """Speed holds at the usual flow: with less in the river the water takes longer, not the same.

    Volume over flow goes with flow to the power -b, b = 0.34 by default; watched below the town.
    """
    flows, times = [], []
    for extra in ("", '[dry_season]\nflow_scale = "10 %"\n'):
        record = hl.simulate(one_town(extra))
        reaches = record["volume"].isel(store=record["place"].values == "wren")
        store = str(reaches["store"].values[-2])  # the last has no length
        leaves = record["source"].values == store
        leaves &= record["kind"].values == "river"
        flows.append(float(record["rate"].values[30:, leaves].mean()))
        times.append(float(reaches.sel(store=store).values[31:].mean()) / flows[-1])
    assert flows[1] < 0.15 * flows[0]
    assert times[1] / times[0] == pytest.approx((flows[1] / flows[0]) ** -0.34, rel=0.03)


def test_generated_dry_seasons():
    """Of generated seasons the driest is drier than once in 10, and that than once in 2."""
    rain = {}
    for name, table in (
        ("driest", 'method = "driest_year"\ngenerate = 60'),
        ("tenth", 'method = "one_in_years"\nyears = 10'),
        ("half", 'method = "one_in_years"\nyears = 2\ngenerate = 59'),
    ):
        scenario = one_town(f"[dry_season]\n{table}\n")
        rain[name] = float(hl.simulate(scenario)["rain_mm"].sum())
        assert dryness(scenario).seed == dryness(scenario).seed
    assert rain["driest"] < rain["tenth"] < rain["half"]
    assert "number 30 from the driest of 59" in dryness(scenario).said["dry_season"]
    often = scenario.changed({"dry_season.years": 1.25})  # four of five are drier: 48 of 60
    assert "number 48 from the driest of 59" in dryness(often).said["dry_season"]


def test_once_in_ten_of_generated_seasons_is_the_tenth_part():
    """A tenth of other generated seasons is as dry: 20 of 200, give or take chance.

    The count is a binomial number with deviation 4.2, and the mark itself, the tenth of 99, adds as
    much again: within 20 at three deviations.
    """
    from hydroloop.weather.dry import invented_rain_mm

    scenario = one_town('[dry_season]\nmethod = "one_in_years"\n')
    mark = float(hl.simulate(scenario)["rain_mm"].sum())
    span = (str(scenario.season.start), str(scenario.season.end))
    others = invented_rain_mm("wet_winter", *span, range(500_000, 500_200))
    assert abs(int((others <= mark).sum()) - 20) <= 20


def test_measured_river_with_generated_weather_gets_a_season_as_dry(gauged):
    """Where the weather is invented, its season has the rank of the river's: dry with dry."""
    scenario = gauged(method="driest_year").changed({"weather.file": None})
    found = dryness(scenario)
    assert str(found.source_days[0]) == "1983-05-01"
    dry, usual = (
        float(hl.simulate(one)["rain_mm"].sum())
        for one in (
            scenario,
            scenario.changed({"dry_season.method": "year", "dry_season.year": 1980}),
        )
    )
    assert dry < usual


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "scales nothing"),
        ("years = 20.0", 'Write method = "one_in_years"'),
        ('method = "year"\nyear = 1976', "takes years from files"),
        ('method = "bootstrap"', "takes years from files"),
        ('method = "scale"\nrain_scale = "60 %"\nyear = 1976', "does nothing"),
        ('method = "one_in_years"\nyears = 1.0', "out of bounds"),
        ('method = "one_in_years"\ndays = "36 hour"', "whole number of days"),
        ('method = "one_in_years"\ndays = "6 hour"', "Write 1 to 365 days"),
        ('method = "driest_year"\njudged_by = "flow"', "no river has an inflow file"),
        ('method = "driest"', "driest"),
        ('rain_scale = "160 %"', "rain_scale"),
    ],
)
def test_what_cannot_be_is_refused(table, said):
    """A dry season that cannot be made is told when the file is read, with its key."""
    with pytest.raises(ScenarioError, match=said) as caught:
        one_town(f"[dry_season]\n{table}\n")
    assert all(problem.key.startswith("dry_season") for problem in caught.value.problems)


@pytest.mark.parametrize("years", ["0", "20000", '"0.5 to 20"'])
def test_a_return_period_has_one_pair_of_bounds(years):
    """It is told once, and with the bounds that hold: those of growth are others."""
    with pytest.raises(ScenarioError) as caught:
        one_town(f'[dry_season]\nmethod = "one_in_years"\nyears = {years}\n')
    assert [problem.cure for problem in caught.value.problems] == [
        "Write a number from 1.01 to 10,000."
    ]
    one_town('[dry_season]\nmethod = "one_in_years"\nyears = 300\n')


def test_a_method_misspelt_is_one_problem():
    """Of a method that there is not, nothing else is told than that."""
    with pytest.raises(ScenarioError, match="Did you mean") as caught:
        one_town('[dry_season]\nmethod = "dryest_year"\n')
    assert len(caught.value.problems) == 1


def test_a_record_that_holds_no_whole_season_is_refused(gauged):
    """Thirty years of season do not fit into 25 years of files; the message says what they hold."""
    with pytest.raises(InputError, match="1970-01-01 to 1994-12-31 holds"):
        dryness(gauged("2031-01-01", "2060-12-31", method="driest_year"))
    with pytest.raises(InputError, match="in 1 year, and driest_year needs 2"):
        dryness(gauged("2001-01-01", "2025-12-31", method="driest_year"))


def test_keys_are_explained():
    """Each key of the table has a meaning, and a source or the way it is worked out."""
    for name in (
        "method",
        "rain_scale",
        "flow_scale",
        "flow_elasticity",
        "warmer_by",
        "years",
        "days",
        "frequency",
        "generate",
        "year",
        "seed",
        "block",
        "judged_by",
    ):
        words = dict(explain(f"dry_season.{name}").facts)
        assert "meaning" in words
        assert "source" in words or "default" in words
