"""The channel that prints."""

import io

from service.channels.channel import OutboundText
from service.channels.console import Console


def test_text_is_printed_with_its_number() -> None:
    out = io.StringIO()

    Console(out).send(OutboundText(1, "+15550002", "7000", "रखा: 12 mm", "ucs2"))

    assert out.getvalue() == "+15550002 < रखा: 12 mm\n"
