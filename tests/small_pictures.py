"""Small pictures for tests."""

from __future__ import annotations

import io

from PIL import Image

__all__ = ["small_picture"]


def small_picture(kind: str = "PNG", side: int = 8, colour: str = "red") -> bytes:
    """A picture of one colour."""
    stream = io.BytesIO()
    Image.new("RGB", (side, side), colour).save(stream, kind)
    return stream.getvalue()
