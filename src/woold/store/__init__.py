"""Records that last: an append-only store on SQLite, or on PostgreSQL by its URL."""

from woold.store.store import Batch, Store, Typed, default_url
from woold.store.tables import Cell, Record

__all__ = ["Batch", "Cell", "Record", "Store", "Typed", "default_url"]
