"""The routers of the pages, one a family."""

from service.web.bought.routes import router as bought
from service.web.live.routes import router as live
from service.web.sign_in.routes import router as sign_in
from service.web.static_files import router as static_files
from service.web.switch_language import router as switch_language
from service.web.taking.routes import router as taking
from service.web.today.routes import router as today
from service.web.week.day_routes import router as week_day
from service.web.week.routes import router as week

ROUTERS = (today, taking, week, week_day, bought, sign_in, live, switch_language, static_files)
