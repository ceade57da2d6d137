"""What a person asks for, as strict models shared by the HTTP edge and the command line; one file a subject."""
