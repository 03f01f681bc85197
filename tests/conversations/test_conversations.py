"""Every golden conversation holds, in every language that it is told in; and the player itself finds what does not."""

from collections import defaultdict
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.conversations.conversation import FOLDER, REFRESH, Played, Unreadable, files, play, read, told
from tests.conversations.refresh import main as refresh


@cache
def played(path: Path) -> Played:
    return play(read(path))


def by_name() -> dict[str, list[Path]]:
    """The files of each exchange, the English one first."""
    found = defaultdict(list)
    for path in files():
        found[path.name.split(".")[0]].append(path)
    return {name: sorted(paths, key=lambda path: ".en." not in path.name) for name, paths in found.items()}


TRANSLATED = {name: paths for name, paths in by_name().items() if len(paths) > 1}


@pytest.mark.parametrize("path", files(), ids=lambda path: path.name)
def test_conversation_holds(path: Path) -> None:
    outcome = played(path)

    assert not outcome.faults, "\n".join(["", *outcome.faults])
    stale = [f"{path.name}:{number}: now worded: {text}" for number, text in outcome.stale]
    assert not stale, "\n".join(["", *stale, f"Where the new wording is right: {REFRESH}"])


@pytest.mark.parametrize("name", TRANSLATED)
def test_languages_tell_the_same(name: str) -> None:
    """The same texts at the same times, by template and values; only the words differ.

    But for the offer of Latin letters, which only a language in another script has.
    """

    def all_told(path: Path) -> list[tuple[Any, ...]]:
        return [told(sent) for sent in played(path).sent if sent["template"] != "cheaper_script.offer"]

    first, *others = TRANSLATED[name]
    for other in others:
        assert all_told(other) == all_told(first), other.name


CONVERSATION = """\
# who joins
date 2026-10-23
18:40 +919000000001 > hello
18:40 +919000000001 < WORDING
= template TEMPLATE
"""


@pytest.fixture
def joining(tmp_path: Path) -> Path:
    """One text and its answer, to be filled in."""
    return tmp_path / "hello.en.txt"


def written(path: Path, template: str = "join.agree", wording: str = "Welcome", more: str = "") -> Path:
    path.write_text(CONVERSATION.replace("WORDING", wording).replace("TEMPLATE", template) + more, encoding="utf-8")
    return path


def test_another_template_is_a_fault(joining: Path) -> None:
    (fault,) = play(read(written(joining, template="join.declined"))).faults

    assert fault.startswith("hello.en.txt:5: template is join.agree, not join.declined")


def test_a_text_that_nobody_expects_is_a_fault(joining: Path) -> None:
    fault, *_ = play(read(written(joining, more="18:41 +919000000001 > help\n"))).faults

    assert fault.startswith("hello.en.txt:6: sent, and not expected: help.answer")


def test_an_expected_text_that_is_not_sent_is_a_fault(joining: Path) -> None:
    (fault,) = play(read(written(joining, more="18:40 +919000000001 < And so on\n= template join.name\n"))).faults

    assert fault == "hello.en.txt:6: expected, and not sent: And so on"


@pytest.mark.parametrize("line", ["= text Welcome", "= because reminder", "= 1.cut 2027-01-04", "= segments 2"])
def test_a_value_that_differs_is_a_fault(joining: Path, line: str) -> None:
    (fault,) = play(read(written(joining, more=f"{line}\n"))).faults

    assert fault.startswith("hello.en.txt:6: ")


@pytest.mark.parametrize("line", ["= because reply", "= language en", "= segments 1", "= cut -", "= 2.cut -"])
def test_a_value_that_holds_is_none(joining: Path, line: str) -> None:
    assert play(read(written(joining, more=f"{line}\n"))).faults == []


@pytest.mark.parametrize("line", ["18:41 > who", "= nothing", "~ tomorrow", "settings {}"])
def test_a_line_of_another_form_is_refused(joining: Path, line: str) -> None:
    with pytest.raises(Unreadable, match=r"hello.en.txt:6"):
        read(written(joining, more=f"{line}\n"))


def test_refresh_rewrites_the_wording_and_nothing_else(joining: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The comment, the heading and the values stay; the diff shows the old and the new words."""
    before = written(joining).read_text(encoding="utf-8").splitlines()

    assert refresh([joining]) == 0

    after = joining.read_text(encoding="utf-8").splitlines()
    assert [one for one, other in zip(before, after, strict=True) if one == other] == [*before[:3], before[4]]
    assert after[3].startswith("18:40 +919000000001 < Welcome. We text you")
    diff = capsys.readouterr().out
    assert f"-{before[3]}\n+{after[3]}\n" in diff
    assert play(read(joining)).stale == []


def test_refresh_leaves_alone_what_does_not_hold(joining: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = written(joining, template="join.declined").read_text(encoding="utf-8")

    assert refresh([joining]) == 1

    assert joining.read_text(encoding="utf-8") == before
    assert "left as it is" in capsys.readouterr().err


def test_every_exchange_is_told_in_english() -> None:
    names = {path.name.split(".")[0] for path in FOLDER.glob("*.*.txt")}

    assert {name for name in names if not (FOLDER / f"{name}.en.txt").exists()} == set()
