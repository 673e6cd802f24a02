"""Pictures as they are kept: decoded and written anew, so that nothing else travels in them."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass

from woold.errors import InputError
from woold.words import say

__all__ = ["LARGEST_PHOTO", "Picture", "clean_picture"]

LARGEST_PHOTO = 25_000_000
"""More than any phone camera's picture [bytes]."""

_MOST_PIXELS = 120_000_000
"""More than the largest camera of a phone has: what unpacks to more is no photo."""

_LONGEST_SIDE = 4096
"""Kept pictures are made smaller to this [pixels]: a label can still be read."""

_WRITTEN_AS = {
    "JPEG": ("image/jpeg", {"quality": 88}),
    "PNG": ("image/png", {}),
    "WEBP": ("image/webp", {"quality": 88}),
}


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture without anything but its pixels.

    Args:
        content: the file.
        media_type: image/jpeg, image/png or image/webp.
    """

    content: bytes
    media_type: str


def clean_picture(content: bytes, name: str) -> Picture:
    """Decode a picture and write it anew: upright, without its metadata, place and owner.

    Args:
        content: a JPEG, PNG or WebP file; of one with several pictures, the first is taken.
        name: what to call it where it is refused.

    Raises:
        InputError: too large, or no such picture.
    """
    from PIL import Image, ImageOps

    if len(content) > LARGEST_PHOTO:
        raise _refused(say("{name}, {size} bytes", name=name, size=f"{len(content):,}"))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(content), formats=tuple(_WRITTEN_AS)) as opened:
                kind = str(opened.format)
                width, height = opened.size
                if width * height > _MOST_PIXELS:
                    size = f"{width} x {height}"
                    raise _refused(say("{name}, {size} pixels", name=name, size=size))
                if kind == "JPEG":
                    # A large JPEG is read at a half or a quarter, which takes as little memory.
                    opened.draft(None, (_LONGEST_SIDE, _LONGEST_SIDE))
                upright = ImageOps.exif_transpose(opened)
                upright.thumbnail((_LONGEST_SIDE, _LONGEST_SIDE))
                is_clear = "A" in upright.getbands() or "transparency" in upright.info
                plain = upright.convert("RGBA" if is_clear and kind != "JPEG" else "RGB")
    except InputError:
        raise
    except Exception:
        # The decoder has an error of its own for each way in which a file can be broken.
        size = f"{len(content):,}"
        raise _refused(say("{name}, {size} bytes, no picture", name=name, size=size)) from None
    media_type, options = _WRITTEN_AS[kind]
    written = io.BytesIO()
    # A new picture from the pixels alone: no profile, comment or thumbnail is carried along.
    bare = Image.new(plain.mode, plain.size)
    bare.paste(plain)
    bare.save(written, format=kind, **options)
    return Picture(written.getvalue(), media_type)


def _refused(given: str) -> InputError:
    return InputError.one(
        "photo",
        given,
        say("a JPEG, PNG or WebP up to 25 MB and 120 megapixels"),
        say("Make it so."),
    )
