"""Looks up one code in an index of branded foods with sqlite3 and nothing else."""

import sqlite3
import sys

with sqlite3.connect(sys.argv[1]) as index:
    print(index.execute("SELECT * FROM foods WHERE gtin = ?", (int(sys.argv[2]),)).fetchone()[2])
