"""What the prep sheet, the labels and the shopping list share."""
