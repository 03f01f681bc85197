"""What a grower's text means: its task and slots, how sure, and the other likely readings.

    text -> normalised -> items (words with concepts, numbers) -> days, blocks, amounts -> task -> slots

Pure: the day and the grower's words are passed in. Tasks and slots are those of the understanding corpus.
"""

from dialogs.understanding.blocks import KnownBlock
from dialogs.understanding.reading import Meaning, Reading, keyword, understand

__all__ = ["KnownBlock", "Meaning", "Reading", "keyword", "understand"]
