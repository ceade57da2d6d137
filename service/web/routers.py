"""The routers of the pages, one a family."""

from service.web.bought.routes import router as bought
from service.web.care.routes import router as care
from service.web.children.routes import router as children
from service.web.devices.calendar_routes import router as device_calendars
from service.web.devices.routes import router as devices
from service.web.dishes.bring_in import router as bring_in
from service.web.dishes.routes import router as dishes
from service.web.food_data.routes import router as food_data
from service.web.foods.routes import router as foods
from service.web.kitchen.calendar_routes import router as kitchen_calendar
from service.web.kitchen.labels_routes import router as kitchen_labels
from service.web.kitchen.prep_routes import router as kitchen_prep
from service.web.kitchen.shopping_routes import router as kitchen_shopping
from service.web.live.routes import router as live
from service.web.more.routes import router as more
from service.web.packets.look_up import router as packet_look_up
from service.web.packets.photo import router as packet_photos
from service.web.packets.routes import router as packets
from service.web.packets.writing import router as packet_writing
from service.web.plan.plan_routes import router as one_plan
from service.web.plan.routes import router as plans
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

ROUTERS = (
    # An address is looked up in the order of the routers, so what is asked for most comes first.
    taking,
    today,
    live,
    set_out_printed,  # before the pages of an offer: its addresses would be taken for the id of one
    set_out_right,
    set_out,
    static_files,
    bought,
    care,
    children,
    device_calendars,
    devices,
    bring_in,  # before the pages of a dish: its address would be taken for an id
    dishes,
    food_data,
    foods,
    kitchen_calendar,
    kitchen_labels,
    kitchen_prep,
    kitchen_shopping,
    more,
    packet_look_up,  # before the pages of a packet: its address would be taken for the id of one
    packet_writing,  # before the pages of a packet: /packets/new would be taken for its id
    packet_photos,
    packets,
    plans,  # before the pages of one: the address of a new one would be taken for its id
    one_plan,
    prices,
    sign_in,
    start,
    stock,
    switch_language,
    week,
    week_day,
)

ROUTES = [route for router in ROUTERS for route in router.routes]
"""What each application answers beside the API; taken as they are, as there."""
