"""The OpenAPI document and its page, with script and style served from here: it works without the internet.

The viewer is Swagger UI (Apache-2.0), kept under static/swagger-ui with its licence.
"""

import hashlib
from functools import lru_cache
from pathlib import Path

import orjson
from fastapi import APIRouter, Response
from starlette.responses import HTMLResponse

from service.api.conditions import AlreadyKnown, Known
from service.api.problems import ApiProblem
from service.domain.messages import message

router = APIRouter(include_in_schema=False)

STATIC = Path(__file__).parent / "static" / "swagger-ui"
FRESH = "private, max-age=3600"

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Packed-lunch check: API</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="/docs/assets/swagger-ui.css">
<link rel="stylesheet" href="/docs/assets/page.css">
</head>
<body>
<main id="api"></main>
<noscript><p>This page needs script. The same document is at <a href="/openapi.json">/openapi.json</a>.</p></noscript>
<script src="/docs/assets/swagger-ui-bundle.js"></script>
<script src="/docs/assets/show.js"></script>
</body>
</html>
"""

SHOW = """SwaggerUIBundle({
  url: "/openapi.json", dom_id: "#api", deepLinking: true, validatorUrl: null,
  docExpansion: "list", defaultModelsExpandDepth: 0
});
"""

FIT = """/* The document has no links between operations; without their column the page fits a phone. */
.swagger-ui .response-col_links { display: none; }
.swagger-ui .info { margin: 20px 0; }
.swagger-ui .info .title { font-size: 28px; }
"""

OURS = {"show.js": (SHOW, "text/javascript"), "page.css": (FIT, "text/css")}
ASSETS = {
    "swagger-ui.css": "text/css",
    "swagger-ui-bundle.js": "text/javascript",
    "LICENSE": "text/plain",
    "NOTICE": "text/plain",
    "swagger-ui-bundle.js.LICENSE.txt": "text/plain",
}


@router.get("/openapi.json")
def get_document(known: AlreadyKnown) -> Response:
    """The OpenAPI document."""
    return _fresh(_document(), "application/json", known)


@router.get("/docs")
def get_page() -> Response:
    """The page."""
    return HTMLResponse(PAGE)


@router.get("/docs/assets/{name}")
def get_asset(name: str, known: AlreadyKnown) -> Response:
    """A file of the page."""
    if name in OURS:
        content, media = OURS[name]
        return _fresh(content.encode(), media, known)
    if name not in ASSETS:
        raise ApiProblem("not-found", message("fault.not-of-the-docs-page", name=name[:60]))
    return _fresh(_asset(name), ASSETS[name], known)


@lru_cache(maxsize=1)
def _document() -> bytes:
    from service.api.docs.openapi import openapi_document

    return orjson.dumps(openapi_document())


@lru_cache(maxsize=8)
def _asset(name: str) -> bytes:
    return (STATIC / name).read_bytes()


def _fresh(content: bytes, media: str, known: Known) -> Response:
    tag = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
    headers = {"ETag": tag, "Cache-Control": FRESH}
    if known(tag):
        return Response(status_code=304, headers=headers)
    return Response(content, headers=headers, media_type=media)
