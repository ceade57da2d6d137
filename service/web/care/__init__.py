"""Looking after what is stored: backup, export, import, how long lunches are kept, keys, sources and licences."""
