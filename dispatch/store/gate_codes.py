"""Gate codes in the database: sealed there, each time it is opened."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, select, update
from sqlmodel import Session

from dispatch.gate_keys import SEALED, open_sealed, seal
from dispatch.store.tables import SiteRow, table_of


def seal_open_codes(connection: Connection, file: Path) -> int:
    """Seal the codes that still stand there in the open, as older versions kept them.

    Returns
    -------
    int
        How many were sealed.
    """
    sites = table_of(SiteRow)
    in_the_open = (sites.c.gate_code != "") & sites.c.gate_code.not_like(f"{SEALED}%")
    rows = connection.execute(select(sites.c.id, sites.c.gate_code).where(in_the_open)).all()
    for site_id, code in rows:
        sealed = seal(code, file)
        connection.execute(update(sites).where(sites.c.id == site_id).values(gate_code=sealed))
    return len(rows)


def reseal(session: Session, file: Path) -> int:
    """Seal every code anew with the newest key; returns how many; raises KeyLost as opening."""
    sites = table_of(SiteRow)
    rows = session.execute(select(sites.c.id, sites.c.gate_code).where(sites.c.gate_code != ""))
    changed = [(site_id, seal(open_sealed(code, file), file)) for site_id, code in rows]
    for site_id, sealed in changed:
        session.execute(update(sites).where(sites.c.id == site_id).values(gate_code=sealed))
    return len(changed)
