"""The devices that are signed in, and a link for another one."""
