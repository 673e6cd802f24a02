"""A film as frames in grey with the times at which they were taken, one after the other."""

from __future__ import annotations

import contextlib
import queue
import stat
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.filmed.vision import vision
from woold.words import say

__all__ = ["LARGEST_FILM", "FilmFile", "Frame", "film_frames", "open_film"]

Grey = NDArray[np.uint8]

LARGEST_FILM = 4_000_000_000
"""Bytes of a film: an hour of 1080p as phones write it is about two thirds of it."""

_LARGEST_PICTURE = 4096 * 2304
_SMALLEST_SIDE = 120
_LONGEST_S = 3600.0
_MOST_FRAMES = 120_000
_WAITING = 3  # frames read ahead
_DECODERS = 2
_BRIGHTNESS_FIRST = (b"I420", b"Y42B", b"444P", b"NV12", b"Y800")
_MARKS = ((4, b"ftyp"), (4, b"moov"), (4, b"mdat"), (4, b"wide"), (0, b"\x1aE\xdf\xa3"))


class Frame(NamedTuple):
    """One picture of a film.

    Args:
        number: of the frame, 0 the first.
        time: at which it was taken, from the first frame [s].
        grey: its brightness, upright as it is shown, shape (height, width).
    """

    number: int
    time: float
    grey: Grey


@dataclass(frozen=True, slots=True)
class FilmFile:
    """What a film's head says of it.

    Args:
        path: the file.
        width, height: of its pictures, upright as they are shown.
        rate: frames in a second as its head says [Hz].
        frames: as its head says; 0 where it does not.
        rotation: by which its pictures are turned to stand upright [deg].
        codec: four letters of how its pictures are written.
    """

    path: Path
    width: int
    height: int
    rate: float
    frames: int
    rotation: int
    codec: str

    @property
    def rows_run_down(self) -> bool:
        """Whether the camera's rows lie level in the upright picture."""
        return self.rotation % 180 == 0


def open_film(path: Path | str) -> FilmFile:
    """What a film is; its first frame can be read.

    Args:
        path: an MP4, MOV, MKV, WebM or AVI film.

    Raises:
        InputError: empty, no film, broken, too large, or too small a picture.
    """
    path = Path(path)
    _require_film(path)
    with _opened(path) as capture:
        cv2 = vision()
        width, height = (
            int(capture.get(each)) for each in (cv2.CAP_PROP_FRAME_WIDTH, cv2.CAP_PROP_FRAME_HEIGHT)
        )
        _require_size(path, width, height)
        code = int(capture.get(cv2.CAP_PROP_FOURCC))
        codec = "".join(chr(code >> shift & 255) for shift in (0, 8, 16, 24)).strip("\0 ")
        is_read, first = capture.read()
        if not is_read:
            raise InputError.one(
                str(path),
                say("no picture can be read (written as {codec})", codec=codec),
                say("a whole film in H.264, HEVC, VP9 or MPEG-4"),
                say("Copy it again, or let the phone film in its most compatible way."),
            )
        height, width = first.shape[:2]
        rate = float(capture.get(cv2.CAP_PROP_FPS))
        count = float(capture.get(cv2.CAP_PROP_FRAME_COUNT))
        return FilmFile(
            path=path,
            width=width,
            height=height,
            rate=rate if 0.1 < rate < 10_000 else 0.0,
            frames=int(count) if 0 < count < 1e8 else 0,
            rotation=int(capture.get(cv2.CAP_PROP_ORIENTATION_META)) % 360,
            codec=codec,
        )


def _require_film(path: Path) -> None:
    what = say("a film: MP4, MOV, MKV, WebM or AVI")
    try:
        kind = path.stat().st_mode
        if not (stat.S_ISREG(kind) or stat.S_ISDIR(kind)):
            # A pipe or a device may never end, and is read more than once.
            raise InputError.one(
                str(path), say("no plain file"), what, say("Copy the film into a file of its own.")
            )
        with path.open("rb") as stream:
            head = stream.read(64)
        size = path.stat().st_size
    except OSError as error:
        given = error.strerror or say("cannot be read")
        raise InputError.one(
            str(path), given, what, say("Name the film as it was copied from the phone.")
        ) from None
    if not size:
        raise InputError.one(
            str(path), say("an empty file"), what, say("Copy the film from the phone again.")
        )
    if size > LARGEST_FILM:
        raise InputError.one(
            str(path),
            say("{size:,.0f} MB", size=size / 1e6),
            say("up to {most:,.0f} MB", most=LARGEST_FILM / 1e6),
            say("Cut it to the part in which the machine wraps: half a minute is enough."),
        )
    is_avi = head[:4] == b"RIFF" and head[8:12] == b"AVI "
    if not is_avi and not any(head[at : at + 4] == mark for at, mark in _MARKS):
        raise InputError.one(
            str(path), say("no film"), what, say("Choose the film as the phone wrote it.")
        )


