"""A local Spark, which needs Java: one for the tests of a module."""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

_OPTIONS = (
    "spark.driver.extraJavaOptions=-XX:TieredStopAtLevel=1",
    "spark.sql.codegen.wholeStage=false",
    "spark.sql.shuffle.partitions=1",
    "spark.ui.enabled=false",
)
"""For a few rows: nothing that pays for millions of them only."""


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
    options = " ".join(f"--conf {each}" for each in _OPTIONS)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYSPARK_SUBMIT_ARGS", f"{options} pyspark-shell")
        yield
    from pyspark.sql import SparkSession

    SparkSession.builder.getOrCreate().stop()
