"""Five facts of an invented customer."""

from __future__ import annotations

__all__ = ["QUOTE"]

QUOTE = (
    *("quote", "--load", "1.2 m x 1.0 m x 1.4 m", "--loads-per-year", "60000"),
    *("--film", "20 in x 63 gauge", "--film-per-load", "190 g", "--carriage", "rollers"),
    *("--film-price", "2.2 USD/kg", "--price", "14500 USD"),
    *("--offered", "candidate.toml", "--out", "quote.pdf"),
)
"""What `woold quote` is asked, without the store."""
