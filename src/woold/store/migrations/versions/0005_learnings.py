"""What was learnt from trials, version by version."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "learning",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_learning"),
    )
    if op.get_bind().dialect.name == "sqlite":
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER no_{change.lower()}_of_learning BEFORE {change} ON learning "
                f"BEGIN SELECT RAISE(ABORT, 'records are only ever added'); END"
            )
    else:
        op.execute(
            "CREATE TRIGGER only_ever_added BEFORE UPDATE OR DELETE ON learning "
            "FOR EACH STATEMENT EXECUTE FUNCTION only_ever_added()"
        )


def downgrade() -> None:
    raise NotImplementedError("records are only ever added: go back by restoring a backup")
