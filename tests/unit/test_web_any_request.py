"""Any request that the description of the interface allows, and many that it does not: no 5xx."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from woold.web.app import create_app
from woold.web.settings import WebSettings


@pytest.fixture(scope="module")
def interface(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("store")
    app: FastAPI = create_app(WebSettings(store=str(folder / "store.sqlite"), hosts=()))
    return schemathesis.openapi.from_asgi("/openapi.json", app)


schema = schemathesis.pytest.from_fixture("interface")


@schema.parametrize()
@settings(max_examples=12, suppress_health_check=list(HealthCheck))
def test_any_request(case: Any) -> None:
    case.call_and_validate(
        checks=[
            not_a_server_error,
            status_code_conformance,
            content_type_conformance,
            response_schema_conformance,
        ]
    )
