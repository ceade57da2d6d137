"""What a person wants done, one function a file; called by endpoint and command alike."""
