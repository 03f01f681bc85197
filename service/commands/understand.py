"""`cutday understand`: texts in, meanings out, one JSON object a line."""

import json
import sys
from collections.abc import Iterable
from datetime import date
from typing import Any, TextIO

from dialogs.language import load_languages
from dialogs.understanding import understand

_TEXTS = ("id", "lang", "today", "text")


class BadLine(ValueError):
    """A line that is not an object as described in the command's help."""


def run(stdin: Iterable[str], stdout: TextIO, stderr: TextIO, why: bool) -> int:
    """Read each line of stdin and print its meaning; 2 at the first line that is none, else 0."""
    languages = load_languages()
    for number, line in enumerate(stdin, 1):
        if not line.strip():
            continue
        try:
            asked = _read(line, languages)
        except BadLine as error:
            stdout.flush()
            print(f"line {number}: {error}", file=stderr)
            return 2
        meaning = understand(asked["text"], asked["lang"], asked["today"], asked.get("asking"), languages, explain=why)
        answer: dict[str, Any] = {
            "id": asked["id"], "task": meaning.task, "slots": dict(meaning.slots), "clarify": meaning.clarify,
        }  # fmt: skip
        if why:
            answer["why"] = list(meaning.why)
        stdout.write(json.dumps(answer, ensure_ascii=False) + "\n")
    stdout.flush()
    return 0


def _read(line: str, languages: Any) -> dict[str, Any]:
    try:
        asked = json.loads(line)
    except ValueError as error:
        raise BadLine(f"not JSON: {error}") from error
    if not isinstance(asked, dict):
        raise BadLine("not an object")
    for key in _TEXTS:
        if key not in asked:
            raise BadLine(f"no {key!r}")
    for key in ("lang", "today", "text"):
        if not isinstance(asked[key], str):
            raise BadLine(f"{key!r} is not a string")
    if asked["lang"] not in languages:
        raise BadLine(f"no language {asked['lang']!r}; known: {', '.join(languages)}")
    if not (asked.get("asking") is None or isinstance(asked["asking"], str)):
        raise BadLine("'asking' is neither null nor a string")
    try:
        asked["today"] = date.fromisoformat(asked["today"])
    except ValueError as error:
        raise BadLine(f"'today' is no date: {asked['today']!r}") from error
    return asked


if __name__ == "__main__":
    sys.exit(run(sys.stdin, sys.stdout, sys.stderr, "--why" in sys.argv))
