"""When a number was offered its language in Latin letters."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.add_column("numbers", sa.Column("script_offered_at", sa.DateTime(timezone=True), nullable=True))
