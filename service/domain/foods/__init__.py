"""What a food is: amounts, credits, dishes, and what a rounded label figure stands for."""
