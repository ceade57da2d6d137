"""The yardstick of a first page: a bare FastAPI app whose only page is a Jinja template with a list of texts."""

from fastapi import FastAPI, Request
from jinja2 import Environment
from starlette.responses import HTMLResponse

app = FastAPI()
environment = Environment(autoescape=True)
TEMPLATE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{{ title }}</title></head>
<body><h1>{{ title }}</h1><ul>{% for one in many %}<li>{{ one }}</li>{% endfor %}</ul></body></html>"""


@app.get("/")
async def only_page(request: Request) -> HTMLResponse:
    """The page."""
    many = [f"line {number} of {request.url.path}" for number in range(40)]
    return HTMLResponse(environment.from_string(TEMPLATE).render(title="A page", many=many))
