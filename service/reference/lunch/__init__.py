"""Standards, handling rules and energy needs."""