def _require_size(path: Path, width: int, height: int) -> None:
    size = say("pictures of {width} by {height}", width=width, height=height)
    if width * height > _LARGEST_PICTURE:
        raise InputError.one(
            str(path), size, say("up to 4096 by 2304"), say("Film in 1080p; it is enough.")
        )
    if min(width, height) < _SMALLEST_SIDE:
        raise InputError.one(
            str(path),
            size,
            say("{least} or more each way", least=_SMALLEST_SIDE),
            say("Film in 1080p."),
        )


def _broken(path: Path, what: str) -> InputError:
    return InputError.one(
        str(path),
        what,
        say("a whole film"),
        say("The file is broken, not whole, or holds sound alone: copy it from the phone again."),
    )


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[Any]:
    cv2 = vision()
    try:
        capture = cv2.VideoCapture(str(path), cv2.CAP_FFMPEG, [cv2.CAP_PROP_N_THREADS, _DECODERS])
    except cv2.error:
        raise _broken(path, say("cannot be opened as a film")) from None
    try:
        if not capture.isOpened():
            raise _broken(path, say("cannot be opened as a film"))
        # No colour is needed: in pictures of eight bits, brightness lies in the file as it is.
        layout = int(capture.get(cv2.CAP_PROP_CODEC_PIXEL_FORMAT)) & 0xFFFFFFFF
        if layout.to_bytes(4, "little") in _BRIGHTNESS_FIRST:
            capture.set(cv2.CAP_PROP_CONVERT_RGB, 0)
        yield capture
    finally:
        capture.release()


def film_frames(film: FilmFile, start: float = 0.0, end: float | None = None) -> Iterator[Frame]:
    """Frames of a film, read ahead in a thread of its own; few are held at a time.

    Args:
        film: that was opened.
        start, end: part of the film that is looked at, from its first frame [s].

    Yields:
        The frames in the order of their times, which grow; one without a time of its own is left
        out.

    Raises:
        InputError: the film is longer than an hour, or has no times.
    """
    waiting: queue.Queue[Frame | BaseException | None] = queue.Queue(_WAITING)
    is_over = threading.Event()

    def put(thing: Frame | BaseException | None) -> bool:
        while not is_over.is_set():
            with contextlib.suppress(queue.Full):
                waiting.put(thing, timeout=0.1)
                return True
        return False

    def read() -> None:
        try:
            for frame in _read_frames(film):
                if end is not None and frame.time > end:
                    break
                if frame.time >= start and not put(frame):
                    return
            put(None)
        except BaseException as error:
            put(error)

    reader = threading.Thread(target=read, name="film", daemon=True)
    reader.start()
    try:
        while (found := waiting.get()) is not None:
            if isinstance(found, BaseException):
                raise found
            yield found
    finally:
        is_over.set()
        reader.join()


def _read_frames(film: FilmFile) -> Iterator[Frame]:
    cv2 = vision()
    with _opened(film.path) as capture:
        begun: float | None = None
        last = -1.0
        number = -1
        while True:
            is_read, picture = capture.read()
            if not is_read:
                return
            number += 1
            stamp = float(capture.get(cv2.CAP_PROP_POS_MSEC)) / 1e3
            if not np.isfinite(stamp):
                continue
            begun = stamp if begun is None else begun
            time = stamp - begun
            if time <= last:
                continue
            if time > _LONGEST_S or number >= _MOST_FRAMES:
                raise InputError.one(
                    str(film.path),
                    say("a film of {minutes:.0f} minutes or more", minutes=time / 60),
                    say(
                        "an hour and {most:,.0f} frames at most; --from and --to take a part of it",
                        most=_MOST_FRAMES,
                    ),
                    say("Cut it to the part in which the machine wraps: half a minute is enough."),
                )
            last = time
            yield Frame(number, time, _grey(picture))


def _grey(picture: Any) -> Grey:
    cv2 = vision()
    if picture.ndim == 3:
        picture = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    if picture.dtype != np.uint8:
        picture = (picture >> 8).astype(np.uint8)
    return np.asarray(picture, dtype=np.uint8)
