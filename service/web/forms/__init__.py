"""What is typed into a form: read, kept when something is wrong with it, numbers as a language writes them, and an edit that another overtook."""
