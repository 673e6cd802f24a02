"""Films of a known motion, drawn by a camera in space (`film_maker`), read back.

Every expectation is the motion that was drawn, or what was done to the film: nothing of it is
computed by the code under test.
"""

from __future__ import annotations

import io
import json
import os
import re
import struct
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

av = pytest.importorskip("av")
cv2 = pytest.importorskip("cv2")

from arm_motion import Motion  # noqa: E402
from film_maker import Drawer, Scene, frame_times, without_tags, write_film  # noqa: E402
from woold.cli.main import run  # noqa: E402
from woold.dancer.trace_file import read_trace  # noqa: E402
from woold.errors import InputError  # noqa: E402
from woold.filmed.film_file import film_frames, open_film  # noqa: E402
from woold.filmed.film_study import FilmAsk, FilmResult, study_film  # noqa: E402
from woold.filmed.point_tracks import PickedPoints  # noqa: E402
from woold.filmed.reading import FilmReading, read_film  # noqa: E402
from woold.filmed.tag_edges import refined  # noqa: E402
from woold.filmed.tags import found_tags, tag_cells  # noqa: E402
from woold.filmed.trace_table import trace_table  # noqa: E402

SLOW = Motion(period=5.0, ringing=0.06, frequency=3.2, damping=0.04)
RINGING = pytest.mark.xdist_group("ringing-film")
"""Tests of one film, drawn and read once: in one process."""
SMALL = Scene(width=400, height=224)
"""Where nothing hangs on fine angles: a small picture is drawn and read in a third of the time."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("films")


def _read(folder: Path, scene: Scene, name: str = "film.mp4", **how: Any) -> FilmReading:
    write_film(folder / name, scene, **how)
    return read_film(folder / name)


def _off(scene: Scene, reading: FilmReading) -> np.ndarray:
    """How far each angle is from the drawn one, but for the zero, which is free [deg].

    The camera looks down: what turns leftwards in the scene turns so in the picture, where angles
    are counted rightwards.
    """
    arm = reading.arm
    off = arm.angle + scene.motion.angle(arm.time)
    return np.degrees(off - np.nanmedian(off))


@pytest.mark.parametrize(
    ("scene", "how", "most"),
    [
        (Scene(length=3), {}, 0.15),
        (Scene(length=3, tilt=30, shake=3, noise=6), {}, 0.3),
        (Scene(length=3, tilt=30, towards=130, exposure=0.008), {"quality": 28}, 0.3),
        (Scene(length=3, tilt=20, rate=24, uneven=0.5, shake=2), {"codec": "libx265"}, 0.3),
        (Scene(length=1.5, rate=120, width=480, height=270, distance=0.9), {}, 0.3),
    ],
    ids=["straight", "tilted-30-shaken-noisy", "blurred", "uneven-times-hevc", "120-a-second"],
)
def test_angle_in_each_frame(folder: Path, scene: Scene, how: dict[str, Any], most: float) -> None:
    reading = _read(folder, scene, **how)
    assert reading.arm.seen.all()
    np.testing.assert_allclose(reading.arm.time, frame_times(scene), atol=2e-6)
    off = _off(scene, reading)
    assert np.sqrt((off**2).mean()) < most
    # The standard error that each frame states is neither boast nor excuse.
    assert 0.4 < np.sqrt(((off / np.degrees(reading.arm.error)) ** 2).mean()) < 1.8


def test_a_film_that_cannot_give_a_fine_angle_says_what_would(folder: Path) -> None:
    """Small tags in noise under a slant; then as large as was said to do, in the same noise."""
    far = Scene(
        motion=Motion(period=1.2), width=480, height=270, length=5.5, tilt=30, noise=6, shake=1,
        has_load=False,
    )  # fmt: skip
    write_film(folder / "far.mp4", far, quality=28)
    study = study_film(folder / "far.mp4", FilmAsk()).study
    told = {each.code: each.message for each in study.findings}["angle-unsure"]
    side, needed = map(float, re.findall(r"(\d+) pixels wide; have both (\d+)", told)[0])
    assert side == pytest.approx(min(each.side_px for each in study.tags[:2]), abs=1)
    width, height = (round(each * needed / side / 2) * 2 for each in (480, 270))
    near = replace(far, width=width, height=height, length=2)
    reading = _read(folder, near, "near.mp4", quality=28)
    assert np.degrees(np.sqrt(np.nanmean(reading.arm.error**2))) < 0.3
    assert np.sqrt((_off(near, reading) ** 2).mean()) < 0.3


def test_rows_read_one_after_the_other_are_found_and_taken_out(folder: Path) -> None:
    quick = Motion(period=1.2, second=0.2, fourth=0.0)
    scene = Scene(length=2.4, readout=0.02, motion=quick, has_load=False, noise=2)
    reading = _read(folder, scene, quality=18)
    assert reading.arm.readout.value == pytest.approx(0.02, abs=0.004)
    assert np.sqrt((_off(scene, reading) ** 2).mean()) < 0.3
    # A camera held upside down reads from the other end.
    scene = replace(scene, length=1.7)
    write_film(folder / "over.mp4", scene, quality=18, changed=lambda p: np.rot90(p, 2).copy())
    assert read_film(folder / "over.mp4").arm.readout.value == pytest.approx(-0.02, abs=0.004)


def test_exposure_is_found_from_the_edges(folder: Path) -> None:
    quick = Motion(period=1.2, second=0.2, fourth=0.0)
    scene = Scene(length=2.4, exposure=0.014, motion=quick, has_load=False, noise=2)
    shutter = _read(folder, scene, quality=18).arm.shutter
    assert shutter is not None
    assert shutter.value == pytest.approx(0.014, rel=0.2)


def test_a_phone_held_upright(folder: Path) -> None:
    """The turn stands in the film's head (ISO/IEC 14496-12, track header's matrix)."""
    scene = Scene(length=2.0)
    write_film(folder / "level.mp4", scene)
    level = read_film(folder / "level.mp4")
    content = bytearray((folder / "level.mp4").read_bytes())
    head = content.find(b"tkhd") + 4
    at = head + 4 + (20 if content[head] == 0 else 32) + 16
    struct.pack_into(">9i", content, at, 0, 1 << 16, 0, -(1 << 16), 0, 0, 0, 0, 1 << 30)
    (folder / "upright.mp4").write_bytes(content)
    upright = read_film(folder / "upright.mp4")
    film = upright.film
    assert (film.width, film.height, film.rotation) == (360, 640, 90)
    np.testing.assert_allclose(upright.arm.angle, level.arm.angle, atol=np.radians(0.1))


@pytest.fixture(scope="module")
def ringing(folder: Path) -> SimpleNamespace:
    scene = Scene(width=480, height=270, length=27, tilt=15, shake=1, motion=SLOW)
    write_film(folder / "ringing.mp4", scene)
    return SimpleNamespace(
        scene=scene,
        path=folder / "ringing.mp4",
        result=study_film(folder / "ringing.mp4", FilmAsk()),
    )


@RINGING
def test_bounce_of_a_film(ringing: SimpleNamespace) -> None:
    trace = ringing.result.study.trace
    assert trace.bounce.frequency_hz == pytest.approx(3.2, rel=0.01)
    assert trace.bounce.damping == pytest.approx(0.04, rel=0.15)
    assert trace.turn_period_s == pytest.approx(5.0, rel=0.002)
    assert trace.turn_is_certain
    assert ringing.result.study.turn_pulses == 6  # at 1.25 s and each 5 s after it, in 27 s


@RINGING
def test_what_a_film_says_of_itself(ringing: SimpleNamespace) -> None:
    """Frames, times, sizes and slant of the camera that drew it."""
    study, scene = ringing.result.study, ringing.scene
    assert (study.width_px, study.height_px, study.rotation_deg) == (480, 270, 0)
    assert study.frames == 27 * 30
    assert study.duration_s == pytest.approx(27 - 1 / 30, abs=1e-3)
    steps = (study.step_shortest_s, study.step_longest_s, 1 / study.frame_rate_hz)
    assert steps == pytest.approx((1 / 30,) * 3, rel=0.001)
    assert study.frequency_highest_hz == pytest.approx(15, rel=0.001)
    # A tag of 0.09 m seen from 1.2 m, by a lens of 1.1 picture widths.
    frame, arm, load = study.tags
    assert frame.side_px == pytest.approx(0.09 / 1.2 * 1.1 * 480, rel=0.1)
    assert frame.seen_share == arm.seen_share == 1
    # The load's tag is in sight for 1.2 of 2 pi of a turn; its first passage begins unlooked for.
    assert 0.1 < load.seen_share < 1.2 / (2 * np.pi)
    camera = Drawer(scene).camera
    to_tag = camera.place - np.array([-0.12, 0.10, 0.0])
    ray = np.degrees(np.arccos(to_tag[2] / np.linalg.norm(to_tag)))
    assert np.degrees(study.slant_rad) == pytest.approx(ray, abs=6)


@RINGING
def test_turns_by_the_loads_tag(ringing: SimpleNamespace) -> None:
    """Whatever line it passes: once a turn, at the same instant of it."""
    steps = np.diff(ringing.result.reading.pulses.times)
    np.testing.assert_allclose(steps, 5.0, atol=0.01)


@RINGING
def test_trace_as_a_table_reads_back(ringing: SimpleNamespace, tmp_path: Path) -> None:
    path = tmp_path / "trace.csv"
    path.write_bytes(trace_table(ringing.result))
    back = read_trace(path)
    trace = ringing.result.recording.trace
    np.testing.assert_allclose(back.trace.time, trace.time, atol=1e-6)
    np.testing.assert_allclose(back.trace.position, trace.position, atol=1e-7)
    np.testing.assert_allclose(back.trace.reading_error, trace.reading_error, atol=1e-7)
    assert back.kind == "angle"
    assert back.trace.turntable_angle is not None


def test_what_is_hidden_is_a_gap(folder: Path) -> None:
    scene = replace(SMALL, length=9, hidden=((0.5, 1.1), (7.4, 7.8)), motion=Motion(period=1.5))
    write_film(folder / "hidden.mp4", scene)
    result = study_film(folder / "hidden.mp4", FilmAsk())
    gaps = result.recording.trace.gaps
    assert len(gaps) == 2
    assert result.study.gap_longest_s == pytest.approx(0.6, abs=0.1)
    np.testing.assert_allclose(gaps.mean(axis=1), [0.8, 7.6], atol=0.1)
    assert result.study.lost_share == pytest.approx(1.0 / 9, abs=0.03)
    assert result.study.trace is not None
    assert "arm-hidden" in {each.code for each in result.study.findings}


def test_no_verdict_where_the_arm_was_hidden_for_more_than_a_fifth(folder: Path) -> None:
    scene = replace(SMALL, length=6, hidden=((1.0, 2.4),), motion=Motion(period=1.2))
    write_film(folder / "lost.mp4", scene)
    study = study_film(folder / "lost.mp4", FilmAsk()).study
    assert study.verdict == "cannot be said"
    assert study.trace is None


def test_no_verdict_on_an_arm_that_stands_still(folder: Path) -> None:
    """What is left to judge is the noise of the picture."""
    still = Motion(period=1.2, second=0.0, fourth=0.0)
    write_film(folder / "still.mp4", replace(SMALL, length=6, motion=still))
    study = study_film(folder / "still.mp4", FilmAsk()).study
    assert (study.verdict, study.trace) == ("cannot be said", None)
    assert "little more than this film can be read to" in study.sentence


def _picked(scene: Scene) -> PickedPoints:
    drawer = Drawer(scene)
    corners = [square.mean(axis=0) for _, square in drawer.squares(0.0)]
    frame, arm = (drawer.camera.seen(corner[None], 0.0)[0] for corner in corners)
    return PickedPoints(tuple(frame), tuple(arm))


def test_two_points_without_tags(folder: Path) -> None:
    scene = without_tags(Scene(length=4, shake=1.5, noise=4))
    write_film(folder / "bare.mp4", scene)
    picked = _picked(scene)
    reading = read_film(folder / "bare.mp4", picked)
    drawer, times = Drawer(scene), reading.arm.time
    drawn = []
    for time in times:
        frame, arm = (
            drawer.camera.seen(square.mean(axis=0)[None], time)[0]
            for _, square in drawer.squares(float(time))
        )
        drawn.append(np.arctan2(*(arm - frame)[::-1]))
    off = np.degrees(reading.arm.angle - np.array(drawn))
    assert reading.arm.seen.mean() > 0.95
    assert 0.6 < reading.kept_share <= 1
    assert np.sqrt(np.nanmean(off**2)) < 0.3
    assert 0.3 < np.sqrt(np.nanmean((off / np.degrees(reading.arm.error)) ** 2)) < 2.5
    for wrong, words in (
        (replace(picked, arm=picked.pivot), "from the pivot"),
        (replace(picked, arm=(9_999.0, 5.0)), "a point of the picture"),
    ):
        with pytest.raises(InputError, match=words):
            read_film(folder / "bare.mp4", wrong)


def test_corners_against_the_librarys_own_refinement() -> None:
    """No accuracy of its corners is published with OpenCV; ours are held against its subpixel
    refinement, on tags whose corners are drawn where they are known."""
    ours, theirs = [], []
    for seed in range(6):
        scene = Scene(seed=seed, tilt=20, noise=4, roll=17.0 * seed, has_load=False)
        drawer = Drawer(scene)
        grey = drawer.frame(0.1 * seed)
        places = found_tags(grey)
        for role, square in drawer.squares(0.1 * seed):
            middle = square.mean(axis=0)
            drawn = drawer.camera.seen(middle + (square - middle) * 6 / 8, 0.1 * seed)
            quad = places[role][0]
            edges = refined(grey, quad)
            assert edges is not None
            ours.append(edges.corners - drawn)
            rule = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.01)
            found = cv2.cornerSubPix(grey, quad.astype(np.float32), (4, 4), (-1, -1), rule)
            theirs.append(found - drawn)
    off, their_off = np.sqrt(np.mean(np.square(ours))), np.sqrt(np.mean(np.square(theirs)))
    assert off < 0.12
    assert off < their_off


def _cut(folder: Path, name: str, share: float) -> Path:
    content = (folder / "film.mp4").read_bytes()
    path = folder / name
    path.write_bytes(content[: int(share * len(content))])
    return path


def test_files_that_are_no_film(folder: Path) -> None:
    write_film(folder / "film.mp4", replace(SMALL, length=2.0))
    for name, content, words in (
        ("empty.mp4", b"", "an empty file"),
        ("text.mp4", b"time,dancer\n" * 200, "no film"),
        ("list.m3u8", b"#EXTM3U\nfile:///etc/passwd\n", "no film"),
        ("head.mp4", b"\0\0\0\x18ftypmp42" + b"\0" * 4000, "cannot be opened as a film"),
    ):
        (folder / name).write_bytes(content)
        with pytest.raises(InputError, match=words) as refused:
            read_film(folder / name)
        assert len(str(refused.value).splitlines()) == 1
    os.mkfifo(folder / "pipe.mp4")
    with pytest.raises(InputError, match="no plain file"):
        read_film(folder / "pipe.mp4")
    with av.open(str(folder / "sound.mp4"), "w") as sound:
        stream = sound.add_stream("aac", rate=44_100, layout="mono")
        hum = np.sin(np.arange(2048) / 20, dtype=np.float32)[None]
        part = av.AudioFrame.from_ndarray(hum, format="fltp", layout="mono")
        part.sample_rate = 44_100
        sound.mux(stream.encode(part))
        sound.mux(stream.encode())
    with pytest.raises(InputError, match="holds sound alone"):
        read_film(folder / "sound.mp4")
    with pytest.raises(InputError, match="No such file"):
        read_film(folder / "none.mp4")
    with pytest.raises(InputError, match="cannot be opened as a film"):
        read_film(_cut(folder, "cut.mp4", 0.8))  # its index stood at the end
    with pytest.raises(InputError, match="pictures with a time of their own"):
        read_film(folder / "film.mp4", span=(1.0, 1.5))


def test_a_huge_file_is_refused_by_its_size(folder: Path) -> None:
    path = folder / "huge.mp4"
    with path.open("wb") as stream:
        stream.write(b"\0\0\0\x18ftypmp42")
        stream.truncate(5_000_000_000)
    with pytest.raises(InputError, match="5,000 MB"):
        open_film(path)
    path.unlink()


def test_a_film_that_breaks_off(folder: Path) -> None:
    """Matroska can be read up to where it ends; what is missing is said."""
    scene = replace(SMALL, length=8.0, motion=Motion(period=1.2), noise=2)
    write_film(folder / "whole.mkv", scene)
    content = (folder / "whole.mkv").read_bytes()
    (folder / "broken.mkv").write_bytes(content[: int(0.8 * len(content))])
    frames = list(film_frames(open_film(folder / "broken.mkv")))
    assert 0.5 * 240 < len(frames) < 0.95 * 240
    assert all(np.diff([each.time for each in frames]) > 0)


def test_a_film_without_tags_says_what_to_do(folder: Path) -> None:
    write_film(folder / "bare2.mp4", without_tags(replace(SMALL, length=2.0)))
    with pytest.raises(InputError, match="--pivot-at and --arm-at"):
        read_film(folder / "bare2.mp4")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_printed_sheet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, paper: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each tag on paper, found by the library's own detector at the size that was asked for."""
    import pypdfium2

    monkeypatch.chdir(tmp_path)
    words = ["dancer", "tags", "--paper", paper, "--side", "50 mm", "--json"]
    monkeypatch.setattr(sys, "argv", ["woold", *words])
    with pytest.raises(SystemExit) as ended:
        run()
    assert not ended.value.code
    document = json.loads(capsys.readouterr().out)
    told = json.dumps(document["blocks"])
    for caution in ("Lock out the machine", "outside the guard", "stand clear", "in the picture"):
        assert caution in told
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    detector = cv2.aruco.ArucoDetector(family, cv2.aruco.DetectorParameters())
    sizes = {}
    pages = pypdfium2.PdfDocument(tmp_path / "dancer-tags.pdf")
    for page in pages:
        width, height = page.get_size()
        expected = (595.3, 841.9) if paper == "a4" else (612.0, 792.0)
        assert (width, height) == pytest.approx(expected, abs=0.2)
        picture = page.render(scale=2.0).to_numpy()
        grey = cv2.cvtColor(np.ascontiguousarray(picture), cv2.COLOR_BGR2GRAY)
        corners, numbers, _ = detector.detectMarkers(grey)
        for quad, number in zip(corners, [] if numbers is None else numbers.ravel(), strict=True):
            side = np.linalg.norm(np.diff(quad.reshape(4, 2), axis=0), axis=1).mean() / 2.0
            sizes[int(number)] = side / 72 * 25.4
    assert sizes == pytest.approx({0: 50.0, 1: 50.0, 2: 120.0}, rel=0.02)


