"""Libraries of others that are written into the pages, unchanged, each with its licence."""
