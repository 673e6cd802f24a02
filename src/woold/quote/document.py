"""A quote as a JSON document."""

from __future__ import annotations

from dataclasses import dataclass

from woold.prediction.result import CAUTIONS
from woold.quote.facts import QuoteFacts
from woold.quote.quote import Quote
from woold.rows.document import JsonDocument
from woold.words import to_say

__all__ = ["QuoteDocument", "quote_document"]


@dataclass(frozen=True, slots=True)
class QuoteDocument(Quote, JsonDocument):
    """A quote with the facts that it rests on, and cautions.

    Args:
        facts: what the customer knows.
        cautions: the usual ones.
    """

    told_as = "quote"

    facts: QuoteFacts
    cautions: tuple[str, ...]


def quote_document(quote: Quote, facts: QuoteFacts) -> QuoteDocument:
    """The document of a quote.

    Args:
        quote: what may be expected.
        facts: what the customer knows.
    """
    return QuoteDocument.with_more(quote, facts=facts, cautions=(*_OF_A_QUOTE, *CAUTIONS))


_OF_A_QUOTE = (
    to_say("No promise: an estimate with its range. A trial on your own loads decides."),
    to_say(
        "A saving counts only where loads hold as well as today: the same force and overlap are"
        " taken for both carriages."
    ),
)
