"""Rewrites the wording beside the texts of golden conversations, where the catalogue now words them otherwise.

    python -m tests.conversations.refresh [FILE ...]

Nothing else is changed; a conversation in which anything else does not hold is left as it is. Prints the difference.
"""

import difflib
import sys
from pathlib import Path

from tests.conversations.conversation import Conversation, files, play, read


def refreshed(conversation: Conversation, stale: list[tuple[int, str]]) -> list[str]:
    """The lines with the wording of today."""
    lines = list(conversation.lines)
    for number, text in stale:
        line = lines[number - 1]
        lines[number - 1] = line[: line.index(" <") + len(" <")] + f" {text}"
    return lines


def main(paths: list[Path]) -> int:
    """Refresh these files; 1 where one of them does not hold."""
    failed = False
    for path in paths:
        conversation = read(path)
        played = play(conversation)
        if played.faults:
            print(*played.faults, f"{path.name}: left as it is", sep="\n", file=sys.stderr)
            failed = True
            continue
        lines = refreshed(conversation, played.stale)
        diff = difflib.unified_diff(conversation.lines, lines, path.name, path.name, lineterm="", n=0)
        for line in diff:
            print(line)
        if lines != conversation.lines:
            path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main([Path(argument) for argument in sys.argv[1:]] or files()))
