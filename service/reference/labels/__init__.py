"""The words that the label reader knows."""
