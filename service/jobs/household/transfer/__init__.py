"""A whole household as JSON or CSV, out and in again."""
