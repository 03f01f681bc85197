"""What a block costs in a year: the texts sent and the parts they are charged as, by language.

    python tests/bench/season_cost.py

Plays the season of tests/conversations/season.*.txt, from joining to the last cleaning, in each language that it is
told in.
"""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.conversations.conversation import files, play, read


def main() -> None:
    """Print the table."""
    columns = ("texts", "parts", "texts reply", "parts reply", "texts reminder", "parts reminder", "longest")
    print(f"{'':8}" + "".join(f"{column:>16}" for column in columns))
    for path in files():
        conversation = read(path)
        if conversation.name == "season":
            count: Counter[str] = Counter()
            for sent in play(conversation).sent:
                for kind in ("", f" {sent['because']}"):
                    count["texts" + kind] += 1
                    count["parts" + kind] += sent["segments"]
                count["longest"] = max(count["longest"], sent["segments"])
            print(f"{conversation.language:8}" + "".join(f"{count[column]:>16}" for column in columns))


if __name__ == "__main__":
    main()
