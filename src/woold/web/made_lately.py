"""Reports that were made lately: what is taken away is what was shown, and is reckoned once."""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from typing import Any, Literal

from fastapi import Request

from woold.report.html import report_html
from woold.report.model import Report
from woold.report.pdf import report_pdf
from woold.rows.wording import Wording
from woold.web.at_work import work
from woold.web.workers import Call
from woold.words import language

__all__ = ["MadeLately", "laid_out", "lately", "made_key", "report_content"]

_MOST = 8
"""Reports that are kept; each may hold some megabytes of drawings."""


class MadeLately:
    """The latest reports by what was asked for; with the server they are gone, and made anew."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, Any] = OrderedDict()

    def keep(self, key: str, made: Any) -> None:
        """Keeps what was made; of too many the oldest goes.

        Args:
            key: of :func:`made_key`.
            made: it.
        """
        self._made[key] = made
        self._made.move_to_end(key)
        while len(self._made) > _MOST:
            self._made.popitem(last=False)

    def find(self, key: str) -> Any | None:
        """What was made for the same; None where it is not kept.

        Args:
            key: of :func:`made_key`.
        """
        return self._made.get(key)


def lately(request: Request) -> MadeLately:
    """What the server of a request has made lately."""
    found: MadeLately = request.app.state.made
    return found


def made_key(say: Wording, *asked: Any) -> str:
    """Tells what is asked for from all else, in its units and language.

    Args:
        say: units and decimal mark.
        asked: plain values.
    """
    parts = [say.units, say.decimal_comma, language(), *asked]
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def report_content(report: Report, format: Literal["pdf", "html"]) -> bytes:
    """A report as a file that needs nothing else."""
    return report_pdf(report) if format == "pdf" else report_html(report).encode()


async def laid_out(report: Report, format: Literal["pdf", "html"], seconds: float) -> bytes:
    """The same, from a worker.

    Args:
        report: the report.
        format: of the file.
        seconds: that it may take.
    """
    content: bytes = await work(Call(__name__, "report_content", (report, format)), seconds)
    return content
