"""Foods as a household sees them: its own beside the reference foods."""
