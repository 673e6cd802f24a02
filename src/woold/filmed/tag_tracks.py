"""Where the tags stand in every frame: round their last place, and all over when lost."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from woold.filmed.film_file import Frame
from woold.filmed.tag_edges import TagEdges, reads_as, refined
from woold.filmed.tags import ROLES, Region, found_tags, side_length

__all__ = ["TagTrack", "TagTracks", "follow_tags"]

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

_SCAN_S = 0.1  # between looks all over the picture for a tag that was not yet seen
_SCAN_AGAIN_S = 0.5  # the same for one that was
_WIDE = (0.5, 1.2)  # of a side, round the last place: the detector is choosy of its picture
_FORGOTTEN = 3  # frames after which the last place says nothing
_FINE_SIDE = 48.0  # px; larger tags are looked for in a coarser picture
_LARGE_PICTURE = 900  # px; pictures wider and higher than this are scanned coarsely
_NUMBERS = 21  # of a tag in a frame: corners, normals, spread, error
_NOTHING = [float("nan")] * _NUMBERS
_FINE_SCANS = 4  # one of so many looks is at the picture as it is


@dataclass(frozen=True, eq=False)
class TagTrack:
    """One tag over all frames; NaN where it was not seen.

    Args:
        corners: [px], shape (n, 4, 2).
        error: standard error of a corner each way [px], shape (n,).
        spread: variance across each side's edge [px^2], shape (n, 4).
        normals: across each side, outwards, shape (n, 4, 2).
    """

    corners: Floats
    error: Floats
    spread: Floats
    normals: Floats

    @property
    def seen(self) -> NDArray[np.bool_]:
        """In which frames it was seen, shape (n,)."""
        return np.asarray(np.isfinite(self.error))


@dataclass(frozen=True, eq=False)
class TagTracks:
    """The tags over a film.

    Args:
        time: of the frames [s], shape (n,).
        tags: by the number of the tag.
        doubled: tags that stood in more than one place at once.
        still: a frame in which most tags were seen, shape (height, width).
        still_number: its place among the frames.
    """

    time: Floats
    tags: tuple[TagTrack, ...]
    doubled: tuple[int, ...]
    still: Grey
    still_number: int


@dataclass
class _Follower:
    """What is known of one tag while the film runs."""

    role: int
    last: Floats | None = None
    step: Floats = field(default_factory=lambda: np.zeros(2))
    missed: int = 0
    home: Region | None = None
    is_doubled: bool = False

    def ahead(self) -> Floats | None:
        """Where its corners should be by its last places."""
        if self.last is None or self.missed > _FORGOTTEN:
            return None
        return self.last + self.step * (1 + self.missed)

    def regions(self, shape: tuple[int, int]) -> Iterator[Region]:
        """Parts of the picture to look at, the likeliest first."""
        if self.last is None or self.home is None:
            return
        side = side_length(self.last)
        ahead = self.ahead()
        if ahead is None:
            home = np.array(self.home, dtype=np.float64).reshape(2, 2)
            yield _region(home, side, shape)
            return
        moved = float(np.abs(self.step).max()) * (1 + self.missed)
        for wide in _WIDE:
            yield _region(np.concatenate([ahead, self.last]), wide * side + moved, shape)

    def took(self, edges: TagEdges) -> None:
        centre = edges.corners.mean(axis=0)
        if self.last is not None and self.missed == 0:
            self.step = centre - self.last.mean(axis=0)
        else:
            self.step = np.zeros(2)
        self.last, self.missed = edges.corners, 0
        low, high = np.floor(edges.corners.min(axis=0)), np.ceil(edges.corners.max(axis=0))
        here = Region(int(low[0]), int(low[1]), int(high[0]), int(high[1]))
        if self.home is None:
            self.home = here
        else:
            self.home = Region(
                *map(min, self.home[:2], here[:2]), *map(max, self.home[2:], here[2:])
            )

    def chosen(self, quads: list[Floats]) -> Floats:
        """Of several places the one nearest to where it was, else the largest."""
        if len(quads) > 1:
            self.is_doubled = True
        if self.last is None:
            return quads[0]
        middle = self.last.mean(axis=0)
        return min(quads, key=lambda quad: float(np.linalg.norm(quad.mean(axis=0) - middle)))


def follow_tags(
    frames: Iterable[Frame], progress: Callable[[int], None] | None = None
) -> TagTracks | None:
    """Every tag in every frame.

    Args:
        frames: of the film, in order.
        progress: called with the number of each frame.

    Returns:
        The tracks; None where there is no frame.
    """
    followers = [_Follower(role) for role in range(len(ROLES))]
    times: list[float] = []
    # Plain numbers, packed: a long film must not fill the memory.
    kept = [array("d") for _ in ROLES]
    still, most, at = None, -1, 0
    scanned = scanned_all = -np.inf
    scans = 0
    for frame in frames:
        row: list[TagEdges | None] = [_beside(frame.grey, each) for each in followers]
        lost = [each for each in followers if row[each.role] is None]
        unseen = any(each.last is None for each in lost)
        if lost and frame.time - (scanned if unseen else scanned_all) >= (
            _SCAN_S if unseen else _SCAN_AGAIN_S
        ):
            scanned = scanned_all = frame.time
            scans += 1
            _scan(frame.grey, lost, row, is_fine=scans % _FINE_SCANS == 1)
        for each in followers:
            edges = row[each.role]
            if edges is None:
                each.missed += 1
            else:
                each.took(edges)
        seen = sum(edges is not None for edges in row)
        if seen > most:
            still, most, at = frame.grey, seen, len(times)
        times.append(frame.time)
        for numbers, edges in zip(kept, row, strict=True):
            numbers.extend(_NOTHING if edges is None else _packed(edges))
        if progress is not None:
            progress(frame.number)
    if still is None:
        return None
    tags = tuple(_track(numbers) for numbers in kept)
    doubled = tuple(each.role for each in followers if each.is_doubled)
    return TagTracks(np.array(times), tags, doubled, still, at)


def _beside(grey: Grey, follower: _Follower) -> TagEdges | None:
    """The tag near its last place, else where it was seen before."""
    ahead = follower.ahead()
    if ahead is not None:
        edges = refined(grey, ahead)
        if edges is not None and reads_as(grey, edges.corners, follower.role):
            return edges
    for region in follower.regions(grey.shape):
        assert follower.last is not None
        coarse = max(int(side_length(follower.last) / _FINE_SIDE), 1)
        quads = found_tags(grey, region, coarse).get(follower.role)
        edges = refined(grey, follower.chosen(quads)) if quads else None
        if edges is not None:
            return edges
    return None


def _scan(grey: Grey, lost: list[_Follower], row: list[TagEdges | None], is_fine: bool) -> None:
    """Lost tags anywhere in the picture."""
    is_large = min(grey.shape) > _LARGE_PICTURE
    found = found_tags(grey, None, 2 if is_large and not is_fine else 1)
    for each in lost:
        quads = found.get(each.role)
        if quads:
            row[each.role] = refined(grey, each.chosen(quads))


def _region(points: Floats, wide: float, shape: tuple[int, int]) -> Region:
    low, high = points.min(axis=0) - wide, points.max(axis=0) + wide
    height, width = shape
    left, top = (int(np.clip(low[0], 0, width)), int(np.clip(low[1], 0, height)))
    right, bottom = (int(np.clip(high[0] + 1, left, width)), int(np.clip(high[1] + 1, top, height)))
    return Region(left, top, right, bottom)


def _packed(edges: TagEdges) -> list[float]:
    parts = (edges.corners.ravel(), edges.normals.ravel(), edges.spread, [edges.error])
    packed: list[float] = np.concatenate(parts).tolist()
    return packed


def _track(numbers: array[float]) -> TagTrack:
    rows = np.frombuffer(numbers).reshape(-1, _NUMBERS)
    return TagTrack(
        corners=rows[:, :8].reshape(-1, 4, 2),
        normals=rows[:, 8:16].reshape(-1, 4, 2),
        spread=rows[:, 16:20],
        error=rows[:, 20],
    )
