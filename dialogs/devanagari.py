"""Devanagari words in Latin letters, as people text them: "पत्ती" is "patti", "छिड़काव" is "chhidkav".

Both scripts of one language then meet under one sound.
"""

from functools import lru_cache

_CONSONANTS = dict(
    zip(
        "कखगघङचछजझञटठडढणतथदधनपफबभमयरऱलळवशषसह",
        "k kh g gh n ch chh j jh n t th d dh n t th d dh n p ph b bh m y r r l l v sh sh s h".split(),
        strict=True,
    )
)
_VOWELS = dict(zip("अआइईउऊऋएऐऑओऔऍॲ", "a a i i u u ri e ai o o au e a".split(), strict=True))
_SIGNS = dict(zip("ािीुूृेैॉोौॅ", "a i i u u ri e ai o o au e".split(), strict=True))
_HALANT, _NASALS = "\u094d", "\u0902\u0901"
_LABIALS = "पफबभम"


def is_devanagari(word: str) -> bool:
    """Whether a word begins in Devanagari."""
    return "\u0900" <= word[:1] <= "\u097f"


@lru_cache(maxsize=20_000)
def romanised(word: str) -> str:
    """A word in Latin letters; the short a that is written nowhere is left out where it is not said."""
    units: list[list[str]] = []  # consonants, vowel ("" none, "-" the unwritten a), nasal
    for at, char in enumerate(word):
        if char in _CONSONANTS:
            units.append([_CONSONANTS[char], "-", ""])
        elif char in _VOWELS:
            units.append(["", _VOWELS[char], ""])
        elif char in _SIGNS and units:
            units[-1][1] = _SIGNS[char]
        elif char == _HALANT and units:
            units[-1][1] = ""
        elif char in _NASALS and units and at + 1 < len(word):  # at the end of a word it is rarely texted
            units[-1][2] = "m" if word[at + 1] in _LABIALS else "n"
    last = len(units) - 1
    for at in range(last, 0, -1):
        consonant, vowel, nasal = units[at]
        if vowel != "-" or nasal:
            continue
        if at == last:
            units[at][1] = ""
        elif units[at - 1][1] and units[at + 1][0] and units[at + 1][1] and consonant:
            units[at][1] = ""
    return "".join(consonant + ("a" if vowel == "-" else vowel) + nasal for consonant, vowel, nasal in units)
