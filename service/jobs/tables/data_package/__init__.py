"""Tables with a data dictionary for other programs: CSV and Parquet in one zip file (Frictionless Data Package)."""
