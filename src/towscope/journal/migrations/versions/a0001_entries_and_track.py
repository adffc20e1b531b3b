"""Entries and track, both append-only.

Revision ID: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_PG_REFUSE = """
CREATE OR REPLACE FUNCTION towscope_append_only() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION 'a journal is only added to'; END $$ LANGUAGE plpgsql
"""


def upgrade() -> None:
    """Make the tables and the guards that refuse to change or remove a row."""
    op.create_table(
        "entry",
        sa.Column("arrival", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("at_us", sa.BigInteger, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("device", sa.String(80), nullable=False),
        sa.Column("target", sa.String(36)),
        sa.Column("moved_to", sa.String(10)),
        sa.Column("line", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("entry_by_day", "entry", ["day", "kind"])
    op.create_index("entry_by_kind", "entry", ["kind", "at_us"])
    some = sa.text("target IS NOT NULL")
    op.create_index(
        "entry_by_target", "entry", ["target"], sqlite_where=some, postgresql_where=some
    )
    moved = sa.text("moved_to IS NOT NULL")
    op.create_index(
        "entry_by_moved", "entry", ["moved_to"], sqlite_where=moved, postgresql_where=moved
    )
    op.create_table(
        "stretch",
        sa.Column("arrival", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("id", sa.String(32), nullable=False, unique=True),
        sa.Column("device", sa.String(80), nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("start_us", sa.BigInteger, nullable=False),
        sa.Column("end_us", sa.BigInteger, nullable=False),
        sa.Column("points", sa.Integer, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("stretch_by_day", "stretch", ["day", "start_us"])
    # The blocks stand apart, so that listing days never reads them.
    op.create_table(
        "block",
        sa.Column(
            "stretch",
            sa.Integer,
            sa.ForeignKey("stretch.arrival"),
            primary_key=True,
            autoincrement=False,
        ),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
    postgres = op.get_bind().dialect.name == "postgresql"
    if postgres:
        op.execute(_PG_REFUSE)
    for table in ("entry", "stretch", "block"):
        if postgres:
            op.execute(
                f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION towscope_append_only()"
            )
            continue
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'a journal is only added to'); END"
            )
    if not postgres:  # INSERT OR REPLACE would step round the guards above
        for table in ("entry", "stretch"):
            op.execute(
                f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
                f"WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id OR arrival = NEW.arrival) "
                "BEGIN SELECT RAISE(IGNORE); END"
            )
        op.execute(
            "CREATE TRIGGER block_no_replace BEFORE INSERT ON block "
            "WHEN EXISTS (SELECT 1 FROM block WHERE stretch = NEW.stretch) "
            "BEGIN SELECT RAISE(IGNORE); END"
        )
