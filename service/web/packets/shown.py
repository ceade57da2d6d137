"""One packet as its page shows it, and who may change it."""

from service.jobs.household.access.households import today
from service.jobs.household.kinds import PACKETS
from service.jobs.household.packets.packet_photos import mark_of_photo
from service.jobs.household.packets.packet_reading import read_packet
from service.jobs.household.packets.packets_kept import packet_kept
from service.jobs.household.records import show_record
from service.jobs.household.requests import KeptPacket
from service.web.forms.form import Form
from service.web.packets.view import PacketView, packet_view
from service.web.viewer import Viewer


def may_write(viewer: Viewer) -> bool:
    """Whether a device may read packets in: what a key must be allowed over the API as well."""
    return viewer.who().rights == "keep"


def view_of(viewer: Viewer, packet: str, form: Form) -> PacketView:
    """One packet as its page shows it; ``NotThere`` for one that is not here. ``form``: what was sent with faults."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        record = show_record(connection, PACKETS, caller.household, packet)
        row = packet_kept(connection, caller.household, record.id, today())
        read = read_packet(connection, caller.household, KeptPacket.model_validate(record.body))
        photo = mark_of_photo(connection, caller.household, record.id)
    return packet_view(row, record.body, record.version, read, photo=photo, may_write=may_write(viewer), form=form)
