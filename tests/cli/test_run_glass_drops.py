"""`run`, `glass` and `drops`: the answer first, files whole, streams and exit codes kept apart."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
from pathlib import Path

import pytest
from cli.commands import call, process
from conserves import assert_closes
from jsonschema import validate

from hydroloop.files.listing import LIST
from hydroloop.outputs.document.as_json import SCHEMA
from hydroloop.outputs.document.kept_inputs import write_scenario
from hydroloop.record import read_record
from hydroloop.scenario import bundled_folder, read_scenario
from hydroloop.tracing import follow
from hydroloop.waterworks import simulate

SMALL = ("first_town", "--set", "season.end=2031-05-31")


@pytest.fixture(autouse=True)
def _in_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def test_run_answers_in_a_sentence_a_town():
    """Each town has a sentence with its share, the account one with its gap."""
    result = call("run", "first_town", "--no-pictures")
    assert result.exit_code == 0
    text = " ".join(result.stdout.split())
    assert re.search(
        r"Penhollow: [\d.]+ % of the season's tap water had been through a home "
        r"before. All of it was last used in Larkmill. The most on one day was "
        r"[\d.]+ %, on \d+ \w+ 2031",
        text,
    )
    assert "None of Larkmill's tap water had been through a home before." in text
    assert "what the Wren brings from above counts as new (river.wren.used_before)" in text
    assert re.search(r"Every drop is accounted for: the largest gap is under 0.0+1 gal.", text)
    assert "Written to first_town-results/" in text
    assert "A teaching model" in text


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_account_can_be_added_up_by_eye(units):
    """As printed, in less out is the change, but for a rounding of each of the three."""
    lines = call("run", *SMALL, "--full", "--no-pictures", "--units", units).stdout.splitlines()
    begin = lines.index("The account") + 2
    rows = lines[begin : lines.index("", begin)]
    assert len(rows) == 4
    for row in rows:
        entered, left, change = (float(number.replace(",", "")) for number in row.split()[-4:-1])
        decimals = len(row.split()[-4].partition(".")[2])
        assert abs(entered - left - change) <= 1.501 * 10.0**-decimals


def test_three_numbers_stand_with_their_meaning():
    """f, m and S stand together, each explained; f <= m, and m <= S at a river's intake."""
    text = call("run", "five_towns", "--no-pictures", "--full").stdout
    for name in ("used share (f)", "times used, on average (m)", "return flow over river flow (S)"):
        assert f"\n{name}: " in text
    told = json.loads(call("run", "five_towns", "--no-pictures", "--json").stdout)
    assert told["units"]["reuse"]["season_used_share"] == "1"
    for row in told["tables"]["reuse"]:
        for place in ("", "_at_intake"):
            used = row[f"season_used_share{place}"]
            assert used <= row[f"season_mean_uses{place}"] + 1e-9
        if row["town"] in ("quillford", "larkmill", "osselby"):
            assert row["season_mean_uses_at_intake"] <= row["season_return_ratio"] + 1e-9


def test_run_writes_a_folder_that_can_be_run_again(tmp_path):
    """Record, tables, answer, cautions and inputs are there; the inputs give the same record."""
    assert call("run", *SMALL, "--no-pictures", "--out", "out").exit_code == 0
    assert {
        "answer.html",
        "answer.txt",
        "cautions.txt",
        "inputs",
        "record.nc",
        "tables",
        LIST,
    } == set(os.listdir("out"))
    record = read_record("out/record.nc")
    assert_closes(record)
    again = simulate(read_scenario("out/inputs/scenario.toml"))
    assert again["rate"].equals(record["rate"])
    assert again["volume"].equals(record["volume"])
    assert str(record["time"].values[-1])[:10] == "2031-05-31"


def test_files_of_a_scenario_come_along():
    """The files that a scenario reads lie beside its copy, so that it runs from there."""
    assert (
        call(
            "run", "old_town", "--no-pictures", "--out", "out", "--set", "season.end=2030-12-15"
        ).exit_code
        == 0
    )
    assert {"old_town_flow.csv", "old_town_weather.csv", "scenario.toml"} == set(
        os.listdir("out/inputs")
    )
    assert call("check", "out/inputs/scenario.toml").exit_code == 0


