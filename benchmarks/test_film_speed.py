"""Speed and memory of reading a film as a phone writes it. Run with `make bench`.

Asked: a minute of 1080p at 30 frames a second in less than 30 s on two cores, and less than 500 MB
whatever the length. The whole command is timed, its start and its judging included; processor time
is told beside, so that whatever else the machine does shows.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from multiprocessing import get_context
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from arm_motion import Motion

PERIOD, TURNS = 5.0, 12
RATE = 30


class Cost(NamedTuple):
    wall: float
    processor: float
    megabytes: float


def write_minutes(path: Path, turns: int) -> None:
    """One drawn turn, written over and over: what a longer film costs, not what it shows."""
    import av

    from film_maker import Drawer, Scene

    scene = Scene(
        width=1920,
        height=1080,
        rate=RATE,
        tilt=15,
        exposure=0.004,
        motion=Motion(period=PERIOD, ringing=0.06, frequency=16 / PERIOD, damping=0.04),
    )
    drawer = Drawer(scene)
    drawn = [drawer.frame(number / RATE) for number in range(round(PERIOD * RATE))]
    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=RATE, options={"crf": "23", "preset": "veryfast"})
        stream.width, stream.height, stream.pix_fmt = scene.width, scene.height, "yuv420p"
        for number in range(turns * len(drawn)):
            picture = drawn[number % len(drawn)]
            frame = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, RATE)
            film.mux(stream.encode(frame))
        film.mux(stream.encode())


def cost_of(path: Path) -> Cost:
    """What the command takes for a film."""
    began = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, "-m", "woold", "dancer", "video", str(path), "--json"],
        stdout=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    assert child.returncode in (0, 1)
    wall = time.perf_counter() - began
    return Cost(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1e3)


def test_a_minute_of_1080p(tmp_path: Path) -> None:
    pytest.importorskip("cv2")
    path = tmp_path / "minute.mp4"
    # Drawn elsewhere: what a process takes before it becomes another program counts for that one.
    with ProcessPoolExecutor(1, get_context("spawn")) as elsewhere:
        elsewhere.submit(write_minutes, path, TURNS).result()
        cost = cost_of(path)
        # Three times as long costs no more memory than its numbers take.
        elsewhere.submit(write_minutes, path, 3 * TURNS).result()
        longer = cost_of(path)
    for each in (cost, longer):
        print(f"\n{each.wall:.1f} s, processor {each.processor:.1f} s, {each.megabytes:.0f} MB")
    assert np.isfinite(cost.wall)
    assert cost.wall < 30
    assert max(cost.megabytes, longer.megabytes) < 500
    assert longer.megabytes < cost.megabytes + 30


if __name__ == "__main__":
    write_minutes(Path(sys.argv[1]), int(sys.argv[2]))
