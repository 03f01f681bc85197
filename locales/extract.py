"""Gather the texts of the web pages into each language's `desk.po`: new ones empty, those no longer shown left out.

    python -m locales.extract

The English sentence is the key; English itself needs no file. Then translate, and run `python -m locales.compile`.
"""

import io
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import DEFAULT_KEYWORDS, extract_from_dir
from babel.messages.pofile import read_po, write_po

LOCALES = Path(__file__).parent
WEB = LOCALES.parent / "service" / "web"
METHODS = [("**.py", "python"), ("templates/**.html", "jinja2")]
OPTIONS = {"templates/**.html": {"trimmed": "true", "silent": "false"}}
KEYWORDS = {**DEFAULT_KEYWORDS, "text": None}  # PageLanguage.text("…")


def messages() -> Catalog:
    """All texts that stand in the code and the templates of the pages."""
    found = Catalog()
    for _, _, message, _, context in extract_from_dir(
        WEB, METHODS, OPTIONS, keywords=KEYWORDS, strip_comment_tags=True
    ):
        found.add(message, context=context)
    return found


def main() -> None:
    wanted = messages()
    for po in sorted(LOCALES.glob("*/desk.po")):
        catalogue = read_po(io.StringIO(po.read_text(encoding="utf-8")), abort_invalid=True)
        catalogue.update(wanted, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        written = io.BytesIO()
        write_po(written, catalogue, no_location=True, sort_output=True, width=0, ignore_obsolete=True)
        body = written.getvalue().decode().partition("\n\n")[2]
        head = po.read_text(encoding="utf-8").partition("\n\n")[0]  # ours, without dates and names of tools
        po.write_text(f"{head}\n\n{body}", encoding="utf-8")
        missing = sum(1 for one in catalogue if one.id and not all(_strings(one.string)))
        print(f"{po}: {len(catalogue)} texts, {missing} to translate")


def _strings(string: str | tuple[str, ...] | list[str] | None) -> tuple[str, ...]:
    return (string,) if isinstance(string, str) else tuple(string or ("",))


if __name__ == "__main__":
    main()
