"""Tries of a password: counted before they are checked, slowed down, and never locked out."""

from __future__ import annotations

import ipaddress
import threading
import time
from collections.abc import Callable

__all__ = ["Tries", "address_part"]

_MOST_KNOWN = 50_000
"""Names of counts: so many strangers at once are no crowd of people."""


class Tries:
    """Counts tries that were not right.

    Args:
        free: tries at once before anybody waits.
        first_s: the first wait; each further one is twice as long.
        longest_s: the longest wait: nobody is ever locked out.
        forgotten_s: after so long without a try, the count begins anew.
        clock: seconds of a clock that never goes back.
    """

    def __init__(
        self,
        free: int = 8,
        first_s: float = 2.0,
        longest_s: float = 60.0,
        forgotten_s: float = 3600.0,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.free = free
        self.first_s = first_s
        self.longest_s = longest_s
        self.forgotten_s = forgotten_s
        self._clock = clock
        self._counts: dict[str, tuple[int, float, float]] = {}
        self._lock = threading.Lock()

    def begin(self, key: str) -> float:
        """Count a try before it is checked; how long to wait first [s]: then it is not counted."""
        now = self._clock()
        with self._lock:
            count, again, last = self._counts.pop(key, (0, now, now))
            if now - last > self.forgotten_s:
                count, again = 0, now
            if now < again:
                self._counts[key] = count, again, last
                return again - now
            count += 1
            wait = 0.0
            if count >= self.free:
                # Beyond 30 doublings the longest wait counts anyway.
                wait = min(self.first_s * 2.0 ** min(count - self.free, 30), self.longest_s)
            self._counts[key] = count, now + wait, now
            while len(self._counts) > _MOST_KNOWN:
                # The one that was tried the longest ago stands first.
                del self._counts[next(iter(self._counts))]
            return 0.0

    def right(self, key: str) -> None:
        """Forget a count: the try was right."""
        with self._lock:
            self._counts.pop(key, None)


def address_part(host: str) -> str:
    """What one party can hardly choose of its address: of IPv6, the network.

    Source: RFC 6177: an end site is given a /64 at least.
    """
    try:
        found = ipaddress.ip_address(host)
    except ValueError:
        return host
    if isinstance(found, ipaddress.IPv6Address):
        return str(ipaddress.ip_network(f"{found}/64", strict=False))
    return str(found)
