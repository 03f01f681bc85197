"""A service over a fresh database on a simulated clock, on SQLite and on PostgreSQL."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import make_url, text

from service.store import migrate
from service.store.session import Database
from tests.service.world import World

PG_BINARIES = "/usr/lib/postgresql"


@pytest.fixture(scope="session")
def postgresql_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL server of our own, as `nobody` when root; CUTDAY_TEST_PG_URL names another."""
    if given := os.environ.get("CUTDAY_TEST_PG_URL"):
        yield given
        return
    places = os.pathsep.join(
        [os.environ.get("PATH", ""), *map(str, sorted(Path("/").glob(f"{PG_BINARIES[1:]}/*/bin")))]
    )
    initdb, pg_ctl = shutil.which("initdb", path=places), shutil.which("pg_ctl", path=places)
    if initdb is None or pg_ctl is None:
        pytest.skip("no PostgreSQL: neither CUTDAY_TEST_PG_URL nor initdb and pg_ctl")
    # Sockets have short paths: under pytest's folder they would not fit.
    folder = Path(subprocess.check_output(["mktemp", "-d", "/tmp/cutday-pg-XXXXXX"], text=True).strip())
    as_user = []
    if os.getuid() == 0:
        if shutil.which("setpriv") is None:
            pytest.skip("PostgreSQL does not run as root, and there is no setpriv to leave it")
        as_user = ["setpriv", "--reuid=nobody", "--regid=nogroup", "--clear-groups"]
        shutil.chown(folder, "nobody", "nogroup")
    data = folder / "data"

    def run(*command: str) -> None:
        done = subprocess.run([*as_user, *command], capture_output=True, text=True, cwd="/")
        if done.returncode:
            pytest.skip(f"PostgreSQL cannot be started here: {(done.stderr or done.stdout).strip().splitlines()[-1:]}")

    try:
        run(
            initdb,
            "--pgdata",
            str(data),
            "--username",
            "cutday",
            "--auth",
            "trust",
            "--encoding",
            "UTF8",
            "--no-locale",
        )
        log = folder / "log"
        options = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off -c max_connections=100"
        done = subprocess.run(
            [*as_user, pg_ctl, "start", "--pgdata", str(data), "--wait", "--log", str(log), "--options", options],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd="/",
        )  # fmt: skip
        if done.returncode:
            pytest.skip(f"PostgreSQL cannot be started here: {log.read_text()[-300:] if log.exists() else 'no log'}")
        yield f"postgresql+psycopg://cutday@/postgres?host={folder}"
        run(pg_ctl, "stop", "--pgdata", str(data), "--mode", "immediate")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.xdist_group("postgresql"))])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """An empty database of this release's schema."""
    if request.param == "postgresql":
        url = request.getfixturevalue("postgresql_url")
        assert make_url(url).get_backend_name() == "postgresql"
        database = Database(url)
        with database.writing() as connection:
            connection.execute(text("DROP SCHEMA IF EXISTS public CASCADE"))
            connection.execute(text("CREATE SCHEMA public"))
        migrate.create(database)
    else:
        database = Database(f"sqlite:///{tmp_path}/cutday.db")
        migrate.create(database)
    yield database
    database.close()


@pytest.fixture
def world(database: Database) -> World:
    return World(database)
