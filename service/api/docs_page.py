"""The documentation page, with its script and style served from here: it works without the internet.

The viewer is Swagger UI (Apache-2.0), kept under static/swagger-ui with its licence.
"""

from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.api.problems import ApiProblem

STATIC = Path(__file__).parent / "static" / "swagger-ui"

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Packed-lunch check: API</title>
<link rel="stylesheet" href="/docs/assets/swagger-ui.css">
</head>
<body>
<main id="api"></main>
<noscript><p>This page needs script. The same document is at <a href="/openapi.json">/openapi.json</a>.</p></noscript>
<script src="/docs/assets/swagger-ui-bundle.js"></script>
<script src="/docs/assets/show.js"></script>
</body>
</html>
"""

SHOW = """SwaggerUIBundle({ url: "/openapi.json", dom_id: "#api", deepLinking: true, validatorUrl: null });
"""

ASSETS = {
    "swagger-ui.css": "text/css",
    "swagger-ui-bundle.js": "text/javascript",
    "LICENSE": "text/plain",
    "NOTICE": "text/plain",
    "swagger-ui-bundle.js.LICENSE.txt": "text/plain",
}


def install_docs(app: Starlette) -> None:
    """Serve /docs and what it needs."""

    async def page(_request: Request) -> Response:
        return HTMLResponse(PAGE)

    async def asset(request: Request) -> Response:
        name = request.path_params["name"]
        if name == "show.js":
            return Response(SHOW, media_type="text/javascript")
        if name not in ASSETS:
            raise ApiProblem("not-found", f"/docs/assets/{name[:60]} is no part of the documentation page.")
        content = (STATIC / name).read_bytes()
        return Response(content, media_type=ASSETS[name])

    app.add_route("/docs", page, methods=["GET"], include_in_schema=False)
    app.add_route("/docs/assets/{name}", asset, methods=["GET"], include_in_schema=False)
