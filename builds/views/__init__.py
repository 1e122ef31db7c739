"""Pages of the builds package."""
