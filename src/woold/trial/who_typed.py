"""When something was typed, by the server's clock: a phone's own may be wrong."""

from __future__ import annotations

import datetime

from woold.store import Typed

__all__ = ["typed_by_clock"]

_CLOSE_ENOUGH_S = 5.0
"""What the way to the server may take: no clock is set by less [s]."""


def typed_by_clock(
    by: str, at: datetime.datetime, ahead_s: float | None, now: datetime.datetime
) -> Typed:
    """Who typed and when, by the server's clock.

    Args:
        by: who.
        at: when, by the clock of whoever typed.
        ahead_s: what that clock is ahead of the server's [s]; None where nobody knows.
        now: the server's time; nothing was typed later than that.
    """
    is_off = ahead_s is not None and abs(ahead_s) > _CLOSE_ENOUGH_S
    try:
        true = at - datetime.timedelta(seconds=ahead_s or 0.0) if is_off else at
        utc = min(true, now).astimezone(datetime.UTC)
    except OverflowError:
        utc = now.astimezone(datetime.UTC)
    ahead = None if ahead_s is None else round(ahead_s, 1)
    return Typed(by, utc.isoformat(timespec="milliseconds"), ahead)
