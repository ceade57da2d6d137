"""What is kept too long is removed, unless only the clock says so; what was removed can be put back for a while."""
