"""Saved cases, accounts, sessions, and changes."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

FROZEN = ("saved_case", "change")


def upgrade() -> None:
    op.create_table(
        "saved_case",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("toml", sa.Text(), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_saved_case"),
        sa.UniqueConstraint("id", "revision", name="uq_saved_case_id_revision"),
    )
    op.create_table(
        "account",
        sa.Column("name", sa.String(64), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_account"),
    )
    op.create_table(
        "web_session",
        sa.Column("token_sha256", sa.String(64), nullable=False),
        sa.Column("account", sa.String(64), nullable=False),
        sa.Column("csrf", sa.String(64), nullable=False),
        sa.Column("ends", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("token_sha256", name="pk_web_session"),
    )
    op.create_index("ix_web_session_account", "web_session", ["account"])
    op.create_table(
        "change",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("what", sa.String(64), nullable=False),
        sa.Column("target", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_change"),
    )
    for table in FROZEN:
        if op.get_bind().dialect.name == "sqlite":
            for change in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER no_{change.lower()}_of_{table} BEFORE {change} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'records are only ever added'); END"
                )
        else:
            op.execute(
                f"CREATE TRIGGER only_ever_added BEFORE UPDATE OR DELETE ON {table} "
                f"FOR EACH STATEMENT EXECUTE FUNCTION only_ever_added()"
            )


def downgrade() -> None:
    raise NotImplementedError("records are only ever added: go back by restoring an export")
