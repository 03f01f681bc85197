"""What a channel carries, its one verb and the two ways in which it fails."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

from service.segments import Encoding


@dataclass(frozen=True, slots=True)
class InboundText:
    """A text as the gateway gave it.

    line: the cooperative's line it came in on, by the name that stands in the gateway's address of ours
    message_id: the gateway's own id, the same when it delivers the text again; None where it gives none
    sender: the number as given
    text: as typed; may be empty
    sent_at: when the network says it was sent, aware UTC; None where it does not say
    raw: the request, without our key, for whoever has to look at it later
    """

    line: str
    message_id: str | None
    sender: str
    text: str
    sent_at: datetime | None
    raw: str


@dataclass(frozen=True, slots=True)
class OutboundText:
    """A text to one phone.

    id: the outbox row's, by which reports on it come back
    sender_line: the line it goes out on
    sender_id, template_id: what its sender and its wording are registered under, where an authority wants that
    """

    id: int
    to: str
    sender_line: str
    text: str
    encoding: Encoding
    sender_id: str | None = None
    template_id: str | None = None


@dataclass(frozen=True, slots=True)
class DeliveryReport:
    """What the network says of a text that was handed over; reports may come late, twice, in any order or never.

    outbox_id: the OutboundText's id
    state: handed (the network has it), delivered (to the phone) or failed
    reason: the network's own words on a failure, else empty
    """

    outbox_id: int
    state: Literal["handed", "delivered", "failed"]
    reason: str


class TryLater(Exception):
    """Nothing is wrong with the text: again later.

    may_have_gone: it is not known whether the text was taken. What is harmful twice must not be sent again.
    """

    def __init__(self, reason: str, *, may_have_gone: bool = False) -> None:
        super().__init__(reason)
        self.reason = reason
        self.may_have_gone = may_have_gone


class Rejected(Exception):
    """This text will never be taken."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class Channel(Protocol):
    def send(self, text: OutboundText) -> None:
        """Hand a text over, from any thread; returns once it was taken. Raises TryLater or Rejected."""
