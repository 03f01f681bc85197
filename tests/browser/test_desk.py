"""The desk in a browser: each page's main use, both directions of writing, a phone's width, keys alone, no script."""

from typing import Any

import pytest

from tests.browser.conftest import Enter, Served

PAGES = (
    "/desk/today",
    "/desk/board",
    "/desk/growers",
    "/desk/growers?stage=no_block",
    "/desk/growers/5",
    "/desk/growers/5/blocks/1",
    "/desk/matters/1",
    "/desk/account",
)


@pytest.mark.parametrize(
    ("language", "width"),
    [(language, 360) for language in ("en", "hi", "hi_Latn", "mr", "kn", "es", "ar")] + [("en", 1280), ("ar", 1280)],
)
def test_every_page_in_every_language_is_sound(enter: Enter, language: str, width: int) -> None:
    """No serious finding of the accessibility checker, nothing that scrolls sideways, the right direction.

    The checker takes a second a page: one language of each direction stands for the others.
    """
    desk = enter(f"reads_{language.lower()}", language=language, width=width)

    wrong = {}
    for path in PAGES:
        page = desk.open(path)
        assert page.locator("html").get_attribute("dir") == ("rtl" if language == "ar" else "ltr")
        checked = desk.serious() if language in ("en", "ar") else []
        wrong[path] = [*checked, *([f"{desk.too_wide()} px too wide"] if desk.too_wide() > 0 else [])]

    assert {path: found for path, found in wrong.items() if found} == {}


def test_margin_stands_where_writing_begins(enter: Enter) -> None:
    """Arabic puts the margin to the right by the same sheet."""
    for language, side in (("en", "left"), ("ar", "right")):
        page = enter(f"margin_{language}", language=language).open("/desk/growers")
        table = page.locator("table.ledger").bounding_box()
        margin = page.locator("table.ledger thead .m").bounding_box()
        if side == "left":
            assert margin["x"] == pytest.approx(table["x"], abs=2)
        else:
            assert margin["x"] + margin["width"] == pytest.approx(table["x"] + table["width"], abs=2)


def test_harm_comes_first(enter: Enter) -> None:
    page = enter().open("/desk/today")
    groups = page.locator("tr.sub th").all_inner_texts()

    assert groups[:2] == ["Someone is hurt", "Trees may come to harm"]
    assert "vomiting" in page.locator("table.faces tbody tr").nth(1).inner_text()


def test_a_matter_is_taken_given_back_and_closed(enter: Enter) -> None:
    page = enter("kamal").open("/desk/today")
    row = page.locator("table.faces tr", has_text="call me")
    row.get_by_role("button", name="Take").click()
    assert "You have taken it." in page.get_by_role("status").inner_text()
    assert "Taken: Kamal Rao" in page.locator("table.faces tr", has_text="call me").inner_text()

    page.get_by_role("button", name="Take it back").click()
    assert "Given back" in page.get_by_role("status").inner_text()

    page.locator("table.faces tr", has_text="call me").get_by_role("link", name="More").click()
    page.fill("#done", "Rang him: he asked about the copper spray.")
    page.get_by_role("button", name="Close it").click()
    assert page.locator("table.faces tr", has_text="call me").count() == 0
    page.get_by_role("link", name="closed").click()
    assert "he asked about the copper spray" in page.locator("table.faces").inner_text()


def test_put_off_wants_a_reason_and_comes_back_on_its_day(enter: Enter) -> None:
    page = enter("lalit").open("/desk/today")
    page.locator("table.faces tr", has_text="can i cut now").get_by_role("link", name="More").click()
    page.select_option("#until", "2026-01-12")
    page.fill("#why", "The adviser is back on Monday.")
    page.get_by_role("button", name="Put it off").click()

    assert page.locator("table.faces tr", has_text="can i cut now").count() == 0
    page.get_by_role("link", name="put off", exact=True).click()
    assert "Mon 12 Jan" in page.locator("table.faces tr", has_text="can i cut now").inner_text().replace("\xa0", " ")


def test_works_without_script(enter: Enter) -> None:
    page = enter("plain", script=False).open("/desk/growers")
    page.select_option("#village", "Upper Neem")
    page.get_by_role("button", name="Show").click()
    assert "village=Upper+Neem" in page.url
    assert [text.strip() for text in page.locator("table.ledger tr.sub").all_inner_texts()] == ["Upper Neem"]

    page.goto(page.url.split("/desk")[0] + "/desk/today")
    page.locator("table.faces tr", has_text="how much water").get_by_role("button", name="Take").click()
    assert "You have taken it." in page.get_by_role("status").inner_text()


