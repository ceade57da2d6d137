"""The pages for the family: templates over the replies of the jobs, plain forms, little script."""
