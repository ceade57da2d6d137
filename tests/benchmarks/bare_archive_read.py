"""Reads every file of an archive of branded foods with pyarrow and nothing else: what any program that reads it has to do."""

import sys
import zipfile

from pyarrow import csv

with zipfile.ZipFile(sys.argv[1]) as packed:
    for name in packed.namelist():
        with (
            packed.open(name) as file,
            csv.open_csv(file, parse_options=csv.ParseOptions(newlines_in_values=True)) as reader,
        ):
            for _block in reader:
                pass