@pytest.mark.parametrize("flow", ["{here}/data/flow.csv", "data/../../{name}/data/flow.csv"])
def test_files_come_along_under_plain_names(tmp_path, flow):
    """By whatever way a scenario names a file in its folder, the copy lies in the results, and
    nothing is written anywhere else."""
    place = tmp_path / "mine"
    (place / "data").mkdir(parents=True)
    read = (bundled_folder() / "old_town.toml").read_text()
    for kind in ("flow", "weather"):
        text = (bundled_folder() / f"old_town_{kind}.csv").read_text()
        (place / "data" / f"{kind}.csv").write_text(text)
    flow = flow.format(here=place.as_posix(), name=place.name)
    read = read.replace("old_town_flow.csv", flow).replace(
        "old_town_weather.csv", "data/weather.csv"
    )
    (place / "town.toml").write_text(read)
    before = sorted(tmp_path.rglob("*"))
    short = ("--no-pictures", "--set", "season.end=2030-12-15")
    done = call("run", "mine/town.toml", *short, "--out", "deep/er/out")
    assert done.exit_code == 0, done.output
    assert {"flow.csv", "weather.csv", "scenario.toml"} == set(os.listdir("deep/er/out/inputs"))
    assert (
        sorted(
            path for path in tmp_path.rglob("*") if path.relative_to(tmp_path).parts[0] != "deep"
        )
        == before
    )
    shutil.rmtree(place)
    again = call("check", "deep/er/out/inputs/scenario.toml")
    assert again.exit_code == 0, again.output


def test_files_of_the_same_name_are_kept_apart(tmp_path):
    """Of two scenarios whose files have one name, each runs from its own copy."""
    for name, factor in (("a", 1.0), ("b", 2.0)):
        (tmp_path / name).mkdir()
        for kind in ("flow", "weather"):
            text = (bundled_folder() / f"old_town_{kind}.csv").read_text()
            if kind == "flow":
                text += f"# {factor}\n"
            (tmp_path / name / f"old_town_{kind}.csv").write_text(text)
        toml = (bundled_folder() / "old_town.toml").read_text()
        (tmp_path / name / "town.toml").write_text(toml)
        write_scenario(read_scenario(f"{name}/town.toml"), tmp_path / "out", f"{name}.toml")
    for name in ("a", "b"):
        file = next(iter(read_scenario(f"out/{name}.toml").river.values())).inflow.file
        assert (tmp_path / "out" / file).read_text() == (
            tmp_path / name / "old_town_flow.csv"
        ).read_text()


def test_changes_are_in_the_inputs_that_are_kept():
    """--set and --scale act on the run, and stand in the scenario that is written."""
    call(
        "run",
        *SMALL,
        "--set",
        "town.larkmill.people=31000",
        "--scale",
        "river.wren.inflow=50%",
        "--no-pictures",
        "--out",
        "out",
    )
    kept = read_scenario("out/inputs/scenario.toml")
    assert kept.town["larkmill"].people == 31000.0
    before = read_scenario("first_town").river["wren"].inflow
    assert kept.river["wren"].inflow == pytest.approx(0.5 * before)
    # 25 ft3/s = 25 x 0.3048^3 m3/s x 86400 s/d, by the international foot
    assert before == pytest.approx(25 * 0.3048**3 * 86400)


def test_pictures_come_with_captions(tmp_path):
    """The most used town's four pictures, the river's map and where the used water was used."""
    assert call("run", *SMALL, "--out", "out").exit_code == 0
    kinds = ("glass", "loop", "parcel", "season")
    assert set(os.listdir("out/pictures")) == {
        "captions.txt",
        "map.png",
        "map.svg",
        "because.png",
        "because.svg",
        *(f"penhollow_{kind}.{ending}" for kind in kinds for ending in ("png", "svg")),
    }
    captions = (tmp_path / "out/pictures/captions.txt").read_text()
    assert all(f"penhollow_{kind}\n  " in captions for kind in kinds)
    assert (tmp_path / "out/pictures/penhollow_loop.png").read_bytes().startswith(b"\x89PNG")


