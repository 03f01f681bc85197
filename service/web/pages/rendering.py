"""Templates of `service/web/templates` into pages: everything escaped, no inline script or style."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import Response

from service.web.pages.language import PageLanguage, breakable, direction, html_tag, page_languages
from service.web.pages.static import Static

# Only our own files, and nobody may frame us.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # "no-referrer" would blank the Origin that forms are checked by
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}


class Pages:
    """Renders pages in every language."""

    def __init__(self) -> None:
        self.static = Static()
        self.languages = page_languages()
        self._environments = {tag: self._environment(language) for tag, language in self.languages.items()}

    def _environment(self, language: PageLanguage) -> Environment:
        environment = Environment(
            loader=PackageLoader("service.web"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
            lstrip_blocks=True, extensions=["jinja2.ext.i18n"],
        )  # fmt: skip
        environment.install_gettext_translations(language.texts, newstyle=True)  # type: ignore[attr-defined]
        environment.globals |= {
            "language": language, "languages": self.languages, "static": self.static.address, "word": language.word,
        }  # fmt: skip
        environment.filters |= {
            "figure": language.figure,
            "month": language.month,
            "breakable": breakable,
            "html_tag": html_tag,
            "direction": direction,
        }
        return environment

    def language(self, tag: str) -> PageLanguage:
        return self.languages.get(tag) or self.languages["en"]

    def page(self, tag: str, template: str, values: Mapping[str, Any], status: int = 200) -> Response:
        """A template filled, in the language of the tag."""
        environment = self._environments[self.language(tag).tag]
        text = environment.get_template(template).render(values)
        return Response(text, status, headers=HEADERS, media_type="text/html; charset=utf-8")
