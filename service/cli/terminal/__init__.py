"""What all commands share: files, addresses and numbers that are typed, what is printed, faults, and stopping in time."""