def test_a_folder_is_refused_before_anything_is_run(tmp_path):
    """A folder that is there is refused with exit code 2, and force replaces it."""
    assert call("run", *SMALL, "--no-pictures", "--out", "out").exit_code == 0
    before = (tmp_path / "out/answer.txt").read_text()
    again = call("run", *SMALL, "--no-pictures", "--out", "out", "--units", "metric")
    assert again.exit_code == 2
    assert again.stdout == ""
    assert "Add --force" in again.stderr
    assert (tmp_path / "out/answer.txt").read_text() == before
    assert (
        call(
            "run", *SMALL, "--no-pictures", "--out", "out", "--force", "--units", "metric"
        ).exit_code
        == 0
    )
    assert "ML/day" in (tmp_path / "out/answer.txt").read_text()


def test_json_is_one_object_on_stdout():
    """With --json stdout is one object and nothing else; the folder is written all the same."""
    done = process("run", *SMALL, "--no-pictures", "--json")
    assert done.returncode == 0
    told = json.loads(done.stdout)
    validate(told, SCHEMA)
    assert set(told["facts"]["answer"]) == {"larkmill", "penhollow"}
    assert told["facts"]["headline_town"] == "penhollow"
    files = told["written"]["files"]
    assert {"record.nc", "answer.txt", "answer.html", "tables/towns.csv"} <= set(files)
    assert os.path.isfile(os.path.join(told["written"]["place"], "record.nc"))


def test_units_are_those_asked_for():
    """The same run in metric shows megalitres, in US units million gallons."""
    us, metric = (
        call("run", *SMALL, "--full", "--no-pictures", "--units", units, "--out", units).stdout
        for units in ("us", "metric")
    )
    assert "Mgal/day" in us
    assert "ML" not in us
    assert "ML/day" in metric
    assert "gal" not in metric


def test_numbers_that_puzzle_are_explained_where_they_stand():
    """What water age means, and where a town at the head gets used water from, is said."""
    told = " ".join(
        call(
            "run", *SMALL, "--full", "--no-pictures", "--set", "river.wren.used_before=5 %"
        ).stdout.split()
    )
    assert "water age: time since the water left the plant" in told
    assert "5 % of what the Wren brings was used before already, above the map" in told
    assert "all effluent counts" in told
    plain = call("run", *SMALL, "--full", "--no-pictures", "--out", "plain").stdout
    assert "used before already" not in plain


def test_a_range_is_taken_at_its_middle_and_said():
    """A run of a scenario with ranges says which values are the middle of one."""
    assert (
        "Taken at the middle of its range: town.larkmill.mains.real_losses."
        in call("run", "five_towns", "--no-pictures").stdout
    )


@pytest.mark.parametrize(
    "changed", ["river.wren.inflow=20 cfs", 'river.wren={ length = "40 km", inflow = "20 cfs" }']
)
def test_what_a_run_offers_next_can_be_asked(changed):
    """Every command that a run ends with is one that works as it stands, and the glass is that of
    the run, with its changes."""
    told = json.loads(call("run", *SMALL, "--set", changed, "--no-pictures", "--json").stdout)
    offered = [one["command"].removeprefix("hydroloop ") for one in told["ask_next"]]
    assert [words.split()[0] for words in offered] == ["glass", "compare"]
    for words in offered:
        done = call(*shlex.split(words), "--json")
        assert done.exit_code == 0, done.output
        assert json.loads(done.stdout)
    glass = " ".join(call(*shlex.split(offered[0]), "--no-pictures").stdout.split())
    (town,) = [row for row in told["tables"]["towns"] if row["town"] == "penhollow"]
    (season,) = re.findall(r"Over the whole season it was ([\d.]+) %", glass)
    assert float(season) == pytest.approx(100.0 * town["season_used_share"], rel=0.1)


