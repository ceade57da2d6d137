"""Who may open a household: keys, devices, links to sign in, calendar addresses."""
