"""The packets that were read: searched, read, corrected, kept with a photograph, removed."""
