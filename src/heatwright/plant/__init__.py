"""plant."""
