"""The tables of a journal's store, as SQLAlchemy knows them; `migrations` makes them."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa

HEAD: Final = "0002"  # the migration that these tables are of

META: Final = sa.MetaData()
entry: Final = sa.Table(
    "entry",
    META,
    sa.Column("arrival", sa.Integer, primary_key=True, autoincrement=True),
    sa.Column("id", sa.String(36), nullable=False, unique=True),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("at_us", sa.BigInteger, nullable=False),
    sa.Column("kind", sa.String(20), nullable=False),
    sa.Column("device", sa.String(80), nullable=False),
    sa.Column("target", sa.String(36)),
    sa.Column("moved_to", sa.String(10)),
    sa.Column("line", sa.Text, nullable=False),
)
stretch: Final = sa.Table(
    "stretch",
    META,
    sa.Column("arrival", sa.Integer, primary_key=True, autoincrement=True),
    sa.Column("id", sa.String(32), nullable=False, unique=True),
    sa.Column("device", sa.String(80), nullable=False),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("start_us", sa.BigInteger, nullable=False),
    sa.Column("end_us", sa.BigInteger, nullable=False),
    sa.Column("points", sa.Integer, nullable=False),
)
block: Final = sa.Table(
    "block",
    META,
    sa.Column("stretch", sa.Integer, sa.ForeignKey("stretch.arrival"), primary_key=True),
    sa.Column("data", sa.LargeBinary, nullable=False),
)
effort: Final = sa.Table(
    "effort",
    META,
    sa.Column("day", sa.String(10), primary_key=True),
    sa.Column("made_from", sa.String(64), nullable=False),
    sa.Column("stints", sa.Text, nullable=False),
)
ENTRY_ROW: Final = (entry.c.id, entry.c.day, entry.c.line)
STRETCH_ROW: Final = (stretch.c.id, stretch.c.device, stretch.c.day, block.c.data)
