"""Public food data from outside: the copy on this machine, and the live source switched on and off."""
