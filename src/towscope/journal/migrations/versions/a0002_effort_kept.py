"""Room for effort once computed, so that a season is not computed anew each time.

Revision ID: 0002
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; it holds nothing that cannot be computed again."""
    op.create_table(
        "effort",
        sa.Column("day", sa.String(10), primary_key=True),
        sa.Column("made_from", sa.String(64), nullable=False),
        sa.Column("stints", sa.Text, nullable=False),
    )
