"""The arithmetic of the bench. Standard library only: nothing here reads a clock, a setting or a row."""
