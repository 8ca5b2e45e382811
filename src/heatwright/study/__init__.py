"""study."""
