"""Films of an invented dancer, drawn by a camera that stands in space: truth for the tests.

Nothing of the package is used: the camera is a pinhole in metres, tags are squares in space, each
frame is drawn at several instants of its exposure and, row band by row band, of its readout.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np

from arm_motion import Motion

TICKS = 90_000
_ALIKE = {
    "libx264": {"x264-params": "threads=1:asm=SSE2"},
    "libx265": {"x265-params": "pools=none:frame-threads=1:no-asm=1:log-level=none"},
}
"""What an encoder writes must not hang on how many cores the machine has and of what make.

SSE2 writes the same bytes as no assembly, in half of the time; later instructions do not.
"""


@dataclass(frozen=True)
class Scene:
    """Where things are [m], and how the camera films them. The arm's plane is z = 0, z up."""

    motion: Motion = field(default_factory=Motion)
    width: int = 640
    height: int = 360
    rate: float = 30.0
    length: float = 11.0
    tilt: float = 0.0  # degrees away from looking straight down
    towards: float = 30.0  # degrees, in which direction it is tilted
    distance: float = 1.2
    focal: float = 1.1  # of the picture's width
    roll: float = 12.0  # degrees
    frame_tag: float = 0.09
    arm_tag: float = 0.09
    arm_height: float = 0.04  # the arm's tag above the frame's
    arm_radius: float = 0.22
    shake: float = 0.0  # px, root mean square
    exposure: float = 0.002  # s
    readout: float = 0.0  # s from the first row to the last
    noise: float = 3.0
    contrast: float = 1.0
    uneven: float = 0.0  # share by which steps of time vary
    hidden: tuple[tuple[float, float], ...] = ()  # spells in which a hand lies over the arm's tag
    has_load: bool = True
    load_seen: tuple[float, float] = (1.0, 2.2)  # table angle between which its tag is in sight
    has_tags: bool = True
    seed: int = 1


def frame_times(scene: Scene) -> np.ndarray:
    """True times of the frames, on the grid that a film's file can hold [s]."""
    rng = np.random.default_rng(scene.seed + 1000)
    count = int(scene.length * scene.rate)
    steps = (1 + scene.uneven * rng.uniform(-1, 1, count)) / scene.rate
    times = np.concatenate([[0.0], np.cumsum(steps)[:-1]])
    return np.round(times * TICKS) / TICKS


def _cells(number: int) -> np.ndarray:
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    picture = cv2.aruco.generateImageMarker(family, number, 6 * 40)
    return cv2.copyMakeBorder(picture, 40, 40, 40, 40, cv2.BORDER_CONSTANT, value=255)


def _square(middle: Sequence[float], size: float, angle: float) -> np.ndarray:
    """Corners of a square that lies level: clockwise from its top left as seen from above."""
    half = size / 2 * 8 / 6  # the paper's white rim is part of it
    corner = np.array([[-half, half], [half, half], [half, -half], [-half, -half]])
    c, s = np.cos(angle), np.sin(angle)
    flat = corner @ np.array([[c, s], [-s, c]])
    return np.column_stack([flat + np.array(middle[:2]), np.full(4, middle[2])])


class _Camera:
    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        tilt, towards, roll = np.radians([scene.tilt, scene.towards, scene.roll])
        away = np.array(
            [np.sin(tilt) * np.cos(towards), np.sin(tilt) * np.sin(towards), np.cos(tilt)]
        )
        target = np.array([0.08, 0.0, 0.0])
        self.place = target + scene.distance * away
        forward = -away
        up = np.array([0.0, 1.0, 0.0])
        right = np.cross(forward, up)
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        turn = np.array(
            [[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]]
        )
        self.axes = turn @ np.array([right, down, forward])
        rng = np.random.default_rng(scene.seed + 7)
        self.waves = [
            (rng.uniform(0.7, 7.0), rng.uniform(0, 2 * np.pi), rng.normal(size=3)) for _ in range(5)
        ]

    def seen(self, points: np.ndarray, time: float) -> np.ndarray:
        """Pixels of points in space at a time."""
        s = self.scene
        tremble = sum(
            (np.sin(2 * np.pi * hz * time + at) * size for hz, at, size in self.waves),
            np.zeros(3),
        ) / np.sqrt(2.5)
        focal = s.focal * s.width
        small = s.shake * np.array([1.0, 1.0, 2.0]) * tremble / np.array([focal, focal, focal / 2])
        turn, _ = cv2.Rodrigues(small)
        eye = (points - self.place) @ (turn @ self.axes).T
        return focal * eye[:, :2] / eye[:, 2:] + np.array([s.width / 2, s.height / 2])


