"""Files on a disk: read, written whole or not at all, looked at before they are opened, and gone when the work is."""
