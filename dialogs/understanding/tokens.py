"""A text as typed, made into items: words with their concepts, numbers, marks."""

import re
import unicodedata

from dialogs.lexicon import DUAL, Entry, Lexicon, NumberWord, bit, plain, spelt

LONGEST_TEXT = 1600
MOST_CHARACTERS = 20_000  # kept; no grower's phone types more
LONGEST_READ = 240  # items; what a basic phone can send in ten parts is shorter

# What a phrase does not hide: a call for help must be heard whatever words stand around it.
KEPT = bit("body") | bit("animal") | bit("snake") | bit("scorpion") | bit("ill") | bit("plant") | bit("tree")
for _name in (
    "drip",
    "flood",
    "sprinkler",
    "job",
    "spray",
    "sprayed",
    "fell",
    "eat",
    "drink",
    "bite",
    "blood",
    "rain",
    "ethephon",
    "bordeaux",
    "copper",
    "other_product",
):
    KEPT |= bit(_name)

TONNE = bit("tonne")
BLOCK = bit("block")
ONE_MORE, NUMERO = bit("one_more"), bit("numero")
YESTERDAY = bit("yesterday")
PAST_DAY = YESTERDAY | bit("day_before_yesterday")

# Letters of other scripts and typographic marks that look like plain ones.
_LOOKALIKES = {
    "а": "a", "е": "e", "о": "o", "р": "p", "с": "c", "х": "x", "у": "y", "і": "i", "А": "A", "В": "B", "Е": "E",
    "К": "K", "М": "M", "Н": "H", "О": "O", "Р": "P", "С": "C", "Т": "T", "Х": "X", "ο": "o", "α": "a", "ν": "v",
    "’": "'", "‘": "'", "`": "'", "´": "'", "“": '"', "”": '"', "–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-",
    "×": "x", "✕": "x", "٪": "%", "।": ".", "॥": ".", "،": ",", "؛": ",", "؟": "?", "¿": "?", "٫": ".", "٬": "",
    "½": " 1/2 ", "¼": " 1/4 ", "¾": " 3/4 ", "⅓": " 1/3 ", "⅔": " 2/3 ", "\u00a0": " ", "\u0640": "", "॰": ".",
}  # fmt: skip


class _Characters(dict[int, str | int | None]):
    """Digits of every script to ASCII, superscript and circled ones too; characters that no one sees to nothing;
    look-alikes to what they look like. What becomes of a character is found when it first comes.
    """

    def __missing__(self, code: int) -> str | int | None:
        char = chr(code)
        digit = unicodedata.digit(char, None)
        plain_form: str | int | None = code
        if digit is not None:
            plain_form = str(digit)
        elif unicodedata.category(char) in ("Cf", "Cc", "Cs", "Co"):
            plain_form = None
        if len(self) < MOST_CHARACTERS:
            self[code] = plain_form
        return plain_form


_CHARACTERS = _Characters({code: " " for code in range(0x20)})
_CHARACTERS.update({ord(char): plain_form for char, plain_form in _LOOKALIKES.items()})
_MARKS = "\u0300-\u036f\u0610-\u061a\u064b-\u065f\u0670\u0900-\u0963\u0970-\u0dff"
_ELONGATED = re.compile(r"([^\W\d_])\1{2,}")
_NO_WHOLE = re.compile(r"(?<![\w.,])\.(?=\d)")  # ".6 hectare"
_PIECES = re.compile(
    rf"\d+(?:[.,:]\d+)*|[^\W\d_{_MARKS}](?:[^\W\d_]|[{_MARKS}])*|[{_MARKS}]+|[%?/x*+\-=!,.:&₹$#]",
)
_WORDS = re.compile(rf"[^\W\d_](?:[^\W_]|[{_MARKS}])*")


def normalise(text: str) -> str:
    """The text in composed form with plain digits, without invisible characters, no longer than `LONGEST_TEXT`."""
    text = text[:LONGEST_TEXT]
    if text.isascii():
        text = text.translate(_CHARACTERS)
    else:
        text = unicodedata.normalize("NFC", text.translate(_CHARACTERS))[:LONGEST_TEXT]
    return _ELONGATED.sub(r"\1\1", _NO_WHOLE.sub("0.", text.replace("'", "")))


def words_of(text: str) -> list[str]:
    """The words of a normalised text as typed; digits within one may stand for sounds ("mar7aba")."""
    return _WORDS.findall(text)


