"""One drawn film of a ringing arm in many encodings: what a phone's encoder does to the bounce.

Asked: the frequency within 1 %, the damping within 15 % whatever the threads, presets and quality.
Run with `make bench`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from arm_motion import Motion
from film_maker import Scene, write_film
from woold.filmed.film_study import FilmAsk, study_film

MOTION = Motion(period=5.0, ringing=0.06, frequency=3.2, damping=0.04)
ENCODINGS: tuple[tuple[str, int, dict[str, str]], ...] = (
    *(("libx264", 23, {"x264-params": f"threads={count}"}) for count in (1, 2, 3, 4, 16)),
    *(("libx264", 23, {"preset": name}) for name in ("ultrafast", "superfast", "fast", "medium")),
    *(("libx264", quality, {}) for quality in (15, 18, 20, 26, 28)),
    *(("libx265", quality, {}) for quality in (22, 28)),
    ("libvpx-vp9", 34, {"deadline": "realtime", "cpu-used": "8"}),
)


@pytest.mark.parametrize("seed", [1, 2])
def test_bounce_in_many_encodings(tmp_path: Path, seed: int) -> None:
    pytest.importorskip("cv2")
    scene = Scene(width=480, height=270, length=27, tilt=15, shake=1, motion=MOTION, seed=seed)
    off = []
    for number, (codec, quality, encoder) in enumerate(ENCODINGS):
        path = tmp_path / f"{number}.mp4"
        write_film(path, scene, codec=codec, quality=quality, encoder=encoder)
        trace = study_film(path, FilmAsk()).study.trace
        assert trace is not None
        assert trace.bounce is not None
        off.append((trace.bounce.frequency_hz / 3.2 - 1, trace.bounce.damping / 0.04 - 1))
        print(f"\n{codec} {quality} {encoder}: f {off[-1][0]:+.2%} zeta {off[-1][1]:+.1%}", end="")
    worst = np.abs(off).max(axis=0)
    assert worst[0] < 0.01
    assert worst[1] < 0.15
