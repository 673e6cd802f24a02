"""A server in this process, asked as a page asks it, and files as a page sends them."""

from __future__ import annotations

import base64
import importlib.resources
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from woold.web.app import create_app
from woold.web.settings import WebSettings


@contextmanager
def page_client(store: Path, page: str) -> Iterator[TestClient]:
    """A client that has opened a page, whose token it sends along."""
    app = create_app(WebSettings(store=str(store), user="Tester"))
    with TestClient(app, base_url="http://localhost") as client:
        client.get(page)
        client.headers["x-csrf-token"] = client.cookies.get("woold_csrf", "")
        yield client


def sent(path: Path) -> dict[str, str]:
    """A file inside of a document."""
    return {"name": path.name, "content": base64.b64encode(path.read_bytes()).decode()}


def case_table(name: str) -> dict[str, Any]:
    """A case of the demo as a page sends it."""
    text = importlib.resources.files("woold.demo").joinpath(f"files/{name}").read_text("utf-8")
    table = tomllib.loads(text)
    # As a page sends it: days are text, which this does not need.
    table.get("plant", {}).pop("packaging_tax", None)
    return table
