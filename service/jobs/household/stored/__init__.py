"""What a household stored, brought into a request: ids become the records they stand for."""