class Item:
    """A word or phrase, a number, or a mark, in the order typed.

    raw: as typed; word: in plain form; mask: its concepts; number: its value, if it is one
    """

    __slots__ = ("glued", "guessed", "known", "mask", "number", "number_word", "raw", "spelt", "used", "word")

    def __init__(self, raw: str, word: str, mask: int = 0, number: float | None = None) -> None:
        self.raw = raw
        self.word = word
        self.mask = mask
        self.number = number
        self.number_word: NumberWord | None = None
        self.spelt = raw  # the digits as typed: "05", "1,200"
        self.glued = False  # follows the item before it without a space
        self.used = False  # its value has been taken
        self.guessed = False  # taken for a listed word that is spelt otherwise
        self.known = mask != 0 or number is not None

    def __repr__(self) -> str:
        return f"Item({self.raw!r})"


def items_of(text: str, lexicon: Lexicon, names: bool = False) -> list[Item]:
    """Part a normalised text into items and give each its concepts; phrases of the lexicon become one item.

    names: a name is asked for, so an unknown word is one, not two listed ones run together
    """
    pieces: list[tuple[str, bool]] = []
    end = -1
    for match in _PIECES.finditer(text):
        pieces.append((match.group(), match.start() == end))
        end = match.end()
        if len(pieces) >= LONGEST_READ:
            break
    if any(glued for _, glued in pieces):
        pieces = _with_digit_words(pieces, lexicon)
    parts: list[tuple[str, str, bool, Entry | None, str]] = []  # raw, word, glued, entry, sound
    for raw, glued in pieces:
        word = spelt(plain(raw), lexicon.letter_digits)
        first = word[0] if word else raw[0]
        digits = first.isdigit() and not any(char.isalpha() for char in word)
        if raw in "%?":
            parts.append((raw, raw, glued, lexicon.known(raw), ""))
            continue
        if digits or not (first.isalnum() or unicodedata.category(first)[0] in "LM"):
            if raw == "." and not (parts and parts[-1][0].isdigit()):
                continue
            parts.append((raw, raw, glued, None, raw if digits else ""))
            continue
        particle = lexicon.parted(word) if lexicon.joined else None
        if particle:
            entry, sound = lexicon.resolve(particle[0])
            parts.append((raw[: len(particle[0])], particle[0], glued, entry, sound))
            raw, word = raw[len(particle[0]) :], particle[1]
        beside_digits = glued and parts and parts[-1][0][-1:].isdigit()
        entry, sound = lexicon.resolve(word)
        if entry is None and not names:
            split = _split_joined(word, lexicon, bool(beside_digits))
            if split:
                offset = 0
                for piece in split:
                    piece_entry, piece_sound = lexicon.resolve(piece)
                    parts.append((piece, piece, glued or offset > 0, piece_entry, piece_sound))
                    offset += len(piece)
                continue
        parts.append((raw, word, glued, entry, sound))
    return _phrased(parts, lexicon)


def _phrased(parts: list[tuple[str, str, bool, Entry | None, str]], lexicon: Lexicon) -> list[Item]:
    items: list[Item] = []
    sounds = [part[4] for part in parts]
    at = 0
    while at < len(parts):
        raw, word, glued, entry, sound = parts[at]
        length, meant = lexicon.phrase(sounds, at) if sound else (1, None)
        if entry is not None and entry.mask & TONNE and at and parts[at - 1][0][-1:].isdigit():
            length = 1  # "1.8 tan toda"
        if entry is not None and entry.number is not None and at and _is_block(parts[at - 1][3]):
            length = 1  # "block 7 in", though "with" sounds like seven
        if meant is not None and meant.mask & ONE_MORE and _counts_on(parts, at + length):
            length = 1  # "and one no. 12 mm", not "one more"
        if length > 1 and meant is not None:
            mask = meant.mask
            kept = KEPT if mask & PAST_DAY else KEPT | YESTERDAY  # "sprayed yesterday"
            for part in parts[at : at + length]:
                if part[3] is not None:
                    mask |= part[3].mask & kept
            item = Item(
                " ".join(part[0] for part in parts[at : at + length]),
                " ".join(part[1] for part in parts[at : at + length]),
                mask,
            )
            item.number_word = meant.number
            item.known = True
            item.glued = glued
            at += length
        else:
            if entry is not None and entry.number is not None and entry.number.table == DUAL:
                items.append(Item("2", "2", 0, entry.number.value))  # two of a unit in one word
            item = Item(raw, word, entry.mask if entry else 0)
            item.glued = glued
            if entry is not None:
                item.known = bool(entry.mask) or entry.number is not None
                item.number_word = entry.number if entry.number and entry.number.table != DUAL else None
                item.guessed = lexicon.known(word) is not entry and not lexicon.sound(word).startswith(sound)
            elif word[:1].isdigit():
                item.number = _digits(raw, lexicon.decimal_comma)
                item.known = item.number is not None
            at += 1
        items.append(item)
    return items


