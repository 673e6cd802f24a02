"""Pictures on their way in pieces: a broken line costs one piece, not the picture."""

from __future__ import annotations

import datetime

from sqlalchemy import Connection, Engine, delete, func, insert, select

from woold.errors import ConflictError, InputError
from woold.store.engine import writing
from woold.store.picture import LARGEST_PHOTO
from woold.store.tables import photo_piece
from woold.words import say

__all__ = ["LARGEST_PIECE", "Uploads"]

LARGEST_PIECE = 1_000_000
"""A piece takes seconds on a slow line [bytes]."""

_LARGEST_OF_ONE_PERSON = 20 * LARGEST_PHOTO
_KEPT = datetime.timedelta(days=14)
"""What nobody went on with for so long is thrown away."""


class Uploads:
    """Pieces of pictures in a store.

    Args:
        engine: of an opened store.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def received(self, upload: str) -> int:
        """How many bytes have arrived."""
        with self.engine.connect() as connection:
            return _received(connection, photo_piece.c.upload == upload)

    def add(self, upload: str, start: int, content: bytes, by: str) -> int:
        """Keep a piece; one that is there already is left as it is.

        Args:
            upload: name of the upload, made by whoever sends it.
            start: place of the piece's first byte.
            content: the piece.
            by: who sends it.

        Returns:
            How many bytes have arrived.

        Raises:
            ConflictError: the piece does not go on where the last one ended.
            InputError: too large.
        """
        now = datetime.datetime.now(datetime.UTC)
        old = (now - _KEPT).isoformat(timespec="milliseconds")
        with writing(self.engine) as connection:
            connection.execute(delete(photo_piece).where(photo_piece.c.at < old))
            received = _received(connection, photo_piece.c.upload == upload)
            if start + len(content) <= received:
                return received
            if start != received:
                raise ConflictError.one(
                    "start", str(start), str(received), say("Go on where the last piece ended.")
                )
            mine = _received(connection, photo_piece.c.by == by)
            is_large = received + len(content) > LARGEST_PHOTO or len(content) > LARGEST_PIECE
            if is_large or mine + len(content) > _LARGEST_OF_ONE_PERSON:
                raise InputError.one(
                    "photo",
                    say("{count:,} bytes", count=received + len(content)),
                    say("25 MB for one picture, in pieces up to 1 MB"),
                    say("Send a smaller picture."),
                )
            row = {"upload": upload, "start": start, "content": content, "by": by}
            at = now.isoformat(timespec="milliseconds")
            connection.execute(insert(photo_piece), {**row, "at": at})
            return received + len(content)

    def whole(self, upload: str) -> bytes:
        """Everything that has arrived."""
        query = select(photo_piece.c.content).where(photo_piece.c.upload == upload)
        with self.engine.connect() as connection:
            found = connection.execute(query.order_by(photo_piece.c.start)).scalars()
            return b"".join(bytes(each) for each in found)

    def drop(self, upload: str) -> None:
        """Throw the pieces away: the picture is kept, or cannot be used."""
        with writing(self.engine) as connection:
            connection.execute(delete(photo_piece).where(photo_piece.c.upload == upload))


def _received(connection: Connection, which: object) -> int:
    query = select(func.sum(func.length(photo_piece.c.content))).where(which)  # type: ignore[arg-type]
    return int(connection.execute(query).scalar() or 0)