def test_cells_are_those_of_the_open_family() -> None:
    """Bits of the family's tag 0, as its definition in OpenCV lists them: 181, 50."""
    bits = "".join("0" if black else "1" for black in tag_cells(0)[1:5, 1:5].ravel())
    assert bits == f"{181:08b}{50:08b}"


@pytest.fixture
def woold(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    def ran(*words: str, cwd: Path) -> SimpleNamespace:
        monkeypatch.chdir(cwd)
        monkeypatch.setenv("COLUMNS", "80")
        monkeypatch.setattr(sys, "argv", ["woold", "dancer", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = capsys.readouterr()
        return SimpleNamespace(status=ended.value.code or 0, out=out, err=err)

    return ran


@RINGING
def test_command_with_all_its_files(ringing: SimpleNamespace, woold: Any, tmp_path: Path) -> None:
    words = ("video", str(ringing.path), "--still", "still.png", "--trace", "trace.csv")
    done = woold(*words, "--report", "film.pdf", "--plot", "film.svg", "--json", cwd=tmp_path)
    assert (done.status, done.err) == (0, "")
    document = json.loads(done.out)
    assert document["schema"] == "film"
    assert document["trace"]["bounce"]["frequency_hz"] == pytest.approx(3.2, rel=0.01)
    assert document["tags"][1]["tag"] == "arm"
    picture = cv2.imread(str(tmp_path / "still.png"))
    assert picture is not None
    assert (tmp_path / "film.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "trace.csv").read_text().startswith("time [s],dancer [deg]")
    again = woold(*words, cwd=tmp_path)
    assert again.status == 2
    assert "still.png: a file that exists" in again.err


@RINGING
def test_command_says_what_cannot_be(ringing: SimpleNamespace, woold: Any, tmp_path: Path) -> None:
    film = str(ringing.path)
    for words, told in (
        ((film, "--pivot-at", "10", "10"), "both points, or neither"),
        ((film, "--from", "5", "--to", "3"), "a time after --from"),
        ((film, "--still", "still.bmp"), "--still: still.bmp"),
        ((film, "--arm-length", "-3 mm"), "--arm-length"),
        ((film, "--stop-times", "1", "900"), "a time at which the arm is seen"),
        (("none.mp4",), "none.mp4: No such file"),
    ):
        done = woold("video", *words, cwd=tmp_path)
        assert done.status == 2
        assert told in done.err.replace("\n", " ")


@RINGING
def test_stops_and_lengths_from_the_film(ringing: SimpleNamespace) -> None:
    """A length along the arm's way is its angle times the arm; stops are where the film shows."""
    ask = FilmAsk(arm_length=0.3, stop_times=(1.0, 2.2))
    result: FilmResult = study_film(ringing.path, ask)
    trace = result.study.trace
    assert trace is not None
    assert trace.position_kind == "small_length"
    # Without the outermost percents, which noise reaches.
    ends = [2, 98]
    swing = np.ptp(np.percentile(result.recording.trace.position, ends))
    drawn = np.ptp(np.percentile(SLOW.angle(np.arange(0, 27, 0.001)), ends))
    assert swing == pytest.approx(0.3 * drawn, rel=0.03)
    assert trace.lower_hits is not None


def test_films_of_other_makes(folder: Path) -> None:
    """10 bits, AVI, WebM: each frame is read; what is not is said with the film's own letters."""
    import av

    for name, codec, layout in (
        ("ten.mp4", "libx265", "yuv420p10le"),
        ("old.avi", "mjpeg", "yuvj420p"),
        ("web.webm", "libvpx-vp9", "yuv420p"),
    ):
        with av.open(str(folder / name), "w") as film:
            stream = film.add_stream(codec, rate=25)
            stream.width, stream.height, stream.pix_fmt = 320, 240, layout
            ramp = np.tile(np.linspace(0, 255, 320).astype(np.uint8), (240, 1))
            for _ in range(6):
                frame = av.VideoFrame.from_ndarray(ramp, format="gray").reformat(format=layout)
                film.mux(stream.encode(frame))
            film.mux(stream.encode())
        frames = list(film_frames(open_film(folder / name)))
        assert len(frames) == 6
        grey = frames[-1].grey
        assert grey.shape == (240, 320)
        assert np.all(np.diff(grey[120, 10:310:20].astype(int)) > 5)


def test_no_other_file_is_opened_by_a_film(folder: Path) -> None:
    buffer = io.BytesIO(b"ffconcat version 1.0\nfile film.mp4\n")
    (folder / "concat.mkv").write_bytes(buffer.getvalue())
    with pytest.raises(InputError, match="no film"):
        open_film(folder / "concat.mkv")
