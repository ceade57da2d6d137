"""The routers of the pages, one a family."""

from service.web.static_files import router as static_files
from service.web.switch_language import router as switch_language
from service.web.today.routes import router as today

ROUTERS = (today, switch_language, static_files)
