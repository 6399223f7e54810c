"""Keys that the program makes for itself at its first start and keeps in the database (in spirit ASVS V13.3.1)."""

from __future__ import annotations

from sqlalchemy import insert, select

from api.access.database import Database
from api.access.secrets import make_secret
from api.access.tables import KEYS

__all__ = ["get_key"]


def get_key(database: Database, name: str) -> str:
    """Return the key of a name; made where there is none yet, the same for every process from then on."""
    own = select(KEYS.c.secret).where(KEYS.c.name == name)
    with database.begin() as connection:
        found = connection.execute(own).scalar()
        if found is None:
            found = make_secret()
            connection.execute(insert(KEYS).values(name=name, secret=found))
    return str(found)
