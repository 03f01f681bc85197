"""Accounts of the desk: who may enter, how long a session lasts, what each role may do.

A session's token is known to the browser alone; its hash stands in the table, so that a session can be listed and ended
and a copied database opens none. Whatever is wrong with a login, the answer is the same.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum
from typing import Any

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from service.clock import Clock
from service.store import accounts
from service.store.accounts import Session, Staff
from service.store.session import Database

IDLE = timedelta(minutes=30)
ABSOLUTE = timedelta(hours=12)
SEEN_EVERY = timedelta(minutes=1)  # how finely idleness is measured: not every page is a write
FAILURES_WITHIN = timedelta(minutes=15)
FAILURES_OF_A_LOGIN = 5
FAILURES_OF_AN_ADDRESS = 30  # an office shares one
FAILURES_KEPT = timedelta(days=1)
HASHED_AT_ONCE = 2  # each takes a core and 19 MiB for a while
SHORTEST_PASSWORD, LONGEST_PASSWORD = 10, 200  # characters; of what kind is its owner's affair


class Right(Enum):
    """What may be done at the desk."""

    READ = "read"
    ATTEND = "attend"  # take matters, put them off, close them
    ADVISE = "advise"  # rulings, settings, answers
    ADMINISTER = "administer"  # accounts


RIGHTS: Mapping[str, frozenset[Right]] = {
    "coordinator": frozenset({Right.READ, Right.ATTEND}),
    "adviser": frozenset({Right.READ, Right.ATTEND, Right.ADVISE}),
    "field_officer": frozenset({Right.READ, Right.ATTEND}),
    "read_only": frozenset({Right.READ}),
    "administrator": frozenset({Right.READ, Right.ATTEND, Right.ADMINISTER}),
}


class LoginTaken(ValueError):
    """Somebody has this login already, here or in another cooperative."""


@dataclass(frozen=True)
class Entered:
    """An open session and the token that opens it."""

    session: Session
    token: str

    @property
    def staff(self) -> Staff:
        return self.session.staff

    def may(self, right: Right) -> bool:
        return right in RIGHTS[self.staff.role]

    @property
    def form_token(self) -> str:
        """What every form of this session bears; it tells nothing of the token itself."""
        return _hashed(f"form {self.token}")


class Accounts:
    """The staff of all cooperatives of one database.

    hasher: argon2id by the least that OWASP's password storage cheat sheet recommends (19 MiB, 2 passes; from memory)
    """

    def __init__(self, database: Database, clock: Clock, hasher: PasswordHasher | None = None) -> None:
        self.database = database
        self.clock = clock
        self._hasher = hasher or PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
        self._turns = threading.BoundedSemaphore(HASHED_AT_ONCE)
        self._nobodys = self._hasher.hash(secrets.token_hex())

    def add(self, cooperative_id: int, login: str, name: str, role: str, language: str, password: str) -> None:
        """Make an account. Raises LoginTaken, and ValueError where something cannot be used."""
        login = folded(login)
        if not login or not login.isprintable() or len(login) > 64 or " " in login:
            raise ValueError("login: up to 64 letters, figures or marks without a space")
        if not name.strip():
            raise ValueError("name: a text is wanted")
        if role not in RIGHTS:
            raise ValueError(f"role: one of {', '.join(RIGHTS)}")
        check_password(password)
        with self._turns:
            hashed = self._hasher.hash(password)
        with self.database.writing() as connection:
            if not accounts.add(
                connection, cooperative_id, login, name.strip(), role, language, hashed, self.clock.now()
            ):
                raise LoginTaken(f"login: {login} is taken")

    def enter(self, login: str, password: str, address: str, agent: str, before: str | None) -> Entered | None:
        """Open a session; None for whatever reason there is none to open.

        address: where the request came from; before: the token of the session that this one replaces
        """
        login, address = folded(login)[:64], address[:64]
        now = self.clock.now()
        with self.database.reading() as connection:
            of_login, of_address = accounts.failures(connection, login, address, now - FAILURES_WITHIN)
            known = accounts.by_login(connection, login)
        barred = of_login >= FAILURES_OF_A_LOGIN or of_address >= FAILURES_OF_AN_ADDRESS
        hashed = self._nobodys if known is None else known[1]  # a login that nobody has takes as long as one
        if barred or len(password) > LONGEST_PASSWORD or not self._is_right(hashed, password) or known is None:
            if not barred:
                with self.database.writing() as connection:
                    accounts.failed(connection, login, address, now, now - FAILURES_KEPT)
            return None
        token = secrets.token_urlsafe(32)
        with self.database.writing() as connection:
            if before:
                accounts.end(connection, _hashed(before), now)
            if self._hasher.check_needs_rehash(hashed):
                with self._turns:
                    accounts.change(connection, known[0].id, {"password_hash": self._hasher.hash(password)})
            accounts.begin(connection, known[0], _hashed(token), agent[:200], now)
            session = accounts.session(connection, _hashed(token))
        return None if session is None else Entered(session, token)

    def entered(self, token: str) -> Entered | None:
        """The session of a token, if it is still good; it counts as used."""
        now = self.clock.now()
        with self.database.reading() as connection:
            session = accounts.session(connection, _hashed(token))
        if session is None or now >= session.began + ABSOLUTE or now >= session.seen + IDLE:
            return None
        if now >= session.seen + SEEN_EVERY:
            with self.database.writing() as connection:
                accounts.seen(connection, session.id, now)
        return Entered(session, token)

    def leave(self, entered: Entered) -> None:
        with self.database.writing() as connection:
            accounts.end(connection, _hashed(entered.token), self.clock.now())

    def sessions(self, entered: Entered) -> list[Any]:
        """The sessions that the person has open."""
        now = self.clock.now()
        with self.database.reading() as connection:
            return accounts.sessions_of(connection, entered.staff.id, now - ABSOLUTE, now - IDLE)

    def change_password(self, entered: Entered, old: str, new: str) -> bool:
        """Set a new password and end the person's other sessions; False where the old one is wrong.

        Raises ValueError where the new one cannot be used.
        """
        check_password(new)
        with self.database.reading() as connection:
            known = accounts.by_login(connection, entered.staff.login)
        if known is None or len(old) > LONGEST_PASSWORD or not self._is_right(known[1], old):
            return False
        with self._turns:
            hashed = self._hasher.hash(new)
        with self.database.writing() as connection:
            accounts.change(connection, entered.staff.id, {"password_hash": hashed})
            accounts.end_others(connection, entered.staff.id, entered.session.id, self.clock.now())
        return True

    def _is_right(self, hashed: str, password: str) -> bool:
        with self._turns:
            try:
                return self._hasher.verify(hashed, password)
            except (VerificationError, InvalidHashError):
                return False


def check_password(password: str) -> None:
    """Raises ValueError where a password is too short or too long."""
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise ValueError(f"password: {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters")


def folded(login: str) -> str:
    return login.strip().casefold()


def _hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
