"""Queries on the staff of the desk, their sessions, and the forms that they sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, or_, select, update

from service.store.schema import failed_logins, sent_forms, staff, staff_sessions
from service.store.session import upsert


@dataclass(frozen=True)
class Staff:
    """Somebody who works at the desk of one cooperative."""

    id: int
    cooperative_id: int
    login: str
    name: str
    role: str
    language: str


@dataclass(frozen=True)
class Session:
    """An open session and whose it is."""

    id: int
    staff: Staff
    began: datetime
    seen: datetime


_STAFF = (staff.c.id, staff.c.cooperative_id, staff.c.login, staff.c.name, staff.c.role, staff.c.language)


def _staff(row: Any) -> Staff:
    return Staff(row.id, row.cooperative_id, row.login, row.name, row.role, row.language)


def add(
    connection: Connection, cooperative_id: int, login: str, name: str, role: str, language: str, password_hash: str,
    at: datetime,
) -> bool:  # fmt: skip
    """Make an account; False where the login is taken."""
    made = connection.execute(
        upsert(connection, staff)
        .values(
            cooperative_id=cooperative_id, login=login, name=name, role=role, language=language,
            password_hash=password_hash, at=at,
        )
        .on_conflict_do_nothing(index_elements=["login"])
        .returning(staff.c.id)
    ).one_or_none()  # fmt: skip
    return made is not None


def by_login(connection: Connection, login: str) -> tuple[Staff, str] | None:
    """An account that is not closed, and its password's hash."""
    row = connection.execute(
        select(*_STAFF, staff.c.password_hash).where(staff.c.login == login, staff.c.closed_at.is_(None))
    ).one_or_none()
    return None if row is None else (_staff(row), row.password_hash)


def change(connection: Connection, staff_id: int, values: Mapping[str, Any]) -> None:
    """Write the language, the password's hash or the closing of an account."""
    connection.execute(update(staff).where(staff.c.id == staff_id).values(dict(values)))


# Sessions


def begin(connection: Connection, who: Staff, token_hash: str, agent: str, at: datetime) -> None:
    connection.execute(
        staff_sessions.insert().values(
            cooperative_id=who.cooperative_id, staff_id=who.id, token_hash=token_hash, agent=agent, at=at, seen_at=at
        )
    )


def session(connection: Connection, token_hash: str) -> Session | None:
    """The session of a token, unless it was ended or its account closed."""
    row = connection.execute(
        select(*_STAFF, staff_sessions.c.id.label("session_id"), staff_sessions.c.at, staff_sessions.c.seen_at)
        .join(staff, staff.c.id == staff_sessions.c.staff_id)
        .where(
            staff_sessions.c.token_hash == token_hash, staff_sessions.c.ended_at.is_(None), staff.c.closed_at.is_(None)
        )
    ).one_or_none()
    return None if row is None else Session(row.session_id, _staff(row), row.at, row.seen_at)


def seen(connection: Connection, session_id: int, at: datetime) -> None:
    connection.execute(update(staff_sessions).where(staff_sessions.c.id == session_id).values(seen_at=at))


def end(connection: Connection, token_hash: str, at: datetime) -> None:
    """End the session of a token."""
    connection.execute(
        update(staff_sessions)
        .where(staff_sessions.c.token_hash == token_hash, staff_sessions.c.ended_at.is_(None))
        .values(ended_at=at)
    )


def end_others(connection: Connection, staff_id: int, but: int, at: datetime) -> int:
    """End all sessions of an account but one; how many that were."""
    return connection.execute(
        update(staff_sessions)
        .where(staff_sessions.c.staff_id == staff_id, staff_sessions.c.id != but, staff_sessions.c.ended_at.is_(None))
        .values(ended_at=at)
    ).rowcount


def sessions_of(connection: Connection, staff_id: int, since: datetime, seen_since: datetime) -> list[Any]:
    """The open sessions of an account that have not run out, the last used first."""
    return list(
        connection.execute(
            select(staff_sessions)
            .where(
                staff_sessions.c.staff_id == staff_id, staff_sessions.c.ended_at.is_(None),
                staff_sessions.c.at > since, staff_sessions.c.seen_at > seen_since,
            )
            .order_by(staff_sessions.c.seen_at.desc())
        )
    )  # fmt: skip


# Logins that failed


def failed(connection: Connection, login: str, address: str, at: datetime, forget_before: datetime) -> None:
    connection.execute(failed_logins.delete().where(failed_logins.c.at < forget_before))
    connection.execute(failed_logins.insert().values(login=login, address=address, at=at))


def failures(connection: Connection, login: str, address: str, since: datetime) -> tuple[int, int]:
    """How many logins failed since then: of this name, and from this address."""
    row = connection.execute(
        select(
            func.count().filter(failed_logins.c.login == login), func.count().filter(failed_logins.c.address == address)
        ).where(failed_logins.c.at > since, or_(failed_logins.c.login == login, failed_logins.c.address == address))
    ).one()
    return row[0], row[1]


# Forms


def keep_form(
    connection: Connection, who: Staff, key: str, body_hash: str, location: str, told: Mapping[str, Any],
    at: datetime, forget_before: datetime,
) -> bool:  # fmt: skip
    """Keep a form as sent; False where its key was used before."""
    connection.execute(sent_forms.delete().where(sent_forms.c.at < forget_before))
    made = connection.execute(
        upsert(connection, sent_forms)
        .values(
            key=key, cooperative_id=who.cooperative_id, staff_id=who.id, body_hash=body_hash, location=location,
            told=dict(told), at=at,
        )
        .on_conflict_do_nothing(index_elements=["key"])
        .returning(sent_forms.c.key)
    ).one_or_none()  # fmt: skip
    return made is not None


def form(connection: Connection, who: Staff, key: str) -> Any | None:
    """A form that this person sent."""
    return connection.execute(
        select(sent_forms).where(
            sent_forms.c.key == key, sent_forms.c.staff_id == who.id,
            sent_forms.c.cooperative_id == who.cooperative_id,
        )
    ).one_or_none()  # fmt: skip