class Drawer:
    """Draws a scene's frames."""

    def __init__(self, scene: Scene) -> None:
        self.scene, self.camera = scene, _Camera(scene)
        self.rng = np.random.default_rng(scene.seed)
        self.textures = [_cells(number) for number in range(3)]
        self.ground = self._ground()

    def _ground(self) -> np.ndarray:
        s = self.scene
        coarse = self.rng.uniform(60, 150, (s.height // 24 + 2, s.width // 24 + 2)).astype(
            np.float32
        )
        ground = cv2.resize(coarse, (s.width, s.height), interpolation=cv2.INTER_CUBIC)
        for _ in range(14):
            x, y = self.rng.uniform(0, s.width), self.rng.uniform(0, s.height)
            size = self.rng.uniform(8, 60, 2)
            corner = (int(x), int(y)), (int(x + size[0]), int(y + size[1]))
            cv2.rectangle(ground, *corner, float(self.rng.uniform(30, 220)), -1)
        return cv2.GaussianBlur(ground, (0, 0), 1.0)

    def squares(self, time: float) -> list[tuple[int, np.ndarray]]:
        """Tags in space at a time, the lowest first."""
        s = self.scene
        angle = float(s.motion.angle(time))
        squares = []
        if s.has_load:
            table = 2 * np.pi * time / s.motion.period
            if s.load_seen[0] < np.mod(table, 2 * np.pi) < s.load_seen[1]:
                axis = np.array([0.05, -0.93])
                middle = axis + 0.75 * np.array([np.cos(table), np.sin(table)])
                squares.append((2, _square((*middle, -0.1), 0.12, table)))
        squares.append((0, _square((-0.12, 0.10, 0.0), s.frame_tag, 0.3)))
        arm = s.arm_radius * np.array([np.cos(angle), np.sin(angle)])
        squares.append((1, _square((*arm, s.arm_height), s.arm_tag, angle)))
        return squares

    def instant(self, time: float) -> np.ndarray:
        picture = self.ground.copy()
        s = self.scene
        for number, corners in self.squares(time):
            if not s.has_tags:
                self._blob(picture, corners, time, number)
                continue
            self._lay(picture, self.textures[number], self.camera.seen(corners, time))
        if any(begin <= time < end for begin, end in s.hidden):
            middle = self.camera.seen(self.squares(time)[-1][1], time).mean(axis=0)
            cv2.circle(picture, tuple(map(int, middle)), s.width // 10, 90.0, -1)
        return picture

    def _blob(self, picture: np.ndarray, corners: np.ndarray, time: float, number: int) -> None:
        """A bolted arm without a tag: some marks that are there by themselves."""
        rng = np.random.default_rng(number)
        seen = self.camera.seen(corners, time)
        texture = cv2.resize(rng.uniform(20, 240, (9, 9)).astype(np.float32), (160, 160))
        self._lay(picture, texture.astype(np.uint8), seen)

    def _lay(self, picture: np.ndarray, texture: np.ndarray, seen: np.ndarray) -> None:
        low = np.floor(seen.min(axis=0)).astype(int) - 2
        high = np.ceil(seen.max(axis=0)).astype(int) + 3
        low = np.maximum(low, 0)
        high = np.minimum(high, [picture.shape[1], picture.shape[0]])
        if (high - low).min() <= 1:
            return
        fine = 4
        height, width = texture.shape
        source = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float32)
        # Edges of pixels: the middle of the first one lies at (0.5, 0.5) of both pictures.
        target = ((seen + 0.5 - low) * fine).astype(np.float32)
        shift = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
        back = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
        matrix = shift @ cv2.getPerspectiveTransform(source, target) @ back
        size = tuple(int(each) for each in (high - low) * fine)
        drawn = cv2.warpPerspective(texture, matrix, size, flags=cv2.INTER_AREA)
        mask = cv2.warpPerspective(np.full(texture.shape, 255, np.uint8), matrix, size)
        small = tuple(int(each) for each in high - low)
        drawn = cv2.resize(
            drawn.astype(np.float32) * (mask / 255.0), small, interpolation=cv2.INTER_AREA
        )
        mask = cv2.resize(mask.astype(np.float32) / 255, small, interpolation=cv2.INTER_AREA)
        part = picture[low[1] : high[1], low[0] : high[0]]
        part[:] = (1 - mask) * part + (40 + 170 * drawn / 255 * self.scene.contrast) * mask

    def frame(self, time: float) -> np.ndarray:
        """A frame whose exposure is centred on a time, for its middle row."""
        s = self.scene
        parts = max(int(np.ceil(s.exposure / 0.002)), 1)
        offsets = (np.arange(parts) + 0.5) / parts * s.exposure - s.exposure / 2
        if s.readout == 0:
            sharp = sum(self.instant(time + at) for at in offsets) / parts
        else:
            bands = 12
            sharp = np.empty_like(self.ground)
            edges = np.linspace(0, s.height, bands + 1).astype(int)
            for top, bottom in itertools.pairwise(edges):
                late = ((top + bottom) / 2 / s.height - 0.5) * s.readout
                band = sum(self.instant(time + late + at)[top:bottom] for at in offsets)
                sharp[top:bottom] = band / parts
        blurred = cv2.GaussianBlur(sharp, (0, 0), 0.7)
        noise = self.rng.standard_normal(blurred.shape, dtype=np.float32)
        return np.clip(blurred + s.noise * noise, 0, 255).astype(np.uint8)


def write_film(
    path: Path,
    scene: Scene,
    codec: str = "libx264",
    quality: int = 23,
    changed: Callable[[np.ndarray], np.ndarray] = lambda picture: picture,
    encoder: dict[str, str] | None = None,
) -> np.ndarray:
    """Write a scene as a film.

    Returns:
        True times of its frames [s].
    """
    times, drawer = frame_times(scene), Drawer(scene)
    with av.open(str(path), "w") as film:
        options = {
            "crf": str(quality),
            "preset": "veryfast",
            **_ALIKE.get(codec, {}),
            **(encoder or {}),
        }
        stream = film.add_stream(codec, rate=round(scene.rate), options=options)
        stream.codec_context.thread_count = 1
        first = changed(np.zeros((scene.height, scene.width), np.uint8))
        stream.height, stream.width = first.shape
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS)
        stream.time_base = Fraction(1, TICKS)
        height, width = first.shape
        grey = np.full((height * 3 // 2, width), 128, np.uint8)  # brightness, then no colour
        for time in times:
            # Black and white of a film are 16 and 235: ITU-R BT.601.
            grey[:height] = 16 + changed(drawer.frame(float(time))) * (219 / 255) + 0.5
            frame = av.VideoFrame.from_ndarray(grey, format="yuv420p")
            frame.pts, frame.time_base = round(time * TICKS), Fraction(1, TICKS)
            film.mux(stream.encode(frame))
        film.mux(stream.encode())
    return times


def without_tags(scene: Scene) -> Scene:
    """The same scene before anybody stuck tags on."""
    return replace(scene, has_tags=False, has_load=False)
