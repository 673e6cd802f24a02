"""Any request that the description of the interface allows, and many that it does not: no 5xx."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from woold.web.app import create_app
from woold.web.settings import WebSettings

EXAMPLES = 8

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]


@pytest.fixture(scope="module")
def interface(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("store")
    app: FastAPI = create_app(WebSettings(store=str(folder / "store.sqlite"), hosts=()))
    return schemathesis.openapi.from_asgi("/openapi.json", app)


def test_any_request(interface: Any) -> None:
    count = 0
    for found in interface.get_all_operations():
        operation = found.ok()

        @settings(max_examples=EXAMPLES, suppress_health_check=list(HealthCheck))
        @given(case=operation.as_strategy(generation_mode=GenerationMode.POSITIVE))
        def allowed(case: Any) -> None:
            case.call_and_validate(checks=CHECKS)

        @settings(max_examples=EXAMPLES, suppress_health_check=list(HealthCheck))
        @given(case=operation.as_strategy(generation_mode=GenerationMode.NEGATIVE))
        def spoilt(case: Any) -> None:
            case.call_and_validate(checks=CHECKS)

        allowed()
        # An operation that takes any picture cannot be given a wrong one.
        with contextlib.suppress(Unsatisfiable):
            spoilt()
        count += 1
    assert count > 20
