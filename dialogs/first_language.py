"""The language in which a number that was never seen is answered: that of its first text, where it is plain.

grower   मी दत्ता, मला नोंदणी करायची आहे
cutday   (in Marathi, whatever language the cooperative has) ...
"""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Mapping
from functools import cache

from dialogs.language import Language
from dialogs.lexicon import Lexicons, plain
from dialogs.understanding.tokens import normalise, words_of

LATIN = "LATIN"
# Most strangers speak the cooperative's language: where it knows some words of a text, a name that another one knows
# too ("Upper Neem") does not outweigh it.
LEAD = 2
# A script counts as a language's own from this share of its words on: lists hold a stray word of another.
OWN_SCRIPT = 0.01


def first_language(text: str, languages: Mapping[str, Language], otherwise: str) -> str:
    """The one of some languages whose script a text is in and whose own lists know most of its words.

    otherwise: the cooperative's, which a tie goes to, and a text in which no word is known
    """
    words = words_of(normalise(text))
    scripts = Counter(_script(letter) for word in words for letter in word if letter.isalpha())
    if not scripts:
        return otherwise
    # Names and loan words stand in Latin letters in every text, those of another script only in its own.
    script = max(scripts, key=lambda name: (name != LATIN, scripts[name]))
    words = [plain(word) for word in words if _script(word[0]) == script]
    written_so = [tag for tag, one in languages.items() if script in _scripts(one.lexicons, tag)]
    known = {tag: sum(languages[tag].lexicons.knows(tag, word) for word in words) for tag in written_so}
    most, own = max(known.values(), default=0), known.get(otherwise, 0)
    likeliest = [tag for tag, count in known.items() if count == most]
    if otherwise in likeliest or (own and most < own + LEAD):
        return otherwise
    if script != LATIN or most > 1:  # one word in Latin letters may be that on a poster, which every phone can write
        # Words that two languages list belong to the one that the other reads: "new plot" to English, not to Arabic.
        likeliest = [tag for tag in likeliest if not set(languages[tag].lexicons.reads(tag)) & set(likeliest)]
    elif not most:
        return otherwise
    return likeliest[0] if len(likeliest) == 1 else otherwise


def _script(letter: str) -> str:
    return unicodedata.name(letter, "").partition(" ")[0]


@cache
def _scripts(lexicons: Lexicons, tag: str) -> frozenset[str]:
    """The scripts that a language's words are listed in."""
    words = lexicons.spelt(tag)
    counted = Counter(_script(word[0]) for word in words)
    return frozenset(script for script, count in counted.items() if count >= OWN_SCRIPT * len(words))
