"""Who gets in, for which cooperative, and what a form may do: over the web application itself, without a browser."""

import re
from collections.abc import Awaitable, Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import httpx2
import pytest
from anyio.from_thread import start_blocking_portal
from argon2 import PasswordHasher
from sqlalchemy import select

from service.accounts import ABSOLUTE, FAILURES_OF_A_LOGIN, FAILURES_WITHIN, IDLE, Accounts, LoginTaken
from service.app import Running, web
from service.store import cooperatives, matters, migrate, schema
from service.store.session import Database
from tests.service.world import World, description

PASSWORD = "a long enough one"
ADDRESS = "http://desk.test"


def in_a_loop_of_its_own(go: Callable[[], Awaitable[httpx2.Response]]) -> httpx2.Response:
    """In another thread: where the browser's tests ran in this process, its loop still holds this one."""
    with start_blocking_portal() as portal:
        return portal.call(go)


class Desk:
    """The web application as a browser meets it, one person's cookies at a time."""

    def __init__(self, world: World, tmp: Path) -> None:
        self.world = world
        self.accounts = Accounts(world.database, world.clock, PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
        with world.database.writing() as connection:
            other = description(name="Stone Field growers")
            self.other_id = cooperatives.create(connection, other, "8000", world.clock.now(), world.here.date())
        self.accounts.add(world.cooperative_id, "devika", "Devika Rao", "coordinator", "en", PASSWORD)
        self.accounts.add(self.other_id, "ines", "Ines Sol", "coordinator", "en", PASSWORD)
        self.accounts.add(world.cooperative_id, "looks", "Looks", "read_only", "en", PASSWORD)
        self.app = web(Running(world.service), "", self.accounts)
        self.cookies: dict[str, str] = {}

    def ask(self, method: str, path: str, form: dict[str, Any] | None = None, **headers: str) -> httpx2.Response:
        async def go() -> httpx2.Response:
            transport = httpx2.ASGITransport(app=self.app, client=("127.0.0.1", 1234))
            async with httpx2.AsyncClient(transport=transport, base_url=ADDRESS) as client:
                cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
                sent = {"cookie": cookie, **({"origin": ADDRESS} if method == "POST" else {}), **headers}
                content = urlencode(form or {}) if method == "POST" else None
                if content is not None:
                    sent["content-type"] = "application/x-www-form-urlencoded"
                return await client.request(method, path, content=content, headers=sent)

        answer = in_a_loop_of_its_own(go)
        if cookie := re.match(r"([^=]+)=([^;]*)", answer.headers.get("set-cookie", "")):
            self.cookies[cookie[1]] = cookie[2].strip('"')
        return answer

    def get(self, path: str) -> httpx2.Response:
        return self.ask("GET", path)

    def enter(self, login: str = "devika", password: str = PASSWORD) -> httpx2.Response:
        return self.ask("POST", "/desk/login", {"login": login, "password": password})

    def form(self, page: str, action: str) -> dict[str, str]:
        """The hidden fields of a form on a page."""
        html = self.get(page).text
        found = re.search(rf'<form[^>]*action="{re.escape(action)}"[^>]*>(.*?)</form>', html, re.DOTALL)
        assert found, action
        return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', found[1]))


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    database = Database(f"sqlite:///{tmp_path}/desk.db")
    migrate.create(database)
    yield Desk(World(database), tmp_path)
    database.close()


def raised(desk: Desk, cooperative_id: int | None = None, kind: str = "question") -> int:
    with desk.world.database.writing() as connection:
        matters.raise_matter(
            connection, cooperative_id or desk.world.cooperative_id, None, "+919000000009", kind, "how much copper",
            desk.world.clock.now(),
        )  # fmt: skip
    return max(row.id for row in desk.world.rows(schema.matters))


def test_nothing_without_a_session(desk: Desk) -> None:
    for route in desk_routes(desk):
        if "GET" in route.methods and route.path not in ("/desk/login", "/desk"):
            answer = desk.get(filled(route.path, 1))
            assert answer.status_code == 303, route.path
            assert answer.headers["location"].startswith("/desk/login"), route.path


def desk_routes(desk: Desk) -> list[Any]:
    return [route for route in desk.app.routes if getattr(route, "path", "").startswith("/desk")]


def filled(path: str, id_: int) -> str:
    return re.sub(r"\{(\w+)\}", lambda name: {"deed": "taken", "block": "1"}.get(name[1], str(id_)), path)


def test_ids_of_another_cooperative_are_not_found(desk: Desk) -> None:
    """Every address of the desk with an id in it, asked by the other cooperative: 404, and nothing is written."""
    grower = desk.world.resting()
    matter = raised(desk)
    desk.enter("ines")
    token = desk.form("/desk/account", "/desk/leave")["token"]
    asked = 0
    for route in desk_routes(desk):
        if "{" not in route.path:
            continue
        asked += 1
        path = filled(route.path, matter if "matter" in route.path else grower)
        if "POST" in route.methods:
            answer = desk.ask("POST", path, {"token": token, "once": path, "seen": "0", "said": "x"})
        else:
            answer = desk.get(path)
        assert answer.status_code == 404, path
    assert asked >= 4
    assert desk.world.rows(schema.matter_deeds) == []
    desk.cookies.clear()
    desk.enter("devika")
    assert desk.get(f"/desk/growers/{grower}/blocks/1").status_code == 200


def test_every_failure_to_enter_looks_the_same(desk: Desk) -> None:
    wrong, nobody, long = desk.enter("devika", "wrong"), desk.enter("nobody", PASSWORD), desk.enter("devika", "x" * 300)

    def said(answer: httpx2.Response) -> str:
        return re.sub(r'value="[^"]*"', "", answer.text)

    assert {answer.status_code for answer in (wrong, nobody, long)} == {403}
    assert said(wrong) == said(nobody) == said(long)
    assert "set-cookie" not in wrong.headers


def test_guessing_is_slowed_for_a_quarter_of_an_hour(desk: Desk) -> None:
    for _ in range(FAILURES_OF_A_LOGIN):
        assert desk.enter("devika", "wrong").status_code == 403
    assert desk.enter().status_code == 403, "the right one, too soon"

    desk.world.clock.move(desk.world.clock.now() + FAILURES_WITHIN)

    assert desk.enter().status_code == 303


def test_a_session_ends_idle_after_half_an_hour_and_anyway_after_twelve(desk: Desk) -> None:
    clock = desk.world.clock
    desk.enter()
    for _ in range(int(ABSOLUTE / (IDLE - timedelta(minutes=1)))):
        clock.move(clock.now() + IDLE - timedelta(minutes=1))
        assert desk.get("/desk/today").status_code == 200
    clock.move(clock.now() + IDLE - timedelta(minutes=1))
    assert desk.get("/desk/today").status_code == 303, "twelve hours are over"

    desk.enter()
    clock.move(clock.now() + IDLE)
    assert desk.get("/desk/today").status_code == 303, "idle"


def test_the_token_changes_at_login_and_the_old_one_is_dead(desk: Desk) -> None:
    desk.enter()
    old = desk.cookies["cutday"]
    desk.enter()
    assert desk.cookies["cutday"] != old

    desk.cookies["cutday"] = old
    assert desk.get("/desk/today").status_code == 303


def test_leaving_ends_the_session_on_the_server(desk: Desk) -> None:
    desk.enter()
    token = desk.cookies["cutday"]
    desk.ask("POST", "/desk/leave", desk.form("/desk/account", "/desk/leave"))

    desk.cookies["cutday"] = token
    assert desk.get("/desk/today").status_code == 303


def test_no_token_stands_in_the_database(desk: Desk) -> None:
    desk.enter()
    (row,) = desk.world.rows(schema.staff_sessions)
    assert desk.cookies["cutday"] not in str(row)
    assert PASSWORD not in str(desk.world.rows(schema.staff))


@pytest.mark.parametrize(
    ("headers", "token"),
    [
        ({"origin": "http://elsewhere.test"}, True),
        ({"origin": "null"}, True),
        ({"sec-fetch-site": "cross-site"}, True),
        ({"sec-fetch-site": "same-origin"}, False),
    ],
)
def test_a_form_from_elsewhere_does_nothing(desk: Desk, headers: dict[str, str], token: bool) -> None:
    matter = raised(desk)
    desk.enter()
    form = desk.form("/desk/today", f"/desk/matters/{matter}/taken")
    if not token:
        form["token"] = "guessed"

    assert desk.ask("POST", f"/desk/matters/{matter}/taken", form, **headers).status_code == 403
    assert desk.world.rows(schema.matter_deeds) == []


def test_a_form_sent_twice_has_one_effect(desk: Desk) -> None:
    """A double click, or the back button: the same answer, one deed."""
    matter = raised(desk)
    desk.enter()
    form = desk.form("/desk/today", f"/desk/matters/{matter}/taken")
    answers = [desk.ask("POST", f"/desk/matters/{matter}/taken", form) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert [row.deed for row in desk.world.rows(schema.matter_deeds)] == ["taken"]


def test_the_key_of_a_form_serves_no_other(desk: Desk) -> None:
    first, second = raised(desk), raised(desk)
    desk.enter()
    form = desk.form("/desk/today", f"/desk/matters/{first}/taken")
    desk.ask("POST", f"/desk/matters/{first}/taken", form)

    assert desk.ask("POST", f"/desk/matters/{second}/taken", form).status_code == 409
    assert [row.matter_id for row in desk.world.rows(schema.matter_deeds)] == [first]


def test_who_comes_second_is_told_so(desk: Desk) -> None:
    """Two tabs: the second form was made before the first one's deed."""
    matter = raised(desk)
    desk.enter()
    early = desk.form(f"/desk/matters/{matter}", f"/desk/matters/{matter}/closed")
    taken = desk.form("/desk/today", f"/desk/matters/{matter}/taken")
    desk.ask("POST", f"/desk/matters/{matter}/taken", taken)

    answer = desk.ask("POST", f"/desk/matters/{matter}/closed", {**early, "said": "rang her"})

    assert answer.status_code == 409
    assert "rang her" in answer.text
    assert "Devika Rao" in answer.text
    assert [row.deed for row in desk.world.rows(schema.matter_deeds)] == ["taken"]


def test_closing_wants_words(desk: Desk) -> None:
    matter = raised(desk)
    desk.enter()
    form = desk.form(f"/desk/matters/{matter}", f"/desk/matters/{matter}/closed")

    assert desk.ask("POST", f"/desk/matters/{matter}/closed", {**form, "said": " "}).status_code == 422
    assert desk.world.rows(schema.matter_deeds) == []


def test_a_role_without_the_right_may_not(desk: Desk) -> None:
    matter = raised(desk)
    desk.enter("looks")
    token = desk.form("/desk/account", "/desk/leave")["token"]

    answer = desk.ask("POST", f"/desk/matters/{matter}/taken", {"token": token, "once": "k", "seen": "0"})
    assert answer.status_code == 403
    assert desk.world.rows(schema.matter_deeds) == []


def test_every_page_bears_the_headers(desk: Desk) -> None:
    answers = [desk.get("/desk/login"), desk.enter(), desk.get("/desk/today"), desk.get("/desk/growers/99")]
    for answer in answers:
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert "unsafe" not in answer.headers["content-security-policy"]
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert answers[3].status_code == 404
    cookie = answers[1].headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie


def test_a_password_in_clear_is_asked_for_on_the_machine_itself_alone(desk: Desk) -> None:
    async def from_afar() -> httpx2.Response:
        transport = httpx2.ASGITransport(app=desk.app, client=("192.0.2.7", 1234))
        async with httpx2.AsyncClient(transport=transport, base_url=ADDRESS) as client:
            content = urlencode({"login": "devika", "password": PASSWORD})
            headers = {"origin": ADDRESS, "content-type": "application/x-www-form-urlencoded"}
            return await client.post("/desk/login", content=content, headers=headers)

    answer = in_a_loop_of_its_own(from_afar)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_where_a_login_leads_is_ours(desk: Desk) -> None:
    for then in ("https://elsewhere.test/", "//elsewhere.test", "/desk/\\elsewhere", ""):
        answer = desk.ask("POST", "/desk/login", {"login": "devika", "password": PASSWORD, "next": then})
        assert answer.headers["location"] == "/desk/today"


def test_what_growers_type_is_escaped(desk: Desk) -> None:
    with desk.world.database.writing() as connection:
        matters.raise_matter(
            connection, desk.world.cooperative_id, None, "+919000000009", "question", "<script>alert(1)</script>",
            desk.world.clock.now(),
        )  # fmt: skip
    desk.enter()
    assert "<script>alert" not in desk.get("/desk/today").text
    assert "&lt;script&gt;alert" in desk.get("/desk/today").text


def test_logins_are_one_for_the_service(desk: Desk) -> None:
    with pytest.raises(LoginTaken):
        desk.accounts.add(desk.other_id, "Devika", "Another", "adviser", "en", PASSWORD)
    with pytest.raises(ValueError, match="password"):
        desk.accounts.add(desk.other_id, "short", "Short", "adviser", "en", "short")


def test_order_of_harm(desk: Desk) -> None:
    """Worst first; at equal harm the longest wait; what somebody has taken after what nobody has."""
    world = desk.world
    question = raised(desk)
    world.clock.move(world.clock.now() + timedelta(hours=1))
    trouble = raised(desk, kind="trouble")
    later = raised(desk)
    hurt = raised(desk, kind="hurt")
    desk.enter()
    assert shown(desk) == [hurt, trouble, question, later]

    desk.ask("POST", f"/desk/matters/{question}/taken", desk.form("/desk/today", f"/desk/matters/{question}/taken"))
    assert shown(desk) == [hurt, trouble, later, question]


def shown(desk: Desk) -> list[int]:
    return [int(id_) for id_ in re.findall(r'<a href="/desk/matters/(\d+)">More', desk.get("/desk/today").text)]


def test_no_page_asks_more_queries_for_more_rows(desk: Desk) -> None:
    from sqlalchemy import event

    asked: list[str] = []
    event.listen(desk.world.database.engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    desk.enter()

    def count(path: str) -> int:
        desk.get(path)
        asked.clear()
        assert desk.get(path).status_code == 200
        return len(asked)

    desk.world.resting("+919000000100")
    raised(desk)
    few = {
        path: count(path) for path in ("/desk/today", "/desk/board", "/desk/growers", "/desk/growers?stage=no_block")
    }
    for place in range(12):
        desk.world.resting(f"+9190000002{place:02}", blocks=("1", "2"))
        raised(desk)
    assert {path: count(path) for path in few} == few


def test_lists_compute_no_plan(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.world.resting()
    desk.enter()

    def plan(*_: object) -> None:
        raise AssertionError("a list computed a plan")

    monkeypatch.setattr("dialogs.farm.plan", plan)
    assert desk.get("/desk/growers").status_code == 200
    assert desk.get("/desk/today").status_code == 200


def test_the_board_computes_a_plan_for_each_block_it_shows(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    from dialogs import farm

    for place in range(25):
        desk.world.resting(f"+9190000003{place:02}", blocks=("1", "2"))
    desk.enter()
    asked: list[object] = []

    def counted(*given: Any) -> Any:
        asked.append(given)
        return real(*given)

    real = farm.plan
    monkeypatch.setattr(farm, "plan", counted)
    assert "Rows 1 to 40 of 50." in desk.get("/desk/board").text
    assert len(asked) == 40


def test_staff_rows_are_of_one_cooperative(desk: Desk) -> None:
    desk.enter("ines")
    with desk.world.database.reading() as connection:
        (session,) = connection.execute(select(schema.staff_sessions))
    assert session.cooperative_id == desk.other_id
