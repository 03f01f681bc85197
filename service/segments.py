"""How many SMS parts a text costs, and which characters make it cost more.

Source: 3GPP TS 23.038 cl. 6.2.1 (GSM 7-bit default alphabet) and 6.2.1.1 (its extension table); TS 23.040 cl. 9.2.3.16
and 9.2.3.24.1 (length of one message and of a part of a longer one). National language tables are not used: a phone
without them shows nonsense, and nothing tells the sender.
"""

from dataclasses import dataclass
from typing import Literal

Encoding = Literal["gsm7", "ucs2"]

# In the order of the table, 0x00 to 0x7F; 0x1B, the escape to the extension table, is no character of a text.
BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENSION = frozenset("\f^{}\\[~]|€")
GSM = BASIC | EXTENSION

# Units (septets, or 16-bit units) that one message holds, and one part of a longer one under an 8-bit reference.
ONE: dict[Encoding, int] = {"gsm7": 160, "ucs2": 70}
PART: dict[Encoding, int] = {"gsm7": 153, "ucs2": 67}


@dataclass(frozen=True, slots=True)
class Segments:
    """What a text costs.

    units: septets (gsm7; an extension character is two) or 16-bit units (ucs2; two beyond the basic plane)
    segments: parts that are paid for; 0 for an empty text, which must not be sent
    culprits: the characters outside GSM 7-bit that made the text ucs2, each once, in order
    """

    encoding: Encoding
    units: int
    segments: int
    culprits: str


def is_gsm7(text: str) -> bool:
    return GSM.issuperset(text)


def segments(text: str) -> Segments:
    """Count the parts of a text; neither an escape pair nor a surrogate pair is ever cut."""
    encoding: Encoding = "gsm7" if is_gsm7(text) else "ucs2"
    if encoding == "gsm7":
        culprits = ""
        double = [character in EXTENSION for character in text]
    else:
        culprits = "".join(dict.fromkeys(character for character in text if character not in GSM))
        double = [character > "\uffff" for character in text]
    units = len(text) + sum(double)
    if units <= ONE[encoding]:
        return Segments(encoding, units, min(units, 1), culprits)
    room = PART[encoding]
    parts, filled = 1, 0
    for is_double in double:
        cost = 1 + is_double
        if filled + cost > room:
            parts, filled = parts + 1, 0
        filled += cost
    return Segments(encoding, units, parts, culprits)
