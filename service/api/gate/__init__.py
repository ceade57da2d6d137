"""Who asks: keys, devices, what they may do, and wrong keys that are counted."""
