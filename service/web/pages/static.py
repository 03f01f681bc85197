"""The few files that pages load, each under an address that bears its hash: browsers keep them until they change."""

from __future__ import annotations

import hashlib
from importlib.resources import files

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

TYPES = {"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml"}
FOR_EVER = "public, max-age=31536000, immutable"


class Static:
    """The files of `service/web/static`, read once."""

    def __init__(self) -> None:
        folder = files("service.web") / "static"
        self._files = {file.name: file.read_bytes() for file in folder.iterdir() if file.name.split(".")[-1] in TYPES}
        self._hashes = {name: hashlib.sha256(content).hexdigest()[:16] for name, content in self._files.items()}

    def address(self, name: str) -> str:
        return f"/static/{self._hashes[name]}/{name}"

    def routes(self) -> list[Route]:
        return [Route("/static/{hash}/{name}", self._serve)]

    async def _serve(self, request: Request) -> Response:
        name = request.path_params["name"]
        if self._hashes.get(name) != request.path_params["hash"]:
            return Response("", 404)
        headers = {"Cache-Control": FOR_EVER, "X-Content-Type-Options": "nosniff"}
        return Response(self._files[name], media_type=TYPES[name.split(".")[-1]], headers=headers)
