"""Many generated texts: every one must get a task and slots of the list, and none may raise.

    python -m tests.bench.fuzz --texts 1000000 --seed 1

Texts are made of what growers write (texts and words of the corpus, with slips), of numbers, marks and letters of every
script, and of noise, run together or not. All cores are used. Prints what failed, each once, and the dearest text.
"""

import argparse
import json
import os
import random
import sys
import time
import unicodedata
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from dialogs.language import load_languages
from dialogs.understanding import understand
from tests.understanding.hostile import ASKED, BLOCKS, VILLAGES, ill_formed

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
FIRST, LAST = date(2024, 1, 1).toordinal(), date(2032, 12, 31).toordinal()
PIECE = 10_000  # texts given out at a time
MOST_SHOWN = 20
TIMES_AGAIN = 5  # a dear text is read so often: what other work did to the clock does not come again


@dataclass
class Found:
    """What a run of texts showed.

    failed: by what went wrong, one text with its language, what was asked and the day
    dearest: the time of the dearest text [s], and it
    """

    texts: int = 0
    failed: dict[str, str] = field(default_factory=dict)
    dearest: tuple[float, str] = (0.0, "")


class Maker:
    """Makes texts; the same seed makes the same."""

    def __init__(self, seed: str, texts: Sequence[str]) -> None:
        self.chance = random.Random(seed)
        self.texts = texts
        self.words = sorted({word for text in texts for word in text.split()})
        self.letters = [
            chr(code)
            for code in range(0x20, 0x3000)
            if unicodedata.category(chr(code))[0] in "LMNPSZ" or unicodedata.category(chr(code)) == "Cf"
        ]

    def text(self) -> str:
        """One text."""
        chance = self.chance
        if chance.random() < 0.01:
            return self._noise(chance.randrange(2000))
        parts = [self._part() for _ in range(min(int(chance.expovariate(0.4)) + 1, 60))]
        return chance.choice((" ", " ", " ", "", "\n", ", ")).join(parts)

    def _part(self) -> str:
        chance = self.chance
        kind = chance.random()
        if kind < 0.15:
            return chance.choice(self.texts)
        if kind < 0.55:
            return chance.choice(self.words)
        if kind < 0.75:
            return self._slipped(chance.choice(self.words))
        if kind < 0.9:
            return self._number()
        return self._noise(chance.randrange(1, 12))

    def _slipped(self, word: str) -> str:
        chance, at = self.chance, self.chance.randrange(len(word))
        return chance.choice((
            word[:at] + word[at + 1 :],
            word[:at] + chance.choice(self.letters) + word[at:],
            word[:at] + word[at] * chance.randrange(2, 9) + word[at:],
            word[at:] + word[:at],
            word.upper(),
        ))  # fmt: skip

    def _number(self) -> str:
        chance = self.chance
        number = str(int(10 ** (chance.random() * chance.choice((2, 4, 12)))))
        if chance.random() < 0.3:
            number += chance.choice(".,:/-x") + str(chance.randrange(100))
        if chance.random() < 0.2:
            zero = chance.choice((0x660, 0x6F0, 0x966, 0xCE6, 0xFF10))
            number = "".join(chr(zero + int(char)) if char.isdigit() else char for char in number)
        return number + chance.choice(("", "", " ", "mm", "%", " acre", "kg", "th", "दिन", "ಎಕರೆ", "ملم"))

    def _noise(self, length: int) -> str:
        chance = self.chance
        if chance.random() < 0.3:
            return chance.choice(self.letters) * length
        if chance.random() < 0.2:
            return "".join(chr(chance.randrange(0x110000)) for _ in range(length))
        return "".join(chance.choices(self.letters, k=length))


def run(piece: int, seed: int, texts: int) -> Found:
    """Read so many texts."""
    languages = load_languages()
    tags = list(languages)
    rows = [line for path in sorted(CORPUS.glob("*.jsonl")) for line in path.read_text(encoding="utf-8").splitlines()]
    make = Maker(f"{seed} {piece}", [json.loads(row)["text"] for row in rows])
    found = Found(texts)
    for _ in range(texts):
        text, lang, asking = make.text(), make.chance.choice(tags), make.chance.choice(ASKED)
        today = date.fromordinal(make.chance.randint(FIRST, LAST))
        about = json.dumps([text, lang, asking, today.isoformat()])
        start = time.thread_time()
        try:
            wrong = ill_formed(understand(text, lang, today, asking, languages, BLOCKS, VILLAGES))
        except Exception as error:  # whatever it is, it is what we look for
            at = error.__traceback__
            while at and at.tb_next:
                at = at.tb_next
            place = f"{Path(at.tb_frame.f_code.co_filename).name}:{at.tb_lineno}" if at else "?"
            wrong = f"{type(error).__name__} at {place}"
        taken = time.thread_time() - start
        if wrong:
            found.failed.setdefault(wrong[:80], about)
        elif taken > found.dearest[0]:
            for _ in range(TIMES_AGAIN):
                languages[lang].lexicon.resolve.cache_clear()
                start = time.thread_time()
                understand(text, lang, today, asking, languages, BLOCKS, VILLAGES)
                taken = min(taken, time.thread_time() - start)
            if taken > found.dearest[0]:
                found.dearest = taken, about
    return found


def main() -> int:
    """Give out the work and print what was found; 1 where something failed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--texts", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    sizes = [min(PIECE, options.texts - done) for done in range(0, options.texts, PIECE)]
    total = Found()
    start = time.monotonic()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for work in as_completed([pool.submit(run, piece, options.seed, size) for piece, size in enumerate(sizes)]):
            found = work.result()
            total.texts += found.texts
            for wrong, about in found.failed.items():
                if total.failed.setdefault(wrong, about) == about and len(total.failed) <= MOST_SHOWN:
                    print(f"{wrong}: {about}", flush=True)
            total.dearest = max(total.dearest, found.dearest)
            print(f"\r{total.texts} texts, {len(total.failed)} kinds of failure", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    print(f"{total.texts} texts in {time.monotonic() - start:.0f} s, {len(total.failed)} kinds of failure")
    print(f"dearest: {1000 * total.dearest[0]:.2f} ms for {total.dearest[1][:400]}")
    return 1 if total.failed else 0


if __name__ == "__main__":
    sys.exit(main())
