"""The bench book by subject: what is worked out from typed figures, and the entries that ask for them."""
