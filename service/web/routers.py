"""The routers of the pages, one a family."""

from service.web.bought.routes import router as bought
from service.web.care.routes import router as care
from service.web.children.routes import router as children
from service.web.devices.routes import router as devices
from service.web.dishes.routes import router as dishes
from service.web.foods.routes import router as foods
from service.web.live.routes import router as live
from service.web.more.routes import router as more
from service.web.packets.routes import router as packets
from service.web.prices.routes import router as prices
from service.web.set_out.print_routes import router as set_out_printed
from service.web.set_out.right_routes import router as set_out_right
from service.web.set_out.routes import router as set_out
from service.web.sign_in.routes import router as sign_in
from service.web.start.routes import router as start
from service.web.static_files import router as static_files
from service.web.stock.routes import router as stock
from service.web.switch_language import router as switch_language
from service.web.taking.routes import router as taking
from service.web.today.routes import router as today
from service.web.week.day_routes import router as week_day
from service.web.week.routes import router as week

# An address is looked up in the order of the routers, so what is asked for most comes first.
ASKED_OFTEN = (taking, today)
"""Looked up even before the API, but for the lunch check: a child taps, and waits."""
ROUTERS = (
    *ASKED_OFTEN,
    live,
    set_out_printed,  # before the pages of an offer: its addresses would be taken for the id of one
    set_out_right,
    set_out,
    static_files,
    bought,
    care,
    children,
    devices,
    dishes,
    foods,
    more,
    packets,
    prices,
    sign_in,
    start,
    stock,
    switch_language,
    week,
    week_day,
)
