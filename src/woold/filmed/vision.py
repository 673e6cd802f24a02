"""OpenCV, which reads films and finds tags: brought by the extra, kept quiet and to two cores."""

from __future__ import annotations

import functools
import os
from types import ModuleType

from woold.errors import missing_extra

__all__ = ["vision"]

_THREADS = 2


@functools.cache
def vision() -> ModuleType:
    """OpenCV, loaded when it is first needed.

    Raises:
        InputError: the extra is not installed.
    """
    # A broken film is told in our words: the library's own lines would stand between them.
    os.environ.setdefault("OPENCV_FFMPEG_LOGLEVEL", "-8")
    os.environ.setdefault("OPENCV_LOG_LEVEL", "OFF")
    # A film may name other files or addresses in it: none of them is opened.
    os.environ.setdefault("OPENCV_FFMPEG_CAPTURE_OPTIONS", "protocol_whitelist;file")
    try:
        import cv2
    except ModuleNotFoundError as error:
        raise missing_extra(error) or error from None

    cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)
    cv2.setNumThreads(_THREADS)
    return cv2
