"""The API as it describes itself: whatever is sent, no fault, and only answers that it names."""

from __future__ import annotations

import json
import urllib.request
from collections.abc import Iterator

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from web_serving import Served

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    opened = Served(tmp_path_factory.mktemp("contract") / "contract.db")
    opened.start()
    yield opened
    opened.close()


def test_the_api_answers_as_it_says(served: Served) -> None:
    """Every operation, with bodies and parameters made from its description and against it."""
    described = schemathesis.openapi.from_url(f"{served.base}/api/1/openapi.json")
    asked = []
    for result in described.get_all_operations():
        operation = result.ok()
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):

            @settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck), database=None)
            @given(case=operation.as_strategy(generation_mode=mode))
            def ask(case: schemathesis.Case) -> None:
                case.call_and_validate(checks=CHECKS, timeout=30)

            try:
                ask()
            except Unsatisfiable:
                continue  # without a parameter nothing can be wrong
            asked.append(operation.label)
    assert len(set(asked)) >= 14


def test_the_description_is_openapi_and_names_every_command(served: Served) -> None:
    """OpenAPI 3.1, "paths" and "responses": the three answers are those whose schemas ship."""
    with urllib.request.urlopen(f"{served.base}/api/1/openapi.json", timeout=30) as answer:
        found = json.load(answer)
    assert found["openapi"].startswith("3.")
    for name in ("judge", "job", "road"):
        schema = found["paths"][f"/api/1/{name}"]["post"]["responses"]["200"]
        assert "properties" in schema["content"]["application/json"]["schema"]
