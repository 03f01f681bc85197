"""A channel that prints, for the demo and for development."""

import sys
from typing import TextIO

from service.channels.channel import OutboundText


class Console:
    def __init__(self, out: TextIO = sys.stdout) -> None:
        self.out = out

    def send(self, text: OutboundText) -> None:
        print(f"{text.to} < {text.text}", file=self.out, flush=True)
