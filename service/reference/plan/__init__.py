"""What buying, preparing and labelling go by: reference_data/plan."""
