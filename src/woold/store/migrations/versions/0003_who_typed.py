"""Who typed and when, apart from who sent; photos in pieces; sessions and known devices."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Empty in the rows that are there already: nobody noted it, and rows are never changed.
    op.add_column("record", sa.Column("typed_by", sa.Text(), nullable=True))
    op.add_column("record", sa.Column("typed_at", sa.String(32), nullable=True))
    op.add_column("record", sa.Column("clock_s", sa.Float(), nullable=True))
    op.create_index("ix_record_thing", "record", ["trial", "kind", "key"])
    op.create_index("ix_record_trial_number", "record", ["trial", "number"])
    op.create_index("ix_source_trial_name", "source", ["trial", "name"])
    op.create_table(
        "photo_piece",
        sa.Column("upload", sa.String(64), nullable=False),
        sa.Column("start", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("upload", "start", name="pk_photo_piece"),
    )
    op.add_column("web_session", sa.Column("begun", sa.String(32), nullable=True))
    op.add_column("web_session", sa.Column("device", sa.Text(), nullable=True))
    op.create_table(
        "known_device",
        sa.Column("token_sha256", sa.String(64), nullable=False),
        sa.Column("account", sa.String(64), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("token_sha256", "account", name="pk_known_device"),
    )


def downgrade() -> None:
    raise NotImplementedError("records are only ever added: go back by restoring a backup")
