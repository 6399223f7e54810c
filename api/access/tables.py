"""The tables of the database beside a store, as statements are made of them; `database` says how they came to be.

Times are seconds since 1970, UTC; secrets are kept as SHA-256 alone, passwords as argon2id.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Column, Float, Integer, MetaData, String, Table

__all__ = [
    "ACCOUNTS",
    "ATTEMPTS",
    "BACKUPS",
    "ERASED",
    "ERASURES_ASKED",
    "EVENTS",
    "GRANTS",
    "INVITATIONS",
    "KEPT",
    "KEYS",
    "LOOKED_AT",
    "LOOKS",
    "PROVIDER_STARTS",
    "PURPOSES",
    "SESSIONS",
    "SHARES",
    "TABLES",
    "TOKENS",
]

_META: Final = MetaData()


def _number() -> Column[int]:
    return Column("number", Integer, primary_key=True, autoincrement=True)


KEPT: Final = Table(
    "kept",
    _META,
    _number(),
    Column("person", String),
    Column("address", String),
    Column("words", String),
    Column("day", String),
    Column("revision", Integer),
)
#: `folded` is the name as it is compared; `failures` are wrong passwords in a row.
ACCOUNTS: Final = Table(
    "accounts",
    _META,
    _number(),
    Column("name", String),
    Column("folded", String),
    Column("person", String),
    Column("password", String),
    Column("issuer", String),
    Column("subject", String),
    Column("made_at", Float),
    Column("ended_at", Float),
    Column("failures", Integer),
    Column("waits_until", Float),
)
#: What an account was made: of a lead a team, with those below or not; of an assessor a competency in a team.
GRANTS: Final = Table(
    "grants",
    _META,
    Column("account", Integer),
    Column("role", String),
    Column("team", String),
    Column("competency", String),
    Column("with_below", Integer),
)
INVITATIONS: Final = Table(
    "invitations",
    _META,
    Column("digest", String, primary_key=True),
    Column("account", Integer),
    Column("ends_at", Float),
)
#: `confirmed_at` is when the password was given last.
SESSIONS: Final = Table(
    "sessions",
    _META,
    _number(),
    Column("digest", String),
    Column("account", Integer),
    Column("made_at", Float),
    Column("seen_at", Float),
    Column("confirmed_at", Float),
    Column("about", String),
)
TOKENS: Final = Table(
    "tokens",
    _META,
    _number(),
    Column("digest", String),
    Column("account", Integer),
    Column("name", String),
    Column("scope", String),
    Column("made_at", Float),
    Column("ends_at", Float),
    Column("used_at", Float),
)
PURPOSES: Final = Table(
    "purposes",
    _META,
    _number(),
    Column("account", Integer),
    Column("team", String),
    Column("person", String),
    Column("reason", String),
    Column("words", String),
    Column("made_at", Float),
    Column("ends_at", Float),
)
#: Tries to sign in from an address of the network.
ATTEMPTS: Final = Table("attempts", _META, Column("address", String), Column("at", Float))
LOOKS: Final = Table(
    "looks",
    _META,
    _number(),
    Column("account", Integer),
    Column("by", String),
    Column("at", Float),
    Column("kind", String),
    Column("purpose", Integer),
)
LOOKED_AT: Final = Table("looked_at", _META, Column("look", Integer), Column("person", String))
EVENTS: Final = Table(
    "events",
    _META,
    _number(),
    Column("at", Float),
    Column("account", Integer),
    Column("what", String),
    Column("by_account", Integer),
)
KEYS: Final = Table("keys", _META, Column("name", String, primary_key=True), Column("secret", String))
#: Pages of a person that they show to their lead; `until` is a day.
SHARES: Final = Table(
    "shares", _META, _number(), Column("person", String), Column("address", String), Column("until", String)
)
#: Ways to a provider that have begun; `digest` is that of the state, `account` that of who signs in again, or 0.
PROVIDER_STARTS: Final = Table(
    "provider_starts",
    _META,
    Column("digest", String, primary_key=True),
    Column("nonce", String),
    Column("verifier", String),
    Column("is_invited", Integer),
    Column("account", Integer),
    Column("leads_to", String),
    Column("ends_at", Float),
)
#: What stands for each person who was erased: a hash with a key that is nowhere else.
ERASED: Final = Table("erased", _META, Column("key", String, primary_key=True), Column("at", Float))
#: Who is to be erased once somebody else has confirmed it; `account` asked for it.
ERASURES_ASKED: Final = Table(
    "erasures_asked",
    _META,
    Column("person", String, primary_key=True),
    Column("account", Integer),
    Column("at", Float),
)
#: Copies of the store that were written, wherever they are now.
BACKUPS: Final = Table(
    "backups", _META, _number(), Column("path", String), Column("revision", Integer), Column("at", Float)
)
#: All of them.
TABLES: Final = tuple(_META.sorted_tables)
