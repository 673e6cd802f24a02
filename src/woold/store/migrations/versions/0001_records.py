"""Records, the files they came from, and photos; rows of records can only be added."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

FROZEN = ("record", "source", "photo")


def upgrade() -> None:
    op.create_table(
        "source",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("trial", sa.String(64), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_source"),
        sa.UniqueConstraint("trial", "sha256", name="uq_source_trial_sha256"),
    )
    op.create_table(
        "record",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("trial", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("cells", sa.JSON(), nullable=False),
        sa.Column("void", sa.Boolean(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("source", sa.Integer(), nullable=True),
        sa.Column("replaces", sa.Integer(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["source"], ["source.number"], name="fk_record_source"),
        sa.ForeignKeyConstraint(["replaces"], ["record.number"], name="fk_record_replaces"),
        sa.PrimaryKeyConstraint("number", name="pk_record"),
        sa.UniqueConstraint("id", name="uq_record_id"),
        sa.UniqueConstraint("replaces", name="uq_record_replaces"),
    )
    op.create_index(
        "ix_record_first",
        "record",
        ["trial", "kind", "key"],
        unique=True,
        sqlite_where=sa.text("replaces IS NULL"),
        postgresql_where=sa.text("replaces IS NULL"),
    )
    op.create_table(
        "photo",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("media_type", sa.String(64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo"),
    )
    if op.get_bind().dialect.name == "sqlite":
        for table in FROZEN:
            for change in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER no_{change.lower()}_of_{table} BEFORE {change} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'records are only ever added'); END"
                )
    else:
        op.execute(
            "CREATE FUNCTION only_ever_added() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'records are only ever added'; END $$"
        )
        for table in FROZEN:
            op.execute(
                f"CREATE TRIGGER only_ever_added BEFORE UPDATE OR DELETE ON {table} "
                f"FOR EACH STATEMENT EXECUTE FUNCTION only_ever_added()"
            )


def downgrade() -> None:
    raise NotImplementedError("records are only ever added: go back by restoring an export")
