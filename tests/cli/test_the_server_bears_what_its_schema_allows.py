"""The server is asked by lot whatever its description allows, and what it does not."""

from __future__ import annotations

import json

import hypothesis
import pytest
from cli.test_the_server_is_safe import FIRST, Server
from hypothesis import strategies as st

from hydroloop.web.openapi import description

PATHS = description()["paths"]


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    (folder / "first.toml").write_text(FIRST, encoding="utf-8")
    made = Server(folder)
    with made.begun:
        yield made


@pytest.mark.parametrize("path", list(PATHS))
def test_every_answer_is_one_that_is_described(server, path):
    """Whatever is sent, the status is described, the body has the form, and the server goes on."""
    schemathesis = pytest.importorskip("schemathesis")
    checks = pytest.importorskip("schemathesis.specs.openapi.checks")
    schema = schemathesis.openapi.from_dict(description())
    schema.config.update(base_url=f"http://127.0.0.1:{server.port}")
    (method,) = PATHS[path]
    asked = []

    @hypothesis.settings(max_examples=25, deadline=None, database=None, derandomize=True,
                         suppress_health_check=list(hypothesis.HealthCheck))
    @hypothesis.given(case=schema[path][method.upper()].as_strategy())
    def ask(case):
        if case.path_parameters:  # the name of a scenario that is there
            case.path_parameters["name"] = "first"
        asked.append(case.call_and_validate(checks=[
            checks.status_code_conformance, checks.content_type_conformance,
            checks.response_schema_conformance]).status_code)

    ask()
    assert len(asked) >= 1
    assert max(asked) < 500
    assert server.ask("GET", "/api/queue")[0] == 200


@hypothesis.settings(max_examples=60, deadline=None, database=None, derandomize=True,
                     suppress_health_check=list(hypothesis.HealthCheck))
@hypothesis.given(body=st.one_of(st.binary(max_size=300), st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text() | st.sampled_from(
        ["dials", "plan", "count_as", "heat"]), inner), max_leaves=12)))
def test_any_body_gets_a_plain_answer(server, body):
    """Any bytes and any JSON get an answer with words, and none a fault."""
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    status, text, _ = server.ask("POST", "/api/scenarios/first/run", data,
                                 Content_Type="application/json")
    assert status in (200, 400, 413, 422)
    assert status == 200 or json.loads(text)["problems"]
