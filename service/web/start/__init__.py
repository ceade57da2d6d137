"""The first steps of a new household: children, what they must not eat, what is usually set out."""
