"""Things of a shelf: every version of every film, carriage, machine, load and recipe."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "thing",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("as_typed", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_thing"),
        sa.UniqueConstraint("kind", "name", "version", name="uq_thing_kind_name_version"),
    )
    if op.get_bind().dialect.name == "sqlite":
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER no_{change.lower()}_of_thing BEFORE {change} ON thing "
                f"BEGIN SELECT RAISE(ABORT, 'records are only ever added'); END"
            )
    else:
        op.execute(
            "CREATE TRIGGER only_ever_added BEFORE UPDATE OR DELETE ON thing "
            "FOR EACH STATEMENT EXECUTE FUNCTION only_ever_added()"
        )


def downgrade() -> None:
    raise NotImplementedError("records are only ever added: go back by restoring a backup")
