"""A local Spark, which needs Java: one for the tests of a module."""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import pytest


@contextmanager
def spark_if(is_asked: bool) -> Iterator[None]:
    """Within it Spark may be used, if it is asked for; it is stopped at the end.

    Where it is missing the tests are skipped, unless all of them must run.
    """
    if not is_asked:
        yield
        return
    missing = importlib.util.find_spec("pyspark") is None or shutil.which("java") is None
    if missing and not os.environ.get("WOOLD_ALL_TESTS"):
        pytest.skip("needs pyspark and Java: make spark")
    yield
    from pyspark.sql import SparkSession

    SparkSession.builder.getOrCreate().stop()