def test_the_sieve_swaps_only_the_ledger(enter: Enter) -> None:
    page = enter("sieves").open("/desk/growers")
    page.evaluate("document.querySelector('h1').dataset.mine = 'yes'")
    page.fill("#wanted", "kaveri")
    page.get_by_role("button", name="Show").click()
    page.wait_for_url("**wanted=kaveri**")
    page.wait_for_function("document.querySelectorAll('table.ledger tbody tr:not(.sub)').length === 1")

    assert page.locator("h1").get_attribute("data-mine") == "yes"
    assert "Kaveri, block 1" in page.locator("table.ledger").inner_text()


def test_block_shows_what_was_taken_back_struck_through(enter: Enter, served: Served) -> None:
    """Gopal texted a rain of 34 mm and took it back."""
    page = enter().open("/desk/growers")
    page.get_by_role("link", name="Gopal, block 1").click()
    struck = page.locator("tr.void")

    assert "34 mm" in struck.locator("del").inner_text()
    assert struck.locator("del").evaluate("node => getComputedStyle(node).textDecorationLine") == "line-through"
    assert "undo" in struck.inner_text()
    assert "45 days counted" in page.locator(".stands").first.inner_text()


def test_the_board_draws_lost_days_where_they_fell(enter: Enter) -> None:
    """Sunanda rests since 1 Dec on black soil and texted 12 mm for 3 Jan: the days from then to today are hatched.

    In Arabic time runs to the left: the same bars at 100 - x.
    """

    def bars(page: Any) -> list[tuple[str, float, float]]:
        row = page.locator("table.board tr", has_text="Sunanda")
        return [
            (bar.get_attribute("class"), *(float(bar.get_attribute(name).rstrip("%")) for name in ("x", "width")))
            for bar in row.locator("td.strip rect").all()
        ]

    left = bars(enter("draws").open("/desk/board"))
    right = bars(enter("draws_ar", language="ar").open("/desk/board"))

    days = 30 + 31 + 31 + 28  # November to February
    kinds = [kind for kind, _, _ in left]
    assert kinds == ["kept", "lost", "to-come"]
    assert left[0][1] == pytest.approx(100 * 31 / days, abs=0.02), "2 Dec is the first day that can count"
    assert left[1][1] == pytest.approx(100 * 63 / days, abs=0.02), "3 Jan"
    assert left[1][2] == pytest.approx(100 * 7 / days, abs=0.02), "to 9 Jan, seven days"
    assert [(kind, pytest.approx(100 - x - width, abs=0.03), width) for kind, x, width in left] == right


def test_keys_alone(enter: Enter) -> None:
    """The first Tab offers the way past the head; from there to the first deed, and it is done with Enter."""
    page = enter("keys").open("/desk/today")
    page.keyboard.press("Tab")
    assert focused(page) == "To the record"
    page.keyboard.press("Enter")
    for _ in range(12):
        page.keyboard.press("Tab")
        if focused(page) == "Take":
            break
    assert focused(page) == "Take"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    page.wait_for_url("**told=**")
    assert "You have taken it." in page.get_by_role("status").inner_text()


def focused(page: Any) -> str:
    text: str = page.evaluate("document.activeElement.innerText")
    return text.strip()


def test_language_of_the_account(enter: Enter) -> None:
    page = enter("moves").open("/desk/account")
    page.select_option("#language", "es")
    page.get_by_role("button", name="Keep").first.click()
    assert page.locator("html").get_attribute("lang") == "es"


def test_login_says_the_same_of_every_failure(served: Served, browser: Any) -> None:
    served.staff("known")
    said = set()
    for login in ("known", "nobody at all"):
        page = browser.new_page()
        page.goto(f"{served.address}/desk/login?language=en")
        page.fill("#login", login)
        page.fill("#password", "surely wrong")
        page.get_by_role("button", name="Enter").click()
        said.add(page.get_by_role("alert").inner_text())
        page.close()
    assert len(said) == 1


def test_read_only_is_offered_no_deeds(enter: Enter) -> None:
    page = enter("looks", role="read_only").open("/desk/today")
    assert page.get_by_role("button", name="Take").count() == 0


def test_the_other_cooperative_sees_its_own_alone(enter: Enter) -> None:
    page = enter("stone", other=True).open("/desk/growers")
    assert page.locator("table.ledger tbody tr:not(.sub)").count() == 1
    assert "Tara" in page.locator("table.ledger").inner_text()