def _is_block(entry: Entry | None) -> bool:
    return entry is not None and bool(entry.mask & BLOCK)


def _counts_on(parts: list[tuple[str, str, bool, Entry | None, str]], at: int) -> bool:
    """Whether a number or a word for number stands there."""
    if at >= len(parts):
        return False
    entry = parts[at][3]
    return entry is not None and (entry.number is not None or bool(entry.mask & NUMERO))


def _digits(raw: str, decimal_comma: bool) -> float | None:
    """The value of a run of digits: 1,200 is a thousand two hundred; a clock time or a run too long has none.

    decimal_comma: 2,5 is two and a half, and a point before three digits parts thousands
    """
    if ":" in raw or len(raw) > 9:
        return None
    head, _, tail = raw.partition(",")
    if tail:
        groups = raw.split(",")
        if all(len(group) in (2, 3) for group in groups[1:]) and len(groups[-1]) == 3 and len(head) <= 3:
            return float(raw.replace(",", ""))
        thousands = head.split(".")
        if decimal_comma and len(groups) == 2 and all(len(each) == 3 for each in thousands[1:]):
            return float("".join(thousands) + "." + tail.replace(".", ""))  # 1.200,50
        return None
    if raw.count(".") > 1:
        return None
    head, _, tail = raw.partition(".")
    if decimal_comma and len(tail) == 3 and len(head) <= 3 and head.strip("0"):
        return float(head + tail)  # 1.200 kilos
    return float(raw)


def _split_joined(word: str, lexicon: Lexicon, beside_digits: bool) -> list[str] | None:
    """A run of letters parted into listed words ("mmblk" into mm, blk), or None where it cannot be.

    Beside digits one letter may be a word (a unit); elsewhere one of two letters only stands beside a longer one.
    """
    if not (2 if beside_digits else 5) <= len(word) <= 28:
        return None
    # best[i]: the parting of word[:i] into fewest listed words.
    best: list[list[str] | None] = [[]] + [None] * len(word)
    for end in range(1, len(word) + 1):
        for start in range(max(0, end - 14), end):
            before = best[start]
            if before is None or len(before) >= 4:
                continue
            if end - start < (1 if start == 0 and beside_digits else 2):
                continue
            piece = word[start:end]
            entry = lexicon.known(piece)
            if entry is None or not (entry.mask or entry.number):
                continue
            present = best[end]
            if present is None or len(before) + 1 < len(present):
                best[end] = [*before, piece]
    found = best[len(word)]
    if not found or len(found) < 2:
        return None
    if not beside_digits and max(map(len, found)) < 4:  # a name ("Sopan")
        return None
    return found


def _with_digit_words(pieces: list[tuple[str, bool]], lexicon: Lexicon) -> list[tuple[str, bool]]:
    """Letters and digits run together that are one word ("2day", "2et3a") joined again.

    A number may stand before or after the word in the same run ("30da2i2a", "2et3a5").
    """
    joined: list[tuple[str, bool]] = []
    at = 0
    while at < len(pieces):
        end = at + 1
        if not pieces[at][0][0].isalnum():
            joined.append(pieces[at])
            at = end
            continue
        while end < len(pieces) and pieces[end][1] and pieces[end][0][0].isalnum():
            end += 1
        run = pieces[at:end]
        for first, last in ((0, len(run)), (1, len(run)), (0, len(run) - 1), (1, len(run) - 1)):
            inner = [piece for piece, _ in run[first:last]]
            left_out = [piece for piece, _ in (*run[:first], *run[last:])]
            if len(inner) > 1 and all(piece.isdigit() for piece in left_out) and _one_word(inner, lexicon):
                joined += [*run[:first], ("".join(inner), run[first][1]), *run[last:]]
                break
        else:
            joined += run
        at = end
    return joined


def _one_word(run: list[str], lexicon: Lexicon) -> bool:
    """Whether letters and the digits between them are one word: a listed one, or nothing else that makes sense."""
    if not any(piece[0].isalpha() for piece in run) or any(piece[0].isdigit() and len(set(piece)) > 1 for piece in run):
        return False
    whole = spelt(plain("".join(run)), lexicon.letter_digits)
    if lexicon.known(whole):
        return True
    if any(char.isdigit() for char in whole):
        return False
    return not all(piece[0].isdigit() or lexicon.known(plain(piece)) for piece in run) and not (
        (run[0].isdigit() and lexicon.known(spelt(plain("".join(run[1:])), lexicon.letter_digits)))
        or (run[-1].isdigit() and lexicon.known(spelt(plain("".join(run[:-1])), lexicon.letter_digits)))
    )
