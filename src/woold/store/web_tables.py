"""Tables of the server: saved cases, people who may sign in, and what was changed."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Integer, LargeBinary, String, Table, Text, UniqueConstraint

from woold.store.tables import metadata

__all__ = ["account", "change", "known_device", "learning", "saved_case", "thing", "web_session"]

saved_case = Table(
    "saved_case",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("id", String(64), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("title", Text, nullable=False),
    Column("toml", Text, nullable=False),
    Column("removed", Boolean, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
    UniqueConstraint("id", "revision", name="uq_saved_case_id_revision"),
)
"""Every revision of every saved case; rows are only ever added."""

thing = Table(
    "thing",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("kind", String(32), nullable=False),
    Column("name", String(80), nullable=False),
    Column("version", Integer, nullable=False),
    Column("typed", Text, nullable=False),
    Column("as_typed", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
    UniqueConstraint("kind", "name", "version", name="uq_thing_kind_name_version"),
)
"""Every version of every film, carriage, machine, load and recipe; rows are only ever added."""

learning = Table(
    "learning",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("about", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
)
"""Every version of what was learnt from trials; rows are only ever added."""

account = Table(
    "account",
    metadata,
    Column("name", String(64), primary_key=True),
    Column("role", String(16), nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("at", String(32), nullable=False),
)

web_session = Table(
    "web_session",
    metadata,
    Column("token_sha256", String(64), primary_key=True),
    Column("account", String(64), nullable=False, index=True),
    Column("csrf", String(64), nullable=False),
    Column("ends", String(32), nullable=False),
    Column("begun", String(32)),
    Column("device", Text),
)
"""Who is signed in. The token itself is known to the browser alone."""

known_device = Table(
    "known_device",
    metadata,
    Column("token_sha256", String(64), primary_key=True),
    Column("account", String(64), primary_key=True),
    Column("at", String(32), nullable=False),
)
"""Browsers that an account has signed in from: they are never made to wait for strangers' tries."""

change = Table(
    "change",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("what", String(64), nullable=False),
    Column("target", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
)
"""Changes of what does not itself keep who and when; rows are only ever added."""
