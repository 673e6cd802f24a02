"""Learning from trials: its parts against the prediction, its answers against independent sums."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from demo_run import DemoRun
from whole_case import whole_case

pytest.importorskip("nutpie")

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.cli.main import run
from woold.learning.density import SITE_SPREADS, SPREAD_OF_SPREADS, WAY_SPREADS, LogDensity
from woold.learning.emulator import emulated
from woold.learning.forecast import forecast
from woold.learning.learned import learn
from woold.learning.log_readings import log_readings
from woold.learning.sampling import Diagnostics, sampled
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
