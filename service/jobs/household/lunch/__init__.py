"""A child's lunch: logged, what it is judged by later, and what was found since."""
