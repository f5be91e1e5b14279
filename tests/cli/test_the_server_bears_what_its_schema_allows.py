"""The server is asked by lot whatever its description allows, and what it does not.

Short and seeded here. The long form: HYDROLOOP_LONG_FUZZ=1 pytest with this file and -s.
"""

from __future__ import annotations

import json
import os
from collections import Counter

import hypothesis
import pytest
from cli.test_the_server_is_safe import FIRST, Server
from hypothesis import strategies as st

from hydroloop.scenario.bundled import bundled_folder
from hydroloop.web.openapi import description

PATHS = description()["paths"]
LONG = bool(os.environ.get("HYDROLOOP_LONG_FUZZ"))
SCENARIOS = ("first_town", "five_towns") if LONG else ("first",)
ASKED = [(path, "", "positive") for path in PATHS if "{name}" not in path] + [
    (path, name, mode)
    for path in PATHS
    if "{name}" in path
    for name in SCENARIOS
    for mode in ("positive", "negative")
]  # path, scenario, as described or against it
DIALS = ("dryness", "heat", "people", "leaks", "fixtures", "reuse")
LOT = hypothesis.settings(
    max_examples=500 if LONG else 25,
    deadline=None,
    database=None,
    derandomize=not LONG,
    suppress_health_check=list(hypothesis.HealthCheck),
)


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    (folder / "first.toml").write_text(FIRST, encoding="utf-8")
    made = Server(bundled_folder() if LONG else folder)
    with made.begun:
        yield made


@pytest.mark.parametrize(("path", "name", "mode"), ASKED)
def test_every_answer_is_one_that_is_described(server, path, name, mode):
    """Whatever is sent, as described or against it, the status is described, the body has the form,
    and the server goes on."""
    schemathesis = pytest.importorskip("schemathesis")
    checks = pytest.importorskip("schemathesis.specs.openapi.checks")
    schema = schemathesis.openapi.from_dict(description())
    schema.config.update(base_url=f"http://127.0.0.1:{server.port}")
    (method,) = PATHS[path]
    asked = Counter()

    @LOT
    @hypothesis.given(
        case=schema[path][method.upper()].as_strategy(schemathesis.GenerationMode(mode)),
        places=st.lists(st.integers(0, 3), max_size=6),
    )
    def ask(case, places):
        is_own = mode == "positive" or len(places) % 2 == 0
        if case.path_parameters and is_own:  # the name of a scenario that is there
            case.path_parameters["name"] = name
        if isinstance(case.body, dict) and case.body.get("dials") and mode == "positive":
            case.body["dials"] = dict(zip(DIALS, places, strict=False))  # and of dials
        asked[
            case.call_and_validate(
                checks=[
                    checks.status_code_conformance,
                    checks.content_type_conformance,
                    checks.response_schema_conformance,
                ]
            ).status_code
        ] += 1

    ask()
    print(path, name, mode, dict(asked))
    assert asked
    assert max(asked) < 500
    assert server.ask("GET", "/api/queue")[0] == 200


@hypothesis.settings(LOT, max_examples=500 if LONG else 60)
@hypothesis.given(
    body=st.one_of(
        st.binary(max_size=300),
        st.recursive(
            st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
            lambda inner: (
                st.lists(inner)
                | st.dictionaries(
                    st.text() | st.sampled_from(["dials", "plan", "count_as", "heat"]), inner
                )
            ),
            max_leaves=12,
        ),
    )
)
def test_any_body_gets_a_plain_answer(server, body):
    """Any bytes and any JSON get an answer with words, and none a fault."""
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    status, text, _ = server.ask(
        "POST", f"/api/scenarios/{SCENARIOS[0]}/run", data, Content_Type="application/json"
    )
    assert status in (200, 400, 413, 422)
    assert status == 200 or json.loads(text)["problems"]
