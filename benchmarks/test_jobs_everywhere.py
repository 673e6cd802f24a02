"""The five jobs on every size, by mouse and by the keyboard alone. Run with `make bench`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page
from tests.browser.conftest import base_url, browser_type_launch_args, watched
from tests.browser.test_jobs import HANDS, JOBS, SIZES, Visit, done

__all__ = ["base_url", "browser_type_launch_args", "watched"]


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.__name__)
@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("size", SIZES)
def test_a_job_everywhere(
    watched: Page, job: Callable[[Visit], None], size: str, hand: str, tmp_path: Path
) -> None:
    done(watched, job, f"{size} {hand}", tmp_path)