def test_glass_answers_for_its_most_used_day_and_draws_it():
    """Without town and date it is the most-used town on its day; a picture is written."""
    result = call("glass", *SMALL)
    assert result.exit_code == 0
    assert result.stdout.startswith("A glass of tap water in Penhollow, ")
    (picture,) = os.listdir()
    assert re.fullmatch(r"penhollow-2031-\d\d-\d\d-glass\.png", picture)
    assert f"Written: {picture}" in result.stdout


def test_glass_of_a_date_is_that_of_the_date():
    """The date asked for is the date answered for, with its own time since the last use."""
    told = [
        json.loads(
            call("glass", SMALL[0], "penhollow", date, *SMALL[1:], "--json", "--no-pictures").stdout
        )
        for date in ("2031-05-10", "30 May")
    ]
    assert [one["facts"]["date"] for one in told] == ["2031-05-10", "2031-05-30"]
    layers = [[layer["share"] for layer in one["tables"]["layers"]] for one in told]
    for one, (*shares, unknown) in zip((one["facts"] for one in told), layers, strict=True):
        assert sum(shares) + unknown == pytest.approx(1.0)
        assert one["unknown_share"] == unknown
        assert one["used_share"] == pytest.approx(sum(shares[1:]))
        assert one["within_7"] <= one["within_30"] <= one["within_90"] <= 1.0 + 1e-12
    assert layers[0] != layers[1]


def test_glass_keeps_a_picture_that_is_there(tmp_path):
    """A picture of the same name is left alone and said so; named by --out it is refused."""
    words = ("glass", SMALL[0], "penhollow", "2031-05-10", *SMALL[1:])
    assert call(*words).exit_code == 0
    picture = tmp_path / "penhollow-2031-05-10-glass.png"
    picture.write_bytes(b"mine")
    again = call(*words)
    assert again.exit_code == 0
    assert "was left as it is: it may show another run" in again.stderr
    assert json.loads(call(*words, "--json").stdout)["written"] is None
    assert "A glass of tap water" in again.stdout
    named = call(*words, "--out", picture.name)
    assert named.exit_code == 2
    assert named.stdout == ""
    assert picture.read_bytes() == b"mine"
    kept = call(*words, "--force")
    assert "It is not as hydroloop writes it: --out names another" in kept.stderr
    assert picture.read_bytes() == b"mine"
    picture.unlink()
    assert call(*words).exit_code == 0
    assert json.loads(call(*words, "--force", "--json").stdout)["written"]["files"] == [
        picture.name
    ]


def test_glass_can_be_an_svg(tmp_path):
    """--out takes .svg; endings of files that are not written are refused before the run."""
    words = ("glass", SMALL[0], "penhollow", *SMALL[1:])
    assert call(*words, "--out", "g.svg").exit_code == 0
    assert "<svg" in (tmp_path / "g.svg").read_text()
    refused = call(*words, "--out", "g.jpg")
    assert refused.exit_code == 2
    assert "or a file that ends in" in refused.stderr


def test_drops_of_a_seed_are_always_the_same():
    """The same seed gives the same diaries, another seed others."""

    def told(seed):
        return call("drops", *SMALL, "--count", "4", "--seed", seed).stdout

    assert told("5") == told("5")
    assert told("5") != told("6")
    assert told("5").count("\nDrop ") == 4


def test_drops_backward_end_in_the_glass():
    """Drops are of a glass unless forward is asked for: they end at the tap on the date."""
    told = json.loads(
        call(
            "drops", SMALL[0], "penhollow", "2031-05-20", *SMALL[1:], "--json", "--count", "6"
        ).stdout
    )
    assert told["facts"]["backward"] is True
    assert len(told["tables"]["drops"]) == 6
    for drop in told["tables"]["drops"]:
        diary = [line for line in told["tables"]["diaries"] if line["drop"] == drop["drop"]]
        assert diary[-1]["text"] == "comes out of a tap in Penhollow: this is the glass"
        assert diary[-1]["from"] == "2031-05-20"
        assert drop["uses"] == sum("(use " in line["text"] for line in diary)


