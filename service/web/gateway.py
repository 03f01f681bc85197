"""Where gateways call us: a text that has come in, and the report on one that went out.

A gateway forgets a text once it is answered, and delivers it again where it is not. So the answer is 200 only after the
text is kept, and 200 too for what is the gateway's own but cannot be read: that is set aside for a person, it would not
read better the next time. The answer is empty: what stood in it would be texted to the grower.
"""

import hmac
from collections.abc import Awaitable, Callable
from typing import TypeVar
from urllib.parse import unquote_to_bytes

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from service.channels.channel import DeliveryReport, InboundText, TryLater
from service.channels.http_gateway import Unreadable, delivery_report, inbound, parameters

FORM = "application/x-www-form-urlencoded"
ASIDE_AT_MOST = 4000  # characters of an unreadable request that are kept

Read = TypeVar("Read", InboundText, DeliveryReport)


def routes(
    key: str,
    accept: Callable[[InboundText], Awaitable[object]],
    report: Callable[[DeliveryReport], Awaitable[object]],
    set_aside: Callable[[str, str, str], Awaitable[object]],
) -> list[Route]:
    """`GET` or `POST` `/gateway/<line>/in` and `/gateway/<line>/report`, both with `?key=`.

    key: the secret that a gateway shows; without it nothing is read
    accept, report: return once it is committed, or raise TryLater where that failed: then the gateway is answered 503
    set_aside: (the line, the request without the key, why it cannot be read), as accept
    """

    if not key:
        raise ValueError("a gateway needs a key: set CUTDAY_GATEWAY_KEY")

    async def handed_in(request: Request) -> Response:
        return await taken(request, lambda given, raw: inbound(request.path_params["line"], given, raw), accept)

    async def reported(request: Request) -> Response:
        return await taken(request, lambda given, raw: delivery_report(given), report)

    async def taken(
        request: Request,
        read: Callable[[dict[str, bytes], str], Read],
        take: Callable[[Read], Awaitable[object]],
    ) -> Response:
        query: bytes = request.scope["query_string"]
        if request.headers.get("content-type", "").partition(";")[0].strip().lower() == FORM:
            query = b"&".join(part for part in (query, await request.body()) if part)
        given = parameters(query)
        if not hmac.compare_digest(given.pop("key", b""), key.encode()):
            return answer(403)
        raw = f"{request.method} {request.url.path}?{without_key(query)}"
        try:
            try:
                message = read(given, raw)
            except Unreadable as error:
                await set_aside(request.path_params["line"], raw[:ASIDE_AT_MOST], str(error))
            else:
                await take(message)
        except TryLater:
            return answer(503)
        return answer(200)

    methods = ["GET", "POST"]
    return [
        Route("/gateway/{line}/in", handed_in, methods=methods),
        Route("/gateway/{line}/report", reported, methods=methods),
    ]


def answer(status: int) -> Response:
    return Response(b"", status, media_type="text/plain")


def without_key(query: bytes) -> str:
    """The query as it came, but for our key."""
    pairs = (pair for pair in query.split(b"&") if unquote_to_bytes(pair.partition(b"=")[0]) != b"key")
    return b"&".join(pairs).decode("latin-1")
