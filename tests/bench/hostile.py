"""What hostile texts cost beside a long honest one of the same length, on one core, each read as if for the first time.

python -m tests.bench.hostile
"""

import time

from dialogs.language import Language, load_languages
from dialogs.understanding import understand
from tests.understanding.hostile import BLOCKS, HOSTILE, TODAY, VILLAGES, forget, honest

TIMES = 3
SHOWN = 4


def cost(text: str, language: Language) -> float:
    """The least time of a few readings [s]."""
    taken = []
    for _ in range(TIMES):
        forget(language)
        start = time.thread_time()
        understand(text, language.tag, TODAY, None, {language.tag: language}, BLOCKS, VILLAGES)
        taken.append(time.thread_time() - start)
    return min(taken)


def main() -> None:
    """One line a language: the honest text, and the dearest hostile ones as shares of it."""
    texts = honest()
    for tag, language in load_languages().items():
        understand("rain", tag, TODAY, None, {tag: language})
        whole = cost(texts[tag], language)
        shares = sorted(((cost(text, language) / whole, name) for name, text in HOSTILE.items()), reverse=True)
        dearest = ", ".join(f"{name} {share:.2f}" for share, name in shares[:SHOWN])
        print(f"{tag:8} honest {1000 * whole:.1f} ms; {dearest}")


if __name__ == "__main__":
    main()