def test_drops_go_into_a_page_or_a_folder(tmp_path, monkeypatch):
    """--out writes the diaries as a page, or with tables into a folder; a plan changes them."""
    monkeypatch.chdir(tmp_path)
    Path("plan.toml").write_text(
        '[plan]\ntitle = "Grow"\n[[step]]\nwhat = "Grow"\nset = { "season.end" = "2031-05-10" }\n'
    )
    page = call("drops", *SMALL, "--plan", "plan.toml", "--out", "drops.html")
    assert page.exit_code == 0, page.output
    assert "Drop 1" in Path("drops.html").read_text()
    assert "to 10 May 2031" in page.stdout
    assert call("drops", *SMALL, "--out", "drops").exit_code == 0
    assert Path("drops/tables/diaries.csv").is_file()
    assert call("drops", *SMALL, "--out", "drops.html").exit_code == 2


def test_bundled_names_work_in_every_command():
    """The name of a bundled scenario stands for its file, from any folder."""
    for words in (("check",), ("drops",), ("glass", "--no-pictures"), ("run", "--no-pictures")):
        assert call(words[0], "first_town", *words[1:]).exit_code == 0


def test_drops_of_a_glass_begin_with_their_count_and_the_exact_share(tmp_path, monkeypatch):
    """Without a town or a day they are of the glass that `glass` shows, and of 400 about as many
    were used as the exact share says: within four standard deviations."""
    monkeypatch.chdir(tmp_path)
    printed = call("drops", "first_town", "--count", "400").stdout
    found = re.search(
        r"(\d+) of 400 had been in a home before; the exact share is ([\d.]+) %", printed
    )
    assert found, printed[:400]
    share = float(found[2]) / 100.0
    assert abs(int(found[1]) / 400 - share) < 4.0 * (share * (1.0 - share) / 400) ** 0.5
    assert f"{found[2]} % of Penhollow's tap water had been" in " ".join(
        call("glass", "first_town", "--no-pictures").stdout.split()
    )


def test_drops_forward_begin_with_their_count_and_the_exact_share():
    """Of 400 drops that a town takes in about as many go through a home as `follow` says: within
    four standard deviations."""
    printed = call("drops", "first_town", "--forward", "--count", "400").stdout
    found = re.search(
        r"(\d+) of 400 went through a home at least once; the exact share is "
        r"([\d.]+) %",
        printed,
    )
    assert found, printed[:400]
    record = simulate(read_scenario("first_town"))
    fate = follow(record, at="larkmill/rapid_mix", on="2031-04-01").share
    share = 1.0 - float(fate.sel(use=0).sum())
    assert found[2] == f"{100 * share:.0f}"
    assert abs(int(found[1]) / 400 - share) < 4.0 * (share * (1.0 - share) / 400) ** 0.5


def test_drops_that_were_used_often_are_drawn_and_said_to_be_rare():
    """Every drop has the uses asked for, and the first line says how rare such drops are."""
    words = (
        "drops",
        "first_town",
        "--used",
        "2",
        "--set",
        "river.wren.used_before=[0.979, 0.02, 0.001]",
    )
    told = json.loads(call(*words, "--json").stdout)
    assert min(drop["uses"] for drop in told["tables"]["drops"]) >= 2
    share = told["facts"]["used_share"]
    printed = " ".join(call(*words).stdout.split())
    assert "of this water had been in a home twice or more: about one drop in " in printed
    assert f"about one drop in {float(f'{1 / share:.2g}'):.0f}. Only such drops" in printed
    assert "has been used once before" in printed or "has been used twice before" in printed


def test_drops_that_nobody_has_are_refused():
    """Where no drop had so many uses the message says how many the most are; forward asks nothing
    of the past."""
    done = call("drops", "first_town", "--used", "6")
    assert done.exit_code == 2
    assert re.match(
        r"--used: no drop of this glass \(\d+ July 2031\) had been in a home six or "
        r"more times. The most is once.",
        done.stderr,
    )
    done = call("drops", "first_town", "larkmill", "--used", "1")
    assert "None had been used at all: choose another town or date." in done.stderr
    done = call("drops", "first_town", "--forward", "--used", "1")
    assert done.exit_code == 2
    assert "leave --forward out" in done.stderr
