"""The one collection that all tables belong to, with the names of their keys."""

from __future__ import annotations

from sqlmodel import SQLModel

METADATA = SQLModel.metadata
METADATA.naming_convention = {  # names that migrations can refer to
    "ix": "ix_%(column_0_N_label)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
