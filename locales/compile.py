"""Compile each language's `texts.po` and `desk.po` to the `.mo` beside it, and all word lists to `words.index`.

    python -m locales.compile            compile what is stale
    python -m locales.compile --check    compile nothing; exit 1 naming every file that is stale

What is made is committed. The catalogue version of a .mo is the SHA-256 of its .po, and the first line of the index
has that of the word lists and of the code that reads them, so that a stale one is seen; the same files always give the
same bytes.
"""

import argparse
import gettext
import hashlib
import io
import sys
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from locales import word_lists
from locales.word_lists import INDEX

LOCALES = Path(__file__).parent
UNDATED = datetime(2000, 1, 1, tzinfo=UTC)  # the .po tells its own history; a date in the .mo would change its bytes


def catalogues() -> list[Path]:
    """The texts for growers, by key."""
    return sorted(LOCALES.glob("*/texts.po"))


def page_catalogues() -> list[Path]:
    """The texts of the web pages, by the English sentence."""
    return sorted(LOCALES.glob("*/desk.po"))


def fingerprint(po: Path) -> str:
    return hashlib.sha256(po.read_bytes()).hexdigest()


def compiled(po: Path) -> bytes:
    """The .mo of a .po; raises ValueError for a key that stands twice or a line that cannot be read."""
    text = po.read_text(encoding="utf-8")
    keys = Counter(line for line in text.splitlines() if line.startswith("msgid "))
    twice = [key for key, times in keys.items() if times > 1]
    if twice:
        raise ValueError(f"{po}: more than once: {', '.join(twice)}")
    catalogue = read_po(io.StringIO(text), abort_invalid=True)
    catalogue.project, catalogue.version = "cutday", fingerprint(po)
    catalogue.creation_date = catalogue.revision_date = UNDATED
    mo = io.BytesIO()
    write_mo(mo, catalogue)
    return mo.getvalue()


def is_stale(po: Path) -> bool:
    mo = po.with_suffix(".mo")
    if not mo.exists():
        return True
    with mo.open("rb") as file:
        version = gettext.GNUTranslations(file).info().get("project-id-version", "")
    return version != f"cutday {fingerprint(po)}"


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="python -m locales.compile", description="Compile the texts and the word lists of every language."
    )
    parser.add_argument("--check", action="store_true", help="only name what is stale; exit 1 if anything is")
    only_check = parser.parse_args().check
    stale: dict[Path, Callable[[], bytes]] = {
        po.with_suffix(".mo"): partial(compiled, po) for po in [*catalogues(), *page_catalogues()] if is_stale(po)
    }
    if word_lists.is_stale():
        stale[INDEX] = word_lists.compiled
    for path, make in stale.items():
        if only_check:
            print(f"{path} is stale: run python -m locales.compile", file=sys.stderr)
        else:
            path.write_bytes(make())
            print(f"compiled {path}")
    return 1 if only_check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
